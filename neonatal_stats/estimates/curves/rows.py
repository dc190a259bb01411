"""One newborn a row: checked once, then read as small whole-number codes.

A code packs group, place of the age on the shared grid of ages, and outcome, so that one ``bincount``
counts a season. Whole hours are used as they stand; any other ages are placed on the grid of their distinct
values.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import prod
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats, Integers

BLOCK = 1 << 17  # rows worked on at a time, so that scratch arrays stay in the processor's cache
ROOM = 1 << 22  # cells that a table of whole hours may take


@dataclass(frozen=True, eq=False)
class Rows:
    """Newborns as they were recorded: ``place`` and ``entry`` are places on the grid ``age_h``.

    ``entry`` is the last place at which the newborn was not yet under watch, -1 when watched from birth: it
    is at risk at the places after ``entry`` up to and with ``place``.
    """

    age_h: Floats
    place: NDArray[Any]
    outcome: NDArray[Any]
    group: NDArray[Any] | None
    entry: Integers | None
    weight: Floats | None
    n_groups: int
    n_causes: int

    def __len__(self) -> int:
        return len(self.place)

    @property
    def shape(self) -> tuple[int, int, int]:
        """Groups, grid ages, outcomes (0 left alive, then the causes)."""
        return self.n_groups, len(self.age_h), self.n_causes + 1

    def codes(self) -> Iterator[tuple[NDArray[Any], slice]]:
        """(group, outcome, place) of each newborn as one number, a block at a time, and the block's rows.

        Blocks stay in the processor's cache, and are never so short that a table costs more than its rows.
        """
        groups, ages, outcomes = self.shape
        step = min(max(BLOCK, prod(self.shape)), max(len(self), 1))
        strata = np.empty(step, dtype=_holding(groups * outcomes, np.int16))
        codes = np.empty(step, dtype=_holding(prod(self.shape), np.int32))
        for start in range(0, len(self), step):
            rows = slice(start, min(start + step, len(self)))
            stratum, code = strata[: rows.stop - start], codes[: rows.stop - start]
            stratum[:] = 0 if self.group is None else self.group[rows]
            np.multiply(stratum, outcomes, out=stratum)
            np.add(stratum, self.outcome[rows], out=stratum, casting="unsafe")
            code[:] = stratum
            np.multiply(code, ages, out=code)
            np.add(code, self.place[rows], out=code, casting="unsafe")
            yield code, rows


def _holding(below: int, least: type[np.signedinteger[Any]]) -> np.dtype[Any]:
    """The smallest signed whole-number type that holds everything below a number."""
    return np.promote_types(np.min_scalar_type(-max(below, 1)), least)


def read_rows(
    age_h: ArrayLike,
    outcome: ArrayLike,
    group: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    n_groups: int | None = None,
    n_causes: int | None = None,
    *,
    called: str = "outcome",
) -> Rows:
    """Check the columns and place every age on one grid; ``called`` is the caller's name for the outcomes."""
    exit_h = arguments.as_recorded(age_h, "age_h")
    lost, outcomes = arguments.small_codes(outcome, called, None if n_causes is None else n_causes + 1)
    arguments.same_length(**{"age_h": exit_h, called: lost})
    parts, groups = None, 1
    if group is not None:
        parts, groups = arguments.small_codes(group, "group", n_groups)
        arguments.same_length(age_h=exit_h, group=parts)
    heavy = None if weight is None else arguments.weights(weight, len(exit_h))
    n_causes = max(outcomes - 1, 1) if n_causes is None else n_causes
    n_groups = groups if n_groups is None else n_groups
    entry = None if entry_h is None else arguments.entries(entry_h, exit_h.astype(np.float64))
    grid, place = _grid(exit_h, entry, room=min(ROOM // (n_groups * (n_causes + 1)), len(exit_h)))
    entry_place = None if entry is None else _entry_places(entry, grid, place)
    return Rows(grid, place, lost, parts, entry_place, heavy, n_groups, n_causes)


def _grid(exit_h: NDArray[Any], entry: Floats | None, room: int) -> tuple[Floats, NDArray[Any]]:
    """The shared ages and each newborn's place on them.

    Whole hours as they stand where the newborns outnumber the hours, else the distinct ages.
    """
    last = int(exit_h.max()) if len(exit_h) else -1
    whole = entry is None or bool((entry == np.floor(entry)).all())
    if whole and last < room:
        if exit_h.dtype.kind in "iu":
            return np.arange(last + 1, dtype=np.float64), exit_h
        hours = exit_h.astype(np.int32)
        if (hours == exit_h).all():
            return np.arange(last + 1, dtype=np.float64), hours
    watched = exit_h if entry is None else np.concatenate([exit_h, entry[entry > 0]])
    grid, place = np.unique(watched, return_inverse=True)
    return grid.astype(np.float64), place[: len(exit_h)]


def _entry_places(entry: Floats, grid: Floats, place: NDArray[Any]) -> Integers:
    """The last place not yet watched: -1 from birth; one earlier for those that ended where they entered."""
    found: Integers = np.searchsorted(grid, entry, side="right") - 1
    found[entry == 0] = -1
    earlier: Integers = np.minimum(found, place.astype(np.int64) - 1)
    return earlier
