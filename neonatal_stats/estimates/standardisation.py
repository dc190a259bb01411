"""Rates made comparable: what would the loss have been had every season had the same mix of births?"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, Integers, codes, refuse, same_length, share
from neonatal_stats.estimates.clusters import (
    cluster_rows,
    correction,
    degrees_of_freedom,
    event_rows,
    totals,
)
from neonatal_stats.estimates.proportion import checked_counts, wilson, wilson_limits
from neonatal_stats.estimates.results import Estimate, critical, ratio, two_sided


def directly_standardised(
    events: ArrayLike,
    n: ArrayLike,
    standard: ArrayLike,
    *,
    level: float = 0.95,
    design_effect: ArrayLike | None = None,
) -> Estimate:
    """Share of newborns lost had the strata been mixed as in the standard.

    Parameters
    ----------
    events, n : array_like (S,)
        Deaths and newborns of each stratum.
    standard : array_like (S,)
        The common mix, counts or shares.
    design_effect : float or array_like (S,), optional
        Litters: events and newborns are divided by it before the limits are taken.

    Returns
    -------
    Estimate
        From 0 up; p is NaN. The note says which share of the standard has no newborns to go by; the rest is
        then standardised to what is left of the mix.

    Method
    ------
    Gamma limits of Fay & Feuer (1997), which hold for few events and uneven weights.

    Limits
    ------
    Deaths are taken as Poisson, so the limits are wider than needed where the risk is high: simulated
    coverage is 97-98 % at risks of 5 to 30 %. For births in litters `standardised_births` keeps closer to its level.

    References
    ----------
    Fay MP, Feuer EJ (1997) Confidence intervals for directly standardized rates. Stat Med 16:791-801.

    Examples
    --------
    One stratum is Poisson: 10 deaths of 100 give 0.100 (0.048-0.184).
    """
    x, size, mix, note = _strata(events, n, standard)
    effect = np.broadcast_to(
        np.ones(1) if design_effect is None else np.asarray(design_effect, float), x.shape
    )
    refuse("design_effect", ~((effect >= 1) & (effect < np.inf)), effect, "must be finite and at least 1")
    method = "directly standardised, Fay-Feuer gamma limits"
    used = (size > 0) & (mix > 0)
    if not used.any():
        return Estimate(np.nan, np.nan, np.nan, np.nan, method, "cannot be estimated: no newborns in the mix")
    weight = ratio(mix, size * mix[used].sum())[used]
    rate = float((weight * x[used]).sum())
    unit = weight * effect[used]
    low, high = gamma_limits(rate, float((unit * weight * x[used]).sum()), float(unit.max()), level)
    return Estimate(rate, low, high, float("nan"), method, note)


def _strata(events: ArrayLike, n: ArrayLike, standard: ArrayLike) -> tuple[Floats, Floats, Floats, str]:
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    mix = np.atleast_1d(np.asarray(standard, dtype=np.float64))
    same_length(events=x, standard=mix)
    refuse("standard", ~np.isfinite(mix) | (mix < 0), mix, "must be finite and not negative")
    absent = (size == 0) & (mix > 0)
    note = ""
    if absent.any():
        part = mix[absent].sum() / mix.sum()
        strata = "stratum" if absent.sum() == 1 else "strata"
        note = (
            f"{int(absent.sum())} {strata} of the standard mix ({part:.3g} of it) had no newborns here; "
            "standardised to the rest of the mix"
        )
    return x, size, mix, note


def gamma_limits(rate: float, variance: float, largest: float, level: float = 0.95) -> tuple[float, float]:
    """Fay-Feuer limits of a weighted sum of Poisson counts; ``largest`` is the largest weight."""
    tail = (1 - share(level)) / 2
    low = 0.0
    if rate > 0:
        low = variance / rate * float(special.gammaincinv(rate**2 / variance, tail))
    top, spread = rate + largest, variance + largest**2
    return low, spread / top * float(special.gammaincinv(top**2 / spread, 1 - tail))


def indirectly_standardised(
    events: float,
    expected: float,
    *,
    n: float | None = None,
    level: float = 0.95,
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
    58 seen against 52 expected: 1.115 (Dohoo 2009, tuberculosis in cattle).
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


def standardised_births(
    event: ArrayLike,
    stratum: ArrayLike,
    standard: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    level: float = 0.95,
) -> Estimate:
    """Share of newborns lost had the strata been mixed as in the standard; one row a newborn.

    Parameters
    ----------
    event : array_like of 0 and 1.
    stratum : array_like of whole numbers below the length of ``standard``.
    standard : array_like (S,)
        The common mix, counts or shares.
    cluster, weight : as in `proportions`.

    Method
    ------
    Linearised variance over clusters, never below the binomial one, turned into an effective number of
    newborns for Wilson's limits (Korn & Graubard's device).

    Limits
    ------
    Strata in which all or none died add no variance: with many tiny strata the interval is too narrow; join
    strata of fewer than about ten newborns.

    References
    ----------
    Korn EL, Graubard BI (1998) Surv Methodol 24:193-201; Yan X, Su XG (2010) Stat Biopharm Res 2:329-335.
    """
    y, w = event_rows(event, weight)
    mix = np.atleast_1d(np.asarray(standard, dtype=np.float64))
    k = codes(stratum, "stratum", below=len(mix))
    same_length(event=y, stratum=k)
    n, deaths = totals(k, w, len(mix)), totals(k, w * y, len(mix))
    used = (n > 0) & (mix > 0)
    method = "directly standardised, Wilson at the effective number"
    if not used.any():
        return Estimate(np.nan, np.nan, np.nan, np.nan, method, "cannot be estimated: no newborns in the mix")
    pull = np.where(used, mix, 0) / mix[used].sum()
    p = np.nan_to_num(ratio(deaths, n))
    rate, binomial = float(pull @ p), float((pull**2 * np.nan_to_num(ratio(p * (1 - p), n))).sum())
    residual = w * np.nan_to_num(ratio(pull, n))[k] * (y - p[k])
    members = cluster_rows(cluster, len(y))
    variance, clusters = _clustered(residual, members, binomial, float(n.sum()))
    effective = rate * (1 - rate) / variance if variance > 0 else float(n[used].sum())
    quantile = critical(level, degrees_of_freedom(n.sum() / clusters, clusters))
    low, high = wilson_limits(np.array(rate), np.array(effective), quantile)
    left = float(mix[~used & (mix > 0)].sum() / mix.sum())
    note = (
        f"{left:.3g} of the standard mix had no newborns here; standardised to the rest of it" if left else ""
    )
    return Estimate(rate, float(low), float(high), np.nan, method + (", clustered" if members else ""), note)


def _clustered(
    residual: Floats, members: tuple[Integers, int] | None, binomial: float, n: float
) -> tuple[float, float]:
    """Variance summed over clusters, never below the binomial one, and how many clusters there are."""
    if members is None:
        return binomial, n
    labels, clusters = members
    together = float((totals(labels, residual, clusters) ** 2).sum())
    return max(binomial, float(correction(clusters, n)) * together), float(clusters)
