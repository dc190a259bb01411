"""Deaths laid out by day, place and cause, and over all windows of days the likelihood that they died faster there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.dealing import Pack, dealt_on_average

LENGTHS_D = (1, 2, 3, 4, 5, 7, 9, 12, 16, 21, 28, 37)
"""The lengths of window that are looked at, in days, and besides any that is open to the last day."""
INSIDE = 0.9
"""The most of the expected deaths that a window may hold: of what is nearly all of them no time can be named."""
LEAST = 3  # deaths in a window
NOT_AT_ALL = np.iinfo(np.int32).max
AT_ONCE = 4_000_000  # cells held in memory
Counts = NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Layout:
    """Where deaths stand: ``cause`` of each (numbers from ``causes`` on are scanned with all only), how many ``places``
    and ``days`` there are, and the ``windows``, (2, windows) first days and days after the last.

    A row is a cause and a place: number cause x (1 + places) + place, 0 standing for all of either.
    """

    cause: Integers
    causes: int
    places: int
    days: int
    windows: Integers

    @classmethod
    def of(cls, cause: Integers, causes: int, places: int, days: int) -> Layout:
        """With all windows; long ones begin on every other day, or less often."""
        fixed = {
            (first, first + length)
            for length in LENGTHS_D
            for first in range(0, days - length + 1, max(1, length // 6))
        }
        windows = np.array(sorted(fixed | {(first, days) for first in range(days)}), dtype=np.int64).T
        return cls(np.minimum(cause, causes), causes, places, days, windows)

    @property
    def rows(self) -> int:
        """A row for each cause and place, and for all of either."""
        return (1 + self.causes) * (1 + self.places)

    def with_cause(self, row: int) -> NDArray[np.bool_]:
        """Deaths of the cause of a row."""
        cause = row // (1 + self.places)
        return self.cause == cause - 1 if cause else np.ones(len(self.cause), dtype=bool)

    def laid(self, day: Integers, place: Integers) -> Counts:
        """Deaths by day, row and deal, (days, rows, deals), from the day and the place of each death in each deal."""
        times, places = day.shape[1], np.broadcast_to(np.minimum(place, self.places), day.shape)
        causes = np.broadcast_to(self.cause[:, None], day.shape)
        base = day * (self.rows * times) + np.arange(times)
        cells = []
        for cause in (0, 1 + causes):
            for at in (0, 1 + places):
                row = cause * (1 + self.places) + at
                counted = (cause <= self.causes) & (at <= self.places) & np.ones(day.shape, dtype=bool)
                cells.append((base + row * times)[counted])
        found = np.bincount(np.concatenate(cells), minlength=self.days * self.rows * times)
        return found.astype(np.int32).reshape(self.days, self.rows, times)

    def usual(self, pack: Pack) -> Floats:
        """What the deals give on average by day and row, (days, rows)."""
        each = dealt_on_average(pack, self.cause, self.causes + 1, self.days)
        found = np.zeros((self.days, 1 + self.causes, 1 + self.places))
        named = min(self.places, each.shape[2])
        for cause, by_day in enumerate((each.sum(axis=0), *each[: self.causes])):
            found[:, cause, 0] = by_day.sum(axis=1)
            found[:, cause, 1 : 1 + named] = by_day[:, :named]
        return found.reshape(self.days, self.rows)

    def ratios(self, seen: Counts, usual: Floats, of: Floats) -> tuple[Integers, Floats]:
        """Where windows have more deaths than usual, and how much likelier a raised rate makes them.

        Parameters
        ----------
        seen, usual : (days, rows, deals) and (days, rows).
        of : (rows,) the deaths that are shared out between a window and the rest; 0 leaves a row out.

        Returns
        -------
        (3, k) window, row and deal, and (k,) the log likelihood ratio of Poisson counts; see `scan.calendar_scan`.
        """
        rows = np.flatnonzero(of)
        first, last = self.windows
        upto, inside = _upto(seen[:, rows]), _upto(usual[:, rows])
        inside = inside[last] - inside[first]
        may = (inside > 1e-9) & (inside <= INSIDE * of[rows])
        more = np.where(may, np.maximum(np.floor(inside), LEAST - 1), NOT_AT_ALL).astype(np.int32)[:, :, None]
        found = [np.zeros((3, 0), dtype=np.int64)]
        counts = [np.zeros(0)]
        step = max(1, AT_ONCE // max(1, upto[0].size))
        for start in range(0, len(first), step):
            block = slice(start, start + step)
            n = upto[last[block]] - upto[first[block]]
            at = np.nonzero(n > more[block])
            counts.append(n[at].astype(np.float64))
            found.append(np.stack([at[0] + start, at[1], at[2]]))
        cells, c = np.concatenate(found, axis=1), np.concatenate(counts)
        whole, within = of[rows][cells[1]], inside[cells[0], cells[1]]
        cells[1] = rows[cells[1]]
        return cells, poisson_gain(c, within) + poisson_gain(whole - c, whole - within)

    def table(self, seen: Counts, usual: Floats, of: Floats) -> Floats:
        """Ratios by window and row, (windows, rows), of the first deal; 0 where a window has no more than usual."""
        (window, row, deal), ratio = self.ratios(seen, usual, of)
        found = np.zeros((self.windows.shape[1], self.rows))
        found[window[deal == 0], row[deal == 0]] = ratio[deal == 0]
        return found

    def highest(self, deals: tuple[Integers, Integers], usual: Floats, of: Floats) -> Floats:
        """The largest ratio of each deal by place, all places first, (1 + places, deals)."""
        day, place = deals[0], np.broadcast_to(deals[1], deals[0].shape)
        top = np.zeros((1 + self.places, day.shape[1]))
        step = max(1, AT_ONCE // (self.rows * self.windows.shape[1]))
        for start in range(0, day.shape[1], step):
            block = slice(start, start + step)
            cells, ratio = self.ratios(self.laid(day[:, block], place[:, block]), usual, of)
            np.maximum.at(top, (cells[1] % (1 + self.places), cells[2] + start), ratio)
        return top


def _upto(values: NDArray[np.generic]) -> NDArray[np.generic]:
    """Sums over the days before each, along the first axis."""
    return np.concatenate([np.zeros_like(values[:1]), np.cumsum(values, axis=0, dtype=values.dtype)])


def poisson_gain(count: ArrayLike, usual: ArrayLike) -> Floats:
    """count x log(count / usual), 0 where nothing died: what a rate of its own adds to a log likelihood."""
    n = np.asarray(count, dtype=np.float64)
    return np.where(n > 0, n * np.log(np.maximum(n, 1e-300) / usual), 0.0)
