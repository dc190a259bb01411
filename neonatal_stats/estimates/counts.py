"""Event tables: the common currency below every curve and test."""

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
class EventTable:
    """How many newborns were at risk, lost and left at each age, in each group.

    ``age_h (K,)`` distinct ages, rising; ``at_risk (G, K)`` watched and alive just before that age;
    ``events (G, K, C)`` lost at that age by cause 1 to C; ``left (G, K)`` last seen alive at that age;
    ``entered (G, K)`` first watched at that age and at risk from the next (None: all watched from birth).
    """

    age_h: Floats
    at_risk: Floats
    events: Floats
    left: Floats
    entered: Floats | None = None

    @property
    def deaths(self) -> Floats:
        """Lost at each age, all causes together, (G, K)."""
        total: Floats = self.events.sum(axis=-1)
        return total

    @property
    def watched(self) -> Floats:
        """Newborns in each group, (G,): all that ever left the table, lost or alive."""
        total: Floats = (self.deaths + self.left).sum(axis=1)
        return total

    @property
    def seen(self) -> NDArray[np.bool_]:
        """Ages at which a newborn was lost, left or came, (K,)."""
        some: NDArray[np.bool_] = np.asarray((self.deaths + self.left).any(axis=0))
        return some if self.entered is None else some | self.entered.any(axis=0)

    def at_ages(self, kept: NDArray[np.bool_]) -> EventTable:
        """The table at some of its ages; nothing may have happened at the others."""
        entered = None if self.entered is None else self.entered[:, kept]
        return EventTable(
            self.age_h[kept], self.at_risk[:, kept], self.events[:, kept], self.left[:, kept], entered
        )


def count_events(
    age_h: ArrayLike,
    outcome: ArrayLike,
    *,
    group: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    n_groups: int | None = None,
    n_causes: int | None = None,
) -> EventTable:
    """Count newborns by group, age and outcome, in one pass; ``n_causes`` is as ``n_groups``.

    Counted
    -------
    Everyone, ages of 0 included. A newborn lost and one that left at the same age were both at risk at it.
    A newborn first watched at age e is at risk at ages after e; one that was watched from birth, at age 0
    too; one that entered and ended at one age, at that age alone.

    Limits
    ------
    The table has a cell for every group, distinct age and outcome: ages to the second in many groups make it wide.

    Examples
    --------
    >>> from neonatal_stats.estimates import count_events
    >>> table = count_events([2, 2, 5], [1, 0, 1])
    >>> table.at_risk.tolist(), table.events[..., 0].tolist()
    ([[3.0, 1.0]], [[1.0, 1.0]])
    """
    return tabulate(read_rows(age_h, outcome, group, entry_h, weight, n_groups, n_causes))


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
    grid, place = _grid(exit_h, entry, room=min(ROOM // max(n_groups * (n_causes + 1), 1), len(exit_h)))
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


def tabulate(rows: Rows, *, every_age: bool = False) -> EventTable:
    """The event table of checked rows; ``every_age`` keeps the grid ages at which nothing happened."""
    exits = _exits(rows)
    ended = exits.sum(axis=1)
    arrivals = None if rows.entry is None else _arrivals(rows, rows.entry)
    age_h = rows.age_h
    seen = ended.any(axis=0) if arrivals is None else ended.any(axis=0) | arrivals.any(axis=0)
    if not (every_age or seen.all()):
        age_h, exits, ended = age_h[seen], exits[..., seen], ended[:, seen]
        arrivals = None if arrivals is None else arrivals[:, seen]
    at_risk = _from_here_on(ended)
    if arrivals is not None:
        at_risk = without_dust(at_risk - _from_here_on(arrivals), at_risk)
    events = np.moveaxis(exits[:, 1:], 1, 2).astype(np.float64, order="C")
    return EventTable(age_h, at_risk, events, exits[:, 0].astype(np.float64), arrivals)


def _exits(rows: Rows) -> NDArray[Any]:
    """Newborns by group, outcome and grid age (G, 1 + C, K): whole numbers unless they are weighted."""
    groups, ages, outcomes = rows.shape
    counts: NDArray[Any] = np.zeros(
        (groups, outcomes, ages), dtype=np.int64 if rows.weight is None else np.float64
    )
    flat = counts.reshape(-1)
    for code, block in rows.codes():
        weight = None if rows.weight is None else rows.weight[block]
        flat += np.bincount(code, weights=weight, minlength=flat.size)
    return counts


def _arrivals(rows: Rows, entry: Integers) -> Floats:
    """Late arrivals by group and the last grid age at which they were not yet watched."""
    late = np.flatnonzero(entry >= 0)
    groups, ages, _ = rows.shape
    cell = entry[late] if rows.group is None else rows.group[late].astype(np.int64) * ages + entry[late]
    weight = None if rows.weight is None else rows.weight[late]
    return np.bincount(cell, weights=weight, minlength=groups * ages).reshape(groups, ages).astype(np.float64)


def _from_here_on(counts: NDArray[Any]) -> Floats:
    """Sum over this age and all later ones, along the last axis."""
    total: Floats = np.cumsum(counts[..., ::-1], axis=-1)[..., ::-1].astype(np.float64)
    return total


def without_dust(difference: Floats, of: Floats) -> Floats:
    """Differences of sums of the size ``of``, with the rounding error of an exact zero swept away."""
    return np.where(difference <= 1e-12 * of, 0.0, difference)
