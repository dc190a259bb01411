"""One season among others: how much seasons swing by themselves, one against all the others or the one before."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, refuse, same_length
from neonatal_stats.estimates.results import Estimate, critical, ratio, two_sided


def swing(share: ArrayLike, variance: ArrayLike) -> float:
    """Variance between groups beyond chance, never below 0; NaN for fewer than two groups.

    Parameters
    ----------
    share, variance : array_like (S,)
        Share lost in each group, and its variance by chance and litters.

    Method
    ------
    Moments: Cochran's Q less its degrees of freedom.

    References
    ----------
    DerSimonian R, Laird N (1986) Meta-analysis in clinical trials. Control Clin Trials 7:177-188.

    Examples
    --------
    0.1, 0.2 and 0.3, each known to a variance of 0.001: a spread of 0.01, of which chance gives 0.001.

    >>> from neonatal_stats.estimates import swing
    >>> round(swing([0.1, 0.2, 0.3], [0.001, 0.001, 0.001]), 9)
    0.009
    """
    y, v = np.asarray(share, dtype=np.float64), np.asarray(variance, dtype=np.float64)
    same_length(share=y, variance=v)
    refuse("variance", ~(v > 0), v, "must be above 0")
    if len(y) < 2:
        return float("nan")
    weight = 1 / v
    q = float((weight * (y - (weight * y).sum() / weight.sum()) ** 2).sum())
    return max(0.0, (q - (len(y) - 1)) / float(weight.sum() - (weight**2).sum() / weight.sum()))


@dataclass(frozen=True, eq=False)
class AgainstOthers:
    """One group's share less the mean of the others'.

    ``difference`` with its interval and p; ``others`` the mean of the others; ``low`` to ``high`` the shares that the
    others lead one to expect of the one; ``swing`` the standard deviation between the others beyond chance; ``df`` the
    degrees of freedom that it leaves, infinite where none shows.
    """

    difference: Estimate
    others: float
    low: float
    high: float
    swing: float
    df: float


def one_against_others(
    share: ArrayLike, low: ArrayLike, high: ArrayLike, variance: ArrayLike, one: int, *, level: float
) -> AgainstOthers:
    """One season (or farm) against all the others, their own swing allowed for as far as so many can show it.

    Parameters
    ----------
    share, low, high : array_like (S,)
        Share lost in each, three or more, with its interval at ``level``.
    variance : array_like (S,)
        Variance of each share by chance and litters if all had one risk, as `variance_under_one_risk` gives it.
    one : int
        Place of the one held against the others.

    Method
    ------
    The others' mean is weighted by 1 / (chance + swing), the swing measured among the others alone (`swing`). p is of
    the difference over the standard error under one common risk, swing added; of that variance only the swing is
    uncertain, so that the degrees of freedom are Satterthwaite's: others - 1 where swing is all there is, infinite
    where none shows. The interval joins those of the shares (Zou & Donner's recovery of variances), swing added.

    Limits
    ------
    Two or three others show a swing poorly: where risks truly swing with a standard deviation of a fifth, 11 to 14 %
    of seasons that are no exception have p under 0.05; 28 % if no swing is allowed for (simulated).

    References
    ----------
    Satterthwaite FE (1946) Biometrics 2:110-114; Higgins JPT, Thompson SG, Spiegelhalter DJ (2009) J R Stat Soc A
    172:137-159; Zou GY, Donner A (2008) Stat Med 27:1693-1702.

    Examples
    --------
    Three seasons that lost 12 % and one that lost 19 %, each of 500:

    >>> from neonatal_stats.estimates import one_against_others
    >>> ends = {"low": [0.094, 0.094, 0.094, 0.158], "high": [0.151, 0.151, 0.151, 0.227]}
    >>> found = one_against_others([0.12, 0.12, 0.12, 0.19], **ends, variance=[0.000238] * 4, one=3, level=0.95)
    >>> round(found.difference.estimate, 9), round(found.difference.p, 6)
    (0.07, 8.5e-05)
    """
    y, lower, upper, v = (np.asarray(part, dtype=np.float64) for part in (share, low, high, variance))
    same_length(share=y, low=lower, high=upper, variance=v)
    if len(y) < 3:
        raise ValueError(f"share: must hold three or more; found {len(y)}")
    rest = np.arange(len(y)) != one
    between = swing(y[rest], v[rest])
    weight = np.where(rest, 1 / (v + between), 0.0)
    weight /= weight.sum()
    pull = np.where(rest, -weight, 1.0)
    chance, swung = float((pull**2 * v).sum()), between * float((pull**2).sum())
    df = (rest.sum() - 1) * ((chance + swung) / swung) ** 2 if swung > 0 else np.inf
    quantile, error = float(critical(level, df)), float(np.sqrt(chance + swung))
    value, others = float(pull @ y), float(weight @ y)
    down, up = np.where(rest, upper - y, y - lower), np.where(rest, y - lower, upper - y)
    half_down, half_up = (_half(pull, side, between, quantile, level) for side in (down, up))
    p = float(two_sided(ratio(value, error), df))
    difference = Estimate(
        value, value - half_down, value + half_up, p, "season against the others, swing allowed for"
    )
    least, most = max(0.0, others - quantile * error), min(1.0, others + quantile * error)
    return AgainstOthers(difference, others, least, most, float(np.sqrt(between)), float(df))


def later_less_earlier(
    share: ArrayLike,
    low: ArrayLike,
    high: ArrayLike,
    variance: ArrayLike,
    *,
    swing: float = 0.0,
    level: float,
) -> Estimate:
    """One season's share less that of the one before it: (earlier, later) in each argument.

    Parameters
    ----------
    share, low, high : array_like (2,)
        Share in each season, on one mix of births, with its interval at ``level``.
    variance : array_like (2,)
        Variance of each by chance and litters if both had one risk, as `variance_under_one_risk` gives it.
    swing : float
        Standard deviation of the seasons' true shares by themselves; two seasons cannot show it, so it is given.

    Method
    ------
    p is of the difference over its standard error under one common risk, both seasons' swing added. The interval joins
    those of the shares (Zou & Donner's recovery of variances; Newcombe's of two Wilson intervals), swing added.

    References
    ----------
    Newcombe RG (1998) Stat Med 17:873-890, method 10; Zou GY, Donner A (2008) Stat Med 27:1693-1702.

    Examples
    --------
    56 of 70 and 48 of 80 (Newcombe's first example): 0.2, 0.0524 to 0.3339.

    >>> from neonatal_stats.estimates import later_less_earlier, wilson
    >>> ends = wilson([48, 56], [80, 70], level=0.95)
    >>> found = later_less_earlier([0.6, 0.8], *ends, variance=[0.0026, 0.003], level=0.95)
    >>> round(found.estimate, 9), round(found.low, 4), round(found.high, 4)
    (0.2, 0.0524, 0.3339)
    """
    y, lower, upper, v = (np.asarray(part, dtype=np.float64) for part in (share, low, high, variance))
    same_length(share=y, low=lower, high=upper, variance=v)
    if len(y) != 2:
        raise ValueError(f"share: must hold two, the earlier first; found {len(y)}")
    if not swing >= 0 or np.isinf(swing):
        raise ValueError(f"swing: must be finite and not negative; found {swing} at position 0")
    pull, quantile, between = np.array([-1.0, 1.0]), float(critical(level)), swing**2
    down, up = np.array([upper[0] - y[0], y[1] - lower[1]]), np.array([y[0] - lower[0], upper[1] - y[1]])
    half_down, half_up = (_half(pull, side, between, quantile, level) for side in (down, up))
    value = float(pull @ y)
    p = float(two_sided(ratio(value, np.sqrt(v.sum() + 2 * between))))
    return Estimate(value, value - half_down, value + half_up, p, "season less the one before")


def _half(pull: Floats, side: Floats, between: float, quantile: float, level: float) -> float:
    """How far the interval reaches to one side: the shares' own reaches at the wider quantile, and the swing."""
    chance = quantile / float(critical(level)) * side
    return float(np.sqrt((pull**2 * (chance**2 + quantile**2 * between)).sum()))
