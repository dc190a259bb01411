"""Deaths known only to lie between two checks: the non-parametric maximum likelihood of Turnbull (1976).

Everything starts from the distinct (last alive, found dead] intervals and how many newborns share each, so
that a million newborns checked by the hour cost no more than a few thousand.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.interval_censored.optimum import Cover, climb
from neonatal_stats.estimates.interval_censored.support import distinct, support


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
    weight : (n,) how many newborns a row stands for.
    tolerance : relative slack in the optimality conditions.
    max_steps : most Newton steps.

    Returns
    -------
    IntervalCensored

    Counted
    -------
    Every row of weight above 0. A death in (low, high] is after low and at or before high: of one found dead
    at the check of hour 5 and alive at that of hour 3 it may have happened at 5 but not at 3. A newborn last
    seen alive at hour 5 died after 5.

    Method
    ------
    Mass can lie only in the innermost intervals. The log likelihood is concave; its maximum is found by a
    primal-dual interior-point Newton method in the cumulative masses, whose equations are sparse (each
    distinct interval ties two of them), and is held to the optimality conditions: no directional derivative
    above n.

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
    """
    low, high, counted = _checked(low_h, high_h, weight)
    low, high, counted = distinct(low, high, counted)
    intervals, first, last = support(low, high)
    if not len(low):
        empty = np.empty(0)
        return IntervalCensored(np.empty((0, 2)), empty, empty, 0.0, True, 0.0, 0, 0.0)
    cover = Cover(first, last, counted, len(intervals))
    mass, steps = climb(cover, tolerance, max_steps)
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
