"""So many for each: the ratio of two totals over few clusters, such as newborns reared for each dam joined by mob."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, refuse, same_length
from neonatal_stats.estimates.results import Estimate, critical

METHOD = "ratio of totals, clusters left out one at a time, Student's t on the logarithm"


def ratio_of_totals(numerator: ArrayLike, denominator: ArrayLike, *, level: float) -> Estimate:
    """The sum of one total a cluster over the sum of another, with the interval that the clusters deserve.

    Parameters
    ----------
    numerator, denominator : array_like (C,)
        Totals of each cluster (mob, farm); denominators above 0.

    Method
    ------
    The logarithm of the ratio with its jackknife variance, clusters left out one at a time, and Student's t. Its
    degrees of freedom are the effective number of clusters, less 1: uneven ones are fewer (the square of the sum of
    the denominators over the sum of their squares, Kish). NaN limits where a single cluster, or all of the numerator
    in one of them, tells nothing of how they vary.

    References
    ----------
    Quenouille MH (1956) Notes on bias in estimation. Biometrika 43:353-360; Miller RG (1974) The jackknife - a review.
    Biometrika 61:1-15; Kish L (1965) Survey Sampling (the effective number). Coverage from 6 clusters on:
    tests/simulations/mobs.txt.

    Examples
    --------
    Three mobs that reared 90, 120 and 60 of 100, 100 and 80 dams: 270 of 280.

    >>> from neonatal_stats.estimates import ratio_of_totals
    >>> found = ratio_of_totals([90, 120, 60], [100, 100, 80], level=0.95)
    >>> round(found.estimate, 4), round(found.low, 4), round(found.high, 4)
    (0.9643, 0.5217, 1.7822)
    """
    top, bottom = np.asarray(numerator, dtype=np.float64), np.asarray(denominator, dtype=np.float64)
    same_length(numerator=top, denominator=bottom)
    refuse("numerator", ~np.isfinite(top) | (top < 0), top, "must be finite and not negative")
    refuse("denominator", ~np.isfinite(bottom) | (bottom <= 0), bottom, "must be above 0")
    nothing = float("nan")
    if not len(top):
        return Estimate(nothing, nothing, nothing, nothing, METHOD, "no cluster")
    estimate = float(top.sum() / bottom.sum())
    error = _log_error(top, bottom)
    if not error >= 0:
        return Estimate(estimate, nothing, nothing, nothing, METHOD, "too few clusters to tell how they vary")
    effective = bottom.sum() ** 2 / (bottom**2).sum()
    reach = np.exp(float(critical(level, max(effective - 1, 1.0))) * error)
    return Estimate(estimate, float(estimate / reach), float(estimate * reach), nothing, METHOD)


def _log_error(top: Floats, bottom: Floats) -> float:
    """Jackknife standard error of the logarithm; NaN where a cluster left out leaves nothing."""
    left = top.sum() - top
    if len(top) < 2 or (left <= 0).any():
        return float("nan")
    without = np.log(left / (bottom.sum() - bottom))
    return float(np.sqrt((len(top) - 1) / len(top) * ((without - without.mean()) ** 2).sum()))
