"""Counts that may be published: small ones are left out, and with them as many others as it takes that none can be
worked out.

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

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

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
