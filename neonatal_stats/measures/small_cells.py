"""The count tables of a scheme that may be published: newborns by group and outcome, small counts left out, and with
them as many others as it takes that none can be worked out.

The rule is the threshold rule of statistical disclosure control with complementary suppression, held to an attacker
who knows every total and every cell that is shown: a count of 1 to ``smallest`` less one is not shown, and what is
shown leaves it open whether each such count is ``smallest`` or more. A zero is shown: it is nobody's count, and the
attacker is taken to know all zeros. Linear programming finds both what else to leave out and what an attacker can
tell: Zayatz L (1992) US Bureau of the Census RR-92/02, Massell PB (2001) RR2001/01 (abstracts read); Cox LH (1980) J
Am Stat Assoc 75:377-385, Willenborg L, de Waal T (2001) Elements of Statistical Disclosure Control (from memory,
unchecked). In a table of two ways, and so with sums in one line, its bounds are whole numbers, so that they are the
attacker's own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.optimize import linprog

from neonatal_stats.measures.rates import Alike, newborns_in
from neonatal_stats.season.settings import Settings

ALIKE = Alike()
ALL, NOT_KNOWN = "all", "not known"
NESTED = ("sex_mix", "difficulty")
"""Groups that follow from a column of which a table is published already: what lies between the two would be told."""
MOST_CELLS = 1500
"""A table of more cells is not published: a column with so many words names farms or people."""


def outcomes_of(births: pd.DataFrame, settings: Settings, end_h: float) -> pd.Series:
    """What became of each newborn: one of the words of `outcome_words`, as ordered categories."""
    words = outcome_words(settings, end_h)
    ends = _ends(settings, end_h)
    age = births["age_h"].fillna(0).to_numpy(float)
    place = 1 + np.searchsorted(np.array(list(ends.values())), age, side="right")
    place = np.minimum(place, 1 + len(ends))
    place = np.where(births["age_known"], place, len(words) - 3)
    place = np.where(births["stillborn"], 0, place)
    left = (births["age_h"] < settings.follow_up_h).to_numpy(bool)
    place = np.where(births["died"], place, np.where(left, len(words) - 2, len(words) - 1))
    named = np.array(words, dtype=object)[place]
    return pd.Series(pd.Categorical(named, list(words), ordered=True), index=births.index)


def _ends(settings: Settings, end_h: float) -> dict[str, float]:
    return {name: hour for name, hour in settings.windows_h.items() if hour < end_h}


def outcome_words(settings: Settings, end_h: float) -> tuple[str, ...]:
    """Born dead; lost in each window; lost later, at an unknown age; left alive; alive at the end of follow-up."""
    names = ["", *_ends(settings, end_h)]
    between = [f"lost from {one or 'birth'} to {two}" for one, two in pairwise(names)]
    later = f"lost after {names[-1]}" if names[-1] else "lost after birth"
    return ("born dead", *between, later, "lost at an unknown age", "left alive", "alive at the end")


def count_tables(
    told: Mapping[str, pd.DataFrame], settings: Settings, *, season: str, end_h: float, smallest: int
) -> Iterator[tuple[str, pd.DataFrame]]:
    """Newborns of a season by group and outcome, as they may be published.

    Parameters
    ----------
    told : the answers by question; those about groups are taken, one for each recorded column.
    smallest : a count of 1 to this less one is not shown, nor can it be worked out.

    Returns
    -------
    Name and frame of each table: season, by, group, outcome, newborns (missing where it is not shown); one row a cell,
    totals under "all". Newborns whose group is not known are a group of their own.
    """
    births = told["outcomes"]
    words = outcome_words(settings, end_h)
    whole = _counted(births, outcomes_of(births, settings, end_h)).reindex(list(words), fill_value=0)
    line = np.append(whole.to_numpy(np.int64), whole.sum())
    below = in_line(line, smallest)
    yield "outcomes", _long(line[None, :], below[None, :], [ALL], words, season, "outcomes")
    for name, frame in told.items():
        by = next((one for one in frame if one == name and name not in (*NESTED, "season")), None)
        if by is None:
            continue
        group = frame[name].cat.add_categories(NOT_KNOWN).fillna(NOT_KNOWN).cat.remove_unused_categories()
        cells = _counted(frame, group, outcomes_of(frame, settings, end_h)).reset_index(name="n")
        cells = cells.pivot_table(index=0, columns=1, values="n", aggfunc="sum", observed=True)
        cells = cells.reindex(columns=list(words)).fillna(0).astype(np.int64)
        inside = np.column_stack([cells.to_numpy(), cells.sum(axis=1).to_numpy()])
        counts = np.vstack([inside, inside.sum(axis=0)])
        if counts.size <= MOST_CELLS:
            hidden = in_table(counts, smallest, below)
            yield name, _long(counts, hidden, [*map(str, cells.index), ALL], words, season, name)


def _counted(births: pd.DataFrame, *by: pd.Series) -> pd.Series:
    newborns = pd.Series(newborns_in(births, ALIKE), index=births.index)
    return newborns.groupby([one.rename(place) for place, one in enumerate(by)], observed=True).sum()


def _long(
    counts: np.ndarray, hidden: np.ndarray, groups: list[str], words: tuple[str, ...], season: str, by: str
) -> pd.DataFrame:
    """A row a cell, missing where it is not shown."""
    rows, columns = counts.shape
    frame = pd.DataFrame(
        {
            "season": season,
            "by": by,
            "group": np.repeat(groups, columns),
            "outcome": [*words, ALL] * rows,
            "newborns": pd.array(counts.ravel(), dtype="Int64"),
        }
    )
    frame.loc[hidden.ravel(), "newborns"] = pd.NA
    return frame


SLACK = 1e-6
MOST_TIDIED = 150
"""Cells up to which it is tried whether one that was left out for others' sake can be shown after all."""

Counts = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Sum:
    """A total and its parts, by their places among the counts."""

    total: int
    parts: tuple[int, ...]

    @property
    def cells(self) -> tuple[int, ...]:
        """All of them."""
        return (self.total, *self.parts)


def in_line(counts: Counts, smallest: int) -> Mask:
    """Which of the counts of one line, the total last, are not shown."""
    last = len(counts) - 1
    return not_shown(counts, [Sum(last, tuple(range(last)))], smallest)


def in_table(counts: Counts, smallest: int, below: Mask) -> Mask:
    """Which cells of a table with its totals in the last row and column are not shown.

    Parameters
    ----------
    counts : (r + 1, c + 1).
    below : (c + 1) which totals of the last row are not shown, since they stand elsewhere too (`in_line`).
    """
    rows, columns = counts.shape
    place = np.arange(rows * columns).reshape(rows, columns)
    sums = [Sum(int(line[-1]), tuple(map(int, line[:-1]))) for line in (*place, *place.T)]
    secret = np.zeros(counts.shape, dtype=bool)
    secret[-1] = below
    known = np.zeros(counts.shape, dtype=bool)
    known[-1] = ~below
    hidden = not_shown(counts.ravel(), sums, smallest, secret=secret.ravel(), known=known.ravel())
    return hidden.reshape(counts.shape)


def not_shown(
    counts: Counts,
    sums: Sequence[Sum],
    smallest: int,
    *,
    secret: Mask | None = None,
    known: Mask | None = None,
) -> Mask:
    """Which counts are not shown, so that none of 1 to ``smallest`` less one can be worked out.

    Parameters
    ----------
    secret : counts that are not shown elsewhere either.
    known : counts that are shown whatever happens; none of them is small.

    Method
    ------
    Small counts are left out; while the bounds leave one of them under ``smallest`` for certain, the smallest count
    that stands in a sum with it, or with another left out, is left out too. At last each of these is shown again
    where the bounds allow it.
    """
    shown_elsewhere = np.zeros(len(counts), dtype=bool) if known is None else known
    small = (counts > 0) & (counts < smallest) & ~shown_elsewhere
    must = small if secret is None else small | secret
    hidden = must.copy()
    while (one := next(pinned(counts, hidden, sums, smallest, small), None)) is not None:
        more = _next_to_hide(counts, hidden, sums, one, shown_elsewhere)
        if more is None:
            return np.asarray(~shown_elsewhere)
        hidden[more] = True
    if len(counts) <= MOST_TIDIED:
        for place in sorted(np.flatnonzero(hidden & ~must), key=lambda place: -counts[place]):
            hidden[place] = False
            if next(pinned(counts, hidden, sums, smallest, small), None) is not None:
                hidden[place] = True
    return np.asarray(hidden)


def pinned(counts: Counts, hidden: Mask, sums: Sequence[Sum], smallest: int, small: Mask) -> Iterator[int]:
    """The small counts of which what is shown says that they are under ``smallest``."""
    for place in np.flatnonzero(small):
        if not hidden[place] or upper_bound(counts, hidden, sums, int(place)) < smallest - SLACK:
            yield int(place)


def upper_bound(counts: Counts, hidden: Mask, sums: Sequence[Sum], place: int) -> float:
    """The largest value that a hidden count can have, by the sums and all counts that are shown."""
    places = np.flatnonzero(hidden)
    column = {int(one): at for at, one in enumerate(places)}
    rows, known = [], []
    for one in sums:
        if any(cell in column for cell in one.cells):
            row = np.zeros(len(places))
            fixed = 0
            for cell, sign in ((one.total, 1), *((part, -1) for part in one.parts)):
                if cell in column:
                    row[column[cell]] += sign
                else:
                    fixed += sign * int(counts[cell])
            rows.append(row)
            known.append(-fixed)
    aim = np.zeros(len(places))
    aim[column[place]] = -1
    if not rows:
        return np.inf
    found = linprog(aim, A_eq=np.array(rows), b_eq=np.array(known), bounds=(0, None), method="highs")
    return float(-found.fun) if found.status == 0 else np.inf


def _next_to_hide(counts: Counts, hidden: Mask, sums: Sequence[Sum], place: int, known: Mask) -> int | None:
    """The smallest count that may be left out beside a pinned one; None where there is no other."""
    near, reached = {place}, {place}
    while near:
        beside = {cell for one in sums if near & set(one.cells) for cell in one.cells}
        free = [cell for cell in beside if not hidden[cell] and not known[cell] and counts[cell] > 0]
        if free:
            return min(free, key=lambda cell: (counts[cell], cell))
        near = {cell for cell in beside if hidden[cell]} - reached
        reached |= near
    return None
