"""Direct standardisation straight from newborns, with litters allowed for."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, Integers, codes, same_length
from neonatal_stats.estimates.clusters import (
    cluster_rows,
    correction,
    degrees_of_freedom,
    event_rows,
    totals,
)
from neonatal_stats.estimates.quantiles import critical, ratio
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.shares.proportion import wilson_limits


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
