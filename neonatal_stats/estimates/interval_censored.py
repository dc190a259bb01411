"""Deaths found at a check happened at some hour since the last one: survival without guessing which (Turnbull)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import sparse
from scipy.sparse.linalg import splu

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.clusters import totals


@dataclass(frozen=True, eq=False)
class IntervalCensored:
    """Where deaths can be placed, and how much of them the likelihood puts there.

    ``intervals`` (M, 2) are the innermost intervals (low, high]; low == high is a death at exactly that age,
    high infinite is after the last check. ``mass`` (M,) is the share of deaths in each and adds to 1; how it
    lies inside an interval cannot be known. ``share`` (M,) is the share alive after each interval's end.
    ``largest_derivative`` is the largest directional derivative of the log likelihood, at most n (1 +
    tolerance) when ``converged``, with ``n`` the newborns counted.
    """

    intervals: Floats
    mass: Floats
    share: Floats
    loglik: float
    converged: bool
    largest_derivative: float
    steps: int
    n: float
    method: str = "Turnbull's non-parametric maximum likelihood"


def turnbull(
    low_h: ArrayLike,
    high_h: ArrayLike,
    *,
    weight: ArrayLike | None = None,
    tolerance: float = 1e-8,
    max_steps: int = 200,
) -> IntervalCensored:
    """Survival from deaths known to lie in (last seen alive, found dead].

    Parameters
    ----------
    low_h : (n,) age at which the newborn was last known alive, in hours.
    high_h : (n,) age at which it was found dead; infinite where it was not (then ``low_h`` is the age at
        which it was last seen alive). ``low_h == high_h`` is a death at exactly that age, age 0 included.
    tolerance : relative slack in the optimality conditions.
    max_steps : most Newton steps.

    Counted
    -------
    Every row of weight above 0. A death in (low, high] is after low and at or before high: of one found dead
    at the check of hour 5 and alive at that of hour 3 it may have happened at 5 but not at 3. A newborn last
    seen alive at hour 5 died after 5.

    Method
    ------
    Mass can lie only in the innermost intervals. The log likelihood is concave; its maximum is found by a
    primal-dual interior-point Newton method in the cumulative masses, whose equations are sparse (each
    distinct interval ties two of them), and is held to the optimality conditions: no directional derivative above n.

    Limits
    ------
    The inspection times must not depend on how ill a newborn looked. The curve is not defined inside an
    interval. Non-integer ages with many thousand distinct intervals are slower (the equations fill).

    References
    ----------
    Turnbull 1976, J R Stat Soc B 38:290. Gentleman & Geyer 1994, Biometrika 81:618 (optimality conditions).
    Written here because common implementations stop before the maximum or treat the intervals as closed.

    Examples
    --------
    One death in (0, 2], one in (1, 3] and one in (2, 4]: the innermost intervals are (1, 2] and (2, 3]. With
    mass p and 1 - p the likelihood is p * 1 * (1 - p), so p = 1/2 and a quarter is the largest likelihood.

    >>> from neonatal_stats.estimates import turnbull
    >>> found = turnbull([0, 1, 2], [2, 3, 4])
    >>> found.intervals.tolist(), found.mass.round(6).tolist()
    ([[1.0, 2.0], [2.0, 3.0]], [0.5, 0.5])
    """
    low, high, counted = _checked(low_h, high_h, weight)
    low, high, counted = _distinct(low, high, counted)
    intervals, first, last = _support(low, high)
    if not len(low):
        empty = np.empty(0)
        return IntervalCensored(np.empty((0, 2)), empty, empty, 0.0, True, 0.0, 0, 0.0)
    cover = _Cover(first, last, counted, len(intervals))
    mass, steps = _climb(cover, tolerance, max_steps)
    slope = cover.derivatives(mass)
    largest = float(slope.max())
    return IntervalCensored(
        intervals,
        mass,
        np.clip(1 - np.cumsum(mass), 0, 1),
        cover.loglik(mass),
        bool(largest <= cover.n * (1 + tolerance)),
        largest,
        steps,
        cover.n,
    )


def _checked(low_h: ArrayLike, high_h: ArrayLike, weight: ArrayLike | None) -> tuple[Floats, Floats, Floats]:
    """Ages last alive and found dead, each pair in order, without rows of weight 0."""
    low = arguments.ages(low_h, "low_h")
    high = np.asarray(high_h, dtype=np.float64)
    arguments.same_length(low_h=low, high_h=high)
    arguments.refuse(
        "high_h", np.isnan(high), high, "ages must not be missing (infinite where not found dead)"
    )
    arguments.refuse("high_h", high < low, high, "found dead must not come before last seen alive")
    counted = arguments.weights(weight, len(low))
    there = counted > 0
    return (low, high, counted) if there.all() else (low[there], high[there], counted[there])


def _distinct(low: Floats, high: Floats, counted: Floats) -> tuple[Floats, Floats, Floats]:
    """Distinct (low, high] and how many newborns share each."""
    lows, low_at = _levels(low)
    highs, high_at = _levels(high)
    cell = low_at * len(highs) + high_at
    size = len(lows) * len(highs)
    if size <= 16 * len(low) + 1_000_000:
        total = totals(cell, counted, size)
        used = np.flatnonzero(total)
        return lows[used // len(highs)], highs[used % len(highs)], total[used]
    used, at = np.unique(cell, return_inverse=True)
    total = totals(at, counted, len(used))
    return lows[used // len(highs)], highs[used % len(highs)], total


def _levels(values: Floats) -> tuple[Floats, Integers]:
    """Sorted distinct values and each value's place among them; whole hours need no sorting."""
    finite = np.isfinite(values)
    top = values.max(initial=0, where=finite)
    if top <= 4 * len(values) + 1024:
        hour = np.where(finite, values, top + 1).astype(np.int64)
        if (hour == values)[finite].all():
            seen = np.bincount(hour) > 0
            known = np.flatnonzero(seen).astype(np.float64)
            known[known > top] = np.inf
            return known, (np.cumsum(seen) - 1)[hour]
    known, place = np.unique(values, return_inverse=True)
    return known, place


def _support(low: Floats, high: Floats) -> tuple[Floats, Integers, Integers]:
    """Innermost intervals (M, 2), and for each given interval the first and last of them that it covers.

    Ends are ordered along the line: at one age a death at exactly that age begins, then everything that ends
    there ends, then everything open at that age begins. An innermost interval is a beginning followed at once
    by an end.
    """
    exact = low == high
    ages = np.unique(np.concatenate([low, high]))
    begins = 3 * np.searchsorted(ages, low) + np.where(exact, 0, 2)
    ends = 3 * np.searchsorted(ages, high) + 1
    begin_keys, end_keys = np.unique(begins), np.unique(ends)
    following = np.searchsorted(end_keys, begin_keys)
    last_of_run = (
        np.append(following[1:] != following[:-1], True) if len(following) else np.empty(0, dtype=bool)
    )
    starts = begin_keys[last_of_run]
    stops = end_keys[following[last_of_run]]
    intervals = np.column_stack([ages[starts // 3], ages[stops // 3]])
    first = np.searchsorted(starts, begins)
    last = np.searchsorted(stops, ends, side="right") - 1
    return intervals, first, last


@dataclass(frozen=True, eq=False)
class _Cover:
    """Each distinct interval covers innermost intervals first..last and stands for ``counted`` newborns."""

    first: Integers
    last: Integers
    counted: Floats
    size: int

    @property
    def n(self) -> float:
        return float(self.counted.sum())

    def under(self, mass: Floats) -> Floats:
        """Mass under each interval."""
        running = np.concatenate([[0.0], np.cumsum(mass)])
        # a narrow interval's mass is summed on its own: the difference of running sums would lose its digits
        total = running[self.last + 1] - running[self.first]
        narrow = self.first == self.last
        total[narrow] = mass[self.first[narrow]]
        return np.asarray(np.maximum(total, 1e-300), dtype=np.float64)

    def loglik(self, mass: Floats) -> float:
        return float(self.counted @ np.log(self.under(mass)))

    def derivatives(self, mass: Floats) -> Floats:
        """Directional derivatives d_j."""
        rate = self.counted / self.under(mass)
        change = totals(self.first, rate, self.size + 1)
        change -= totals(self.last + 1, rate, self.size + 1)
        return np.cumsum(change)[:-1]

    def curvature(self, mass: Floats) -> sparse.csc_matrix:
        """Minus the Hessian of the log likelihood in the running sums of mass F_0 = 0, F_1 .. F_M (M, M)."""
        bend = self.counted / self.under(mass) ** 2
        a, b, size = self.first, self.last + 1, self.size + 1
        row = np.concatenate([a, b, a, b])
        column = np.concatenate([a, b, b, a])
        value = np.concatenate([bend, bend, -bend, -bend])
        return sparse.csc_matrix((value, (row, column)), shape=(size, size))[1:, 1:]


def _climb(cover: _Cover, tolerance: float, max_steps: int) -> tuple[Floats, int]:
    """Masses at the maximum, and how many Newton steps it took; it starts from a few steps of EM."""
    n, size = cover.n, cover.size
    close = 0.1 * tolerance * n
    mass = np.full(size, 1 / size)
    for _ in range(10):
        mass = mass * cover.derivatives(mass) / n
    mass = np.maximum(mass, 1e-6 / size)
    slack = n * 1e-2 * mass.mean() / mass
    for step in range(max_steps):
        above = n - cover.derivatives(mass)
        gap = float(mass @ slack)
        if gap < close and np.abs(above - slack).max() < close:
            tidy = _tidy(cover, mass)
            if cover.derivatives(tidy).max() <= n * (1 + tolerance):
                return tidy, step
        target = 0.1 * gap / size
        change = _newton(cover, mass, slack, above - target / mass)
        slack_change = target / mass - slack - slack / mass * change
        mass = mass + _reach(mass, change) * change
        slack = slack + _reach(slack, slack_change) * slack_change
    return _tidy(cover, mass), max_steps


def _newton(cover: _Cover, mass: Floats, slack: Floats, gradient: Floats) -> Floats:
    """Change of the masses from the sparse equations in their running sums."""
    barrier = slack / mass
    size = cover.size
    inner = sparse.diags_array(
        [barrier + np.append(barrier[1:], 0), -barrier[1:], -barrier[1:]],
        offsets=[0, 1, -1],
        shape=(size, size),
    )
    right = -(gradient - np.append(gradient[1:], 0))
    running = splu(sparse.csc_matrix(cover.curvature(mass) + inner)).solve(right)
    return np.diff(running, prepend=0.0)


def _reach(values: Floats, change: Floats) -> float:
    """How far one may go along a change before 99.5 % of some value is spent, at most 1."""
    falling = change < 0
    if not falling.any():
        return 1.0
    return min(1.0, 0.995 * float((-values[falling] / change[falling]).min()))


def _tidy(cover: _Cover, mass: Floats) -> Floats:
    """Masses that add to 1, those driven to nothing (far below the rarest interval's share) set to 0, then EM."""
    least = float(cover.counted.min()) / cover.n
    tidy = np.where(mass < 1e-9 * least, 0.0, mass)
    tidy = tidy / tidy.sum()
    return np.asarray(tidy * cover.derivatives(tidy) / cover.n, dtype=np.float64)
