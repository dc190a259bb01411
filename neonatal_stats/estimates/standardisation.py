"""Rates made comparable: what would the loss have been had every season had the same mix of births?"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, Integers, codes, one_of, refuse, same_length, share
from neonatal_stats.estimates.clusters import (
    agreement,
    are_few,
    by_cluster_and_group,
    cluster_rows,
    correction,
    degrees_of_freedom,
    design_effects_at,
    event_rows,
    few_groups,
    renumber,
    totals,
)
from neonatal_stats.estimates.proportion import wilson, wilson_limits
from neonatal_stats.estimates.results import Estimate, critical, ratio, two_sided

Members = tuple[Integers, int] | None
METHODS = {"wilson": "Wilson at the effective number", "gamma": "Fay-Feuer gamma limits"}


def directly_standardised(
    event: ArrayLike,
    stratum: ArrayLike,
    standard: ArrayLike,
    *,
    level: float,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    limits: str = "wilson",
) -> Estimate:
    """Share of newborns lost had the strata been mixed as in the standard.

    Parameters
    ----------
    event : array_like of 0 and 1, one entry a newborn.
    stratum : array_like of whole numbers below the length of ``standard``.
    standard : array_like (S,)
        The common mix, counts or shares.
    cluster, weight : as in `proportions`.
    limits : {"wilson", "gamma"}

    Returns
    -------
    Estimate
        From 0 up; p is NaN. The note says which share of the standard has no newborns to go by; the rest is
        then standardised to what is left of the mix.

    Method
    ------
    Wilson: linearised variance over clusters, never below the binomial one, turned into an effective number of
    newborns for Wilson's limits (Korn & Graubard's device). Gamma: the limits of Fay & Feuer (1997), which hold
    for few events and uneven weights, each stratum's counts divided by its design effect.

    Limits
    ------
    Wilson: strata in which all or none died add no variance; with many tiny strata the interval is too narrow,
    so join strata of fewer than about ten newborns. Gamma: deaths are taken as Poisson, so the limits are wider
    than needed where the risk is high: simulated coverage is 97-98 % at risks of 5 to 30 %.

    References
    ----------
    Korn EL, Graubard BI (1998) Surv Methodol 24:193-201; Yan X, Su XG (2010) Stat Biopharm Res 2:329-335. Fay
    MP, Feuer EJ (1997) Confidence intervals for directly standardized rates. Stat Med 16:791-801.

    Examples
    --------
    Singles 5/50, twins 20/100, mix half and half: 0.5 x 0.1 + 0.5 x 0.2.

    >>> from neonatal_stats.estimates import directly_standardised
    >>> counts = {"event": [1, 0, 1, 0], "stratum": [0, 0, 1, 1], "weight": [5, 45, 20, 80]}
    >>> round(directly_standardised(**counts, standard=[1, 1], level=0.95).estimate, 9)
    0.15
    """
    one_of(limits, ("wilson", "gamma"), "limits")
    y, w = event_rows(event, weight)
    mix = np.atleast_1d(np.asarray(standard, dtype=np.float64))
    refuse("standard", ~np.isfinite(mix) | (mix < 0), mix, "must be finite and not negative")
    k = codes(stratum, "stratum", below=len(mix))
    same_length(event=y, stratum=k)
    n, deaths = totals(k, w, len(mix)), totals(k, w * y, len(mix))
    used = (n > 0) & (mix > 0)
    method = "directly standardised, " + METHODS[limits]
    if not used.any():
        return Estimate(np.nan, np.nan, np.nan, np.nan, method, "cannot be estimated: no newborns in the mix")
    pull = np.where(used, mix, 0) / mix[used].sum()
    members = cluster_rows(cluster, len(y))
    rate = float(pull @ np.nan_to_num(ratio(deaths, n)))
    find = _wilson if limits == "wilson" else _gamma
    low, high = find(y, w, k, (deaths, n), pull, members, level)
    left = float(mix[~used & (mix > 0)].sum() / mix.sum())
    note = (
        f"{left:.3g} of the standard mix had no newborns here; standardised to the rest of it" if left else ""
    )
    return Estimate(rate, low, high, np.nan, method + (", clustered" if members else ""), note)


def variance_under_one_risk(
    event: ArrayLike,
    group: ArrayLike,
    stratum: ArrayLike,
    standard: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
) -> Floats:
    """Variance of each group's directly standardised share (G,) if all groups shared the risk of each stratum.

    Parameters
    ----------
    event : array_like of 0 and 1, one entry a newborn.
    group : array_like of whole numbers below G; every group has newborns in every stratum of the standard.
    stratum : array_like of whole numbers below the length of ``standard``.
    standard : array_like (S,)
        The common mix, counts or shares.
    cluster : array_like of whole numbers, optional
        Litter; littermates' outcomes are then equally correlated. Litters that span groups are taken in each by
        itself, which errs to the safe side in a difference.

    Method
    ------
    Each stratum's risk is that of all groups together, so that a group without a loss is not known for certain.

    Examples
    --------
    10 of 100 and 30 of 100, one stratum: 0.2 x 0.8 / 100 each.

    >>> from neonatal_stats.estimates import variance_under_one_risk
    >>> died = [1] * 10 + [0] * 90 + [1] * 30 + [0] * 70
    >>> variance_under_one_risk(died, [0] * 100 + [1] * 100, [0] * 200, [1]).round(9).tolist()
    [0.0016, 0.0016]
    """
    y, w = event_rows(event, None)
    g, k = codes(group, "group"), codes(stratum, "stratum", below=len(np.atleast_1d(standard)))
    same_length(event=y, group=g, stratum=k)
    mix, groups = np.asarray(standard, dtype=np.float64), int(g.max(initial=-1)) + 1
    risk = np.nan_to_num(ratio(totals(k, y, len(mix)), totals(k, w, len(mix))))
    n = totals(g * len(mix) + k, w, groups * len(mix))
    lean = (mix / mix.sum())[k] / n[g * len(mix) + k] * np.sqrt(risk * (1 - risk))[k]
    alone = totals(g, lean**2, groups)
    members = cluster_rows(cluster, len(y))
    if members is None:
        return alone
    pair, both = renumber(members[0] * groups + g)
    together = totals(both % groups, totals(pair, lean, len(both)) ** 2, groups)
    return alone + agreement(y, w, *members) * (together - alone)


def indirectly_standardised(
    events: float,
    expected: float,
    *,
    n: float | None = None,
    level: float,
    design_effect: float = 1.0,
) -> Estimate:
    """Observed over expected deaths (standardised mortality ratio).

    Parameters
    ----------
    events : float
        Deaths seen.
    expected : float
        Deaths the standard's risks would have given in the same births, see `expected_events`.
    n : float, optional
        Newborns the deaths come from. With it the limits are Wilson's for a share, which suits risks that are
        not small; without it they are exact Poisson limits.
    design_effect : float
        Litters: all counts are divided by it before the limits are taken.

    Returns
    -------
    Estimate
        1 is "as expected"; p against 1 is twice the smaller Poisson tail (mid-P), with ``n`` the score test.

    Limits
    ------
    The expected count is taken as known. Exact Poisson limits cover at least their level, and 97-98 % at risks
    of 5 to 30 % (simulated), since deaths of few newborns vary less than Poisson; give ``n`` there.

    References
    ----------
    Garwood F (1936) Biometrika 28:437-442; Dohoo I et al. (2009) Veterinary Epidemiologic Research.

    Examples
    --------
    Tuberculosis in cattle (Dohoo 2009):

    >>> from neonatal_stats.estimates import indirectly_standardised
    >>> round(indirectly_standardised(58, 52, level=0.95).estimate, 3)
    1.115
    """
    if not (np.isfinite(events) and events >= 0):
        raise ValueError(f"events: must be finite and not negative; found {events} at position 0")
    method = "indirectly standardised, exact Poisson limits"
    if not expected > 0:
        return Estimate(np.nan, np.nan, np.nan, np.nan, method, "cannot be estimated: no deaths expected")
    tail, x, mean = (1 - share(level)) / 2, events / design_effect, expected / design_effect
    if n is not None:
        size = n / design_effect
        low, high = (float(limit) * size / mean for limit in wilson(x, size, level=level))
        p = float(two_sided((x - mean) / np.sqrt(mean * (1 - mean / size)))) if mean < size else float("nan")
        return Estimate(events / expected, low, high, p, "indirectly standardised, Wilson limits")
    low = float(special.gammaincinv(x, tail)) / mean if x > 0 else 0.0
    high = float(special.gammaincinv(x + 1, 1 - tail)) / mean
    at_most = float(special.gammaincc(x + 1, mean))
    below = float(special.gammaincc(x, mean)) if x > 0 else 0.0
    half = (at_most + below) / 2
    return Estimate(events / expected, low, high, min(1.0, 2 * min(half, 1 - half)), method)


def expected_events(n: ArrayLike, standard_risk: ArrayLike) -> float:
    """Deaths that the standard's risk in each stratum would have given among ``n`` newborns."""
    size, risk = np.asarray(n, dtype=np.float64), np.asarray(standard_risk, dtype=np.float64)
    known = size > 0
    return float((size[known] * np.broadcast_to(risk, size.shape)[known]).sum())


def _wilson(
    y: Floats,
    w: Floats,
    k: Integers,
    counted: tuple[Floats, Floats],
    pull: Floats,
    members: Members,
    level: float,
) -> tuple[float, float]:
    """Wilson's limits at the number of newborns that would vary as much; ``pull`` is the mix in use."""
    deaths, n = counted
    p = np.nan_to_num(ratio(deaths, n))
    rate, binomial = float(pull @ p), float((pull**2 * np.nan_to_num(ratio(p * (1 - p), n))).sum())
    residual = w * np.nan_to_num(ratio(pull, n))[k] * (y - p[k])
    variance, quantile = binomial, critical(level)
    if members is not None:
        labels, clusters = members
        together = float((totals(labels, residual, clusters) ** 2).sum())
        if are_few(clusters, n.sum()):
            few = few_groups(by_cluster_and_group(labels, k, w, len(pull)), p, pull)
            variance = binomial * float(few.effect(ratio(together, binomial), level)) if binomial else 0.0
        else:
            variance = max(binomial, float(correction(clusters, n.sum())) * together)
            quantile = critical(level, degrees_of_freedom(n.sum() / clusters, clusters))
    effective = rate * (1 - rate) / variance if variance > 0 else float(n[pull > 0].sum())
    low, high = wilson_limits(np.array(rate), np.array(effective), quantile)
    return float(low), float(high)


def _gamma(
    y: Floats,
    w: Floats,
    k: Integers,
    counted: tuple[Floats, Floats],
    pull: Floats,
    members: Members,
    level: float,
) -> tuple[float, float]:
    """Fay-Feuer limits at the strata's design effects."""
    deaths, n = counted
    used, effect = pull > 0, np.ones(len(pull))
    if members is not None:
        kept = w > 0
        at = (y[kept], w[kept], k[kept], members[0][kept], len(pull), level)
        floored, wide, clusters = design_effects_at(*at)
        effect = np.where(are_few(clusters, n), wide, floored)
    weight, x, unit = ratio(pull, n)[used], deaths[used], ratio(pull * effect, n)[used]
    rate = float((weight * x).sum())
    return _gamma_limits(rate, float((unit * weight * x).sum()), float(unit.max()), level)


def _gamma_limits(rate: float, variance: float, largest: float, level: float) -> tuple[float, float]:
    """Fay-Feuer limits of a weighted sum of Poisson counts; ``largest`` is the largest weight."""
    tail = (1 - share(level)) / 2
    low = 0.0
    if rate > 0:
        low = variance / rate * float(special.gammaincinv(rate**2 / variance, tail))
    top, spread = rate + largest, variance + largest**2
    return low, spread / top * float(special.gammaincinv(top**2 / spread, 1 - tail))
