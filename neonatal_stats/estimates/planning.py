"""Seasons to come: how many newborns, and how many seasons, would show a change, and how many could have lived?"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, codes, refuse, same_length, share
from neonatal_stats.estimates.clusters import alike, cluster_rows, event_rows, unfolded
from neonatal_stats.estimates.contrast import difference_limits, p_values
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.two_by_two import against_rest


def newborns_needed(p0: float, p1: float, *, power: float, level: float, design_effect: float = 1.0) -> int:
    """Newborns needed in each of two groups of one season to see risk ``p1`` where the other has ``p0``.

    Two seasons differ by their own swing besides: `seasons_needed`.

    Parameters
    ----------
    p0, p1 : float
        Risk now and the risk to be told from it, between 0 and 1.
    power : float
        Chance of seeing the change if it is true.
    level : float
        1 - the two-sided significance level.
    design_effect : float
        By how much litters shrink the information, see `design_effect`.

    Method
    ------
    Two independent proportions, normal approximation, pooled variance under "no change", no continuity
    correction; the number R's ``power.prop.test`` gives, times the design effect, rounded up.

    References
    ----------
    Fleiss JL, Levin B, Paik MC (2003) Statistical Methods for Rates and Proportions, 3rd ed., ch. 4.

    Examples
    --------
    15 % to 10 %:

    >>> from neonatal_stats.estimates import newborns_needed
    >>> newborns_needed(0.15, 0.10, power=0.8, level=0.95)
    686
    """
    for name, value in (("p0", p0), ("p1", p1), ("power", power), ("level", level)):
        share(value, name)
    if p0 == p1:
        raise ValueError(f"p1: must differ from p0 ({p0}); found {p1} at position 0")
    if not design_effect >= 1 or math.isinf(design_effect):
        raise ValueError(f"design_effect: must be finite and at least 1; found {design_effect} at position 0")
    return math.ceil(design_effect * _each_group(p0, p1, power, level) - 1e-9)


def _each_group(p0: float, p1: float, power: float, level: float) -> float:
    """Independent newborns needed in each of two groups, not rounded."""
    alpha, beta = float(special.ndtri(0.5 + level / 2)), float(special.ndtri(power))
    pooled = (p0 + p1) / 2
    root = alpha * math.sqrt(2 * pooled * (1 - pooled)) + beta * math.sqrt(p0 * (1 - p0) + p1 * (1 - p1))
    return (root / (p1 - p0)) ** 2


def seasons_needed(
    p0: float, p1: float, n: float, *, swing: float, power: float, level: float, design_effect: float = 1.0
) -> int:
    """Seasons needed before a change and as many after it to see risk ``p0`` become ``p1``.

    Parameters
    ----------
    p0, p1 : float
        Mean risk of the seasons before and after, between 0 and 1.
    n : float
        Newborns a season.
    swing : float
        Standard deviation of the seasons' true risks as a share of their mean (`seasons.swing` has the variance).
    power, level, design_effect : as in `newborns_needed`.

    Method
    ------
    Hayes and Bennett's number of clusters in each arm, a season of the farm being the cluster, rounded up: more
    newborns buy down chance, and only more seasons the swing. One season before and one after never are enough.

    References
    ----------
    Hayes RJ, Bennett S (1999) Simple sample size calculation for cluster-randomized trials. Int J Epidemiol 28:319-326.

    Examples
    --------
    600 newborns a season, 15 % to 10 %, seasons that swing by a fifth of their loss:

    >>> from neonatal_stats.estimates import seasons_needed
    >>> seasons_needed(0.15, 0.10, 600, swing=0.2, power=0.8, level=0.95)
    7
    """
    fixed, per_newborn = _before_and_after(p0, p1, swing, power, level, design_effect)
    if not n > 0:
        raise ValueError(f"n: must be above 0; found {n}")
    return max(2, math.ceil(1 + fixed + per_newborn / n - 1e-9))


def newborns_a_season(
    p0: float,
    p1: float,
    seasons: int,
    *,
    swing: float,
    power: float,
    level: float,
    design_effect: float = 1.0,
) -> float:
    """Newborns needed in each of so many seasons before a change, and as many after it; NaN where none are enough.

    Parameters and method as in `seasons_needed`, solved for the newborns.

    Examples
    --------
    Eight seasons before and eight after, 15 % to 10 %: with two of each no number would do.

    >>> from neonatal_stats.estimates import newborns_a_season
    >>> newborns_a_season(0.15, 0.10, 8, swing=0.2, power=0.8, level=0.95)
    234.0
    >>> newborns_a_season(0.15, 0.10, 2, swing=0.2, power=0.8, level=0.95)
    nan
    """
    fixed, per_newborn = _before_and_after(p0, p1, swing, power, level, design_effect)
    left = seasons - 1 - fixed
    return float(math.ceil(per_newborn / left - 1e-9)) if left > 0 else math.nan


def _before_and_after(
    p0: float, p1: float, swing: float, power: float, level: float, design_effect: float
) -> tuple[float, float]:
    """Seasons in each arm beyond the first: what the swing asks for, and what chance does with one newborn a season."""
    for name, value in (("p0", p0), ("p1", p1), ("power", power), ("level", level)):
        share(value, name)
    if p0 == p1:
        raise ValueError(f"p1: must differ from p0 ({p0}); found {p1} at position 0")
    if not swing >= 0 or math.isinf(swing):
        raise ValueError(f"swing: must be finite and not negative; found {swing} at position 0")
    z = float(special.ndtri(0.5 + level / 2) + special.ndtri(power))
    unit = (z / (p0 - p1)) ** 2
    return unit * swing**2 * (p0**2 + p1**2), unit * design_effect * (p0 * (1 - p0) + p1 * (1 - p1))


def fall_seen(
    p0: float,
    n: float,
    seasons: int,
    *,
    swing: float,
    power: float,
    level: float,
    design_effect: float = 1.0,
) -> float:
    """Smallest fall, as a share of ``p0``, that so many seasons before a change and as many after it would show.

    Parameters
    ----------
    n : float
        Newborns a season.
    seasons : int
        0 for two groups of n newborns in one and the same season, which share its swing.
    p0, swing, power, level, design_effect : as in `seasons_needed`, `newborns_needed`.

    Returns
    -------
    float
        NaN where not even an end of all losses would be seen.

    Examples
    --------
    >>> from neonatal_stats.estimates import fall_seen
    >>> [round(fall_seen(0.15, 600, k, swing=0.2, power=0.8, level=0.95), 2) for k in (1, 2, 8, 0)]
    [nan, 0.67, 0.29, 0.35]
    """
    share(p0, "p0")

    def short(fall: float) -> float:
        """By how much it falls short: newborns, or seasons, needed beyond those there are."""
        p1 = p0 * (1 - fall)
        if not seasons:
            return design_effect * _each_group(p0, p1, power, level) - n
        fixed, per_newborn = _before_and_after(p0, p1, swing, power, level, design_effect)
        return 1 + fixed + per_newborn / n - seasons

    low, high = 1e-6, 1 - 1e-9
    if not n > 0 or short(high) > 0:
        return math.nan
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if short(middle) > 0 else (low, middle)
    return high


def design_effect(cluster_sizes: ArrayLike, icc: float) -> float:
    """1 + (mean litter size, weighted by size, - 1) x the within-litter correlation; never below 1.

    References
    ----------
    Kish L (1965) Survey Sampling; Eldridge SM et al. (2006) Int J Epidemiol 35:1292-1300 (uneven sizes).

    Examples
    --------
    Litters of 1, 2 and 3, correlation 0.2: 1 + (14/6 - 1) x 0.2.

    >>> from neonatal_stats.estimates import design_effect
    >>> round(design_effect([1, 2, 3], 0.2), 3)
    1.267
    """
    sizes = np.asarray(cluster_sizes, dtype=np.float64)
    bad = ~np.isfinite(sizes) | (sizes < 0)
    refuse("cluster_sizes", bad, sizes, "must be finite and not negative")
    if not -1 <= icc <= 1:
        raise ValueError(f"icc: must lie between -1 and 1; found {icc} at position 0")
    if not sizes.sum() > 0:
        return 1.0
    return max(1.0, float(1 + ((sizes**2).sum() / sizes.sum() - 1) * icc))


def losses_avoidable(
    event: ArrayLike,
    exposed: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    level: float,
) -> Estimate:
    """Deaths among the exposed less what they would have been at the others' risk.

    Parameters
    ----------
    event, exposed : array_like of 0 and 1, one entry a newborn.
    cluster, weight, repeats, level : as in `compare`.

    Returns
    -------
    Estimate
        In newborns; negative when the exposed did better. Times the keeper's price it is a cost.

    Method
    ------
    Newborns exposed x risk difference, with the clustered Newcombe limits of `compare`.

    Limits
    ------
    "Would have lived" only if the difference is the group's own doing; an association does not prove that.

    Examples
    --------
    10 of 50 twins and 5 of 50 singles died: 10 - 50 x 0.1.

    >>> from neonatal_stats.estimates import losses_avoidable
    >>> died, twin, births = [1, 0, 1, 0], [1, 1, 0, 0], [10, 40, 5, 45]
    >>> round(losses_avoidable(died, twin, weight=births, level=0.95).estimate, 9)
    5.0
    """
    y, weights = event_rows(event, weight)
    group = codes(exposed, "exposed", below=2)
    same_length(event=y, exposed=group)
    members = cluster_rows(cluster, len(y))
    rows, members, each = unfolded(members, alike(repeats, members), weights)
    table = against_rest(y[rows], weights[rows], [group[rows] == 1], members, each)
    value, low, high = (float(table.n1[0] * limit[0]) for limit in difference_limits(table, level))
    note = "" if np.isfinite(value) else "cannot be estimated: no newborns in one of the groups"
    method = "excess over the comparison's risk, Newcombe" + (", clustered" if table.clustered else "")
    return Estimate(value, low, high, float(p_values(table)[0]), method, note)


def ratio_seen(
    n1: float, n0: float, risk: float, *, design_effect: float = 1.0, power: float, p: float
) -> float:
    """Smallest risk ratio at which a group of ``n1`` would be told from ``n0`` others with this ``power``.

    Parameters
    ----------
    n1, n0 : float
        Newborns of the group and of the others.
    risk : float
        Risk of the others, above 0 and below 1.
    design_effect : float
        By how much litters shrink the information, see `design_effect`.
    power : float
        Chance of seeing the difference if it is true.
    p : float
        The two-sided p that counts as seen.

    Returns
    -------
    float
        NaN where not even a group in which nearly all were lost would be seen.

    Method
    ------
    The group is worth n1 / design effect independent newborns, the others as many as expected of them. The fewest
    deaths that have a p this small are sought among the whole numbers (the larger of the pooled score test and twice
    the binomial mid-tail, as `many_groups.skewed_p`); the risk at which that share comes up with the power asked for is
    a quantile of the beta distribution, the chance among the others allowed for by the harmonic sum of both sizes.

    References
    ----------
    Fleiss JL, Levin B, Paik MC (2003) Statistical Methods for Rates and Proportions, 3rd ed., ch. 4; Clopper CJ,
    Pearson ES (1934) Biometrika 26:404-413 for the beta quantile.

    Examples
    --------
    60 of 600 newborns, 10 % of the rest lost, one comparison at 1 in 20:

    >>> from neonatal_stats.estimates import ratio_seen
    >>> round(ratio_seen(60, 540, 0.10, power=0.8, p=0.05), 1)
    2.4
    """
    for name, value in (("risk", risk), ("power", power), ("p", p)):
        share(value, name)
    group, others = n1 / design_effect, n0 / design_effect
    deaths = np.arange(1, math.floor(group) + 1, dtype=np.float64)
    lost = others * risk
    pooled = (deaths + lost) / (group + others)
    z = (deaths - group * pooled) / np.sqrt(pooled * (1 - pooled) * group * others / (group + others))
    tail = special.betainc(deaths, group - deaths + 1, pooled) + _more(deaths, group, pooled)
    seen = (z > 0) & (np.maximum(2 * special.ndtr(-z), tail) <= p)
    if not seen.any():
        return math.nan
    worth = 1 / (1 / group + 1 / others)
    share_lost = deaths[seen][0] / group
    return float(special.betaincinv(share_lost * worth, worth * (1 - share_lost) + 1, power) / risk)


def _more(deaths: Floats, n: float, risk: Floats) -> Floats:
    """P(X > deaths) for a binomial count of n, which need not be whole."""
    left = n - deaths
    found = special.betainc(deaths + 1, np.where(left > 0, left, 1.0), risk)
    return np.asarray(np.where(left > 0, found, 0.0), dtype=np.float64)
