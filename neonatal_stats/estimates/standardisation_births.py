"""Direct standardisation straight from newborns, with litters allowed for."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import codes, same_length
from neonatal_stats.estimates.clusters import (
    cluster_rows,
    correction,
    degrees_of_freedom,
    event_rows,
    totals,
)
from neonatal_stats.estimates.proportion import wilson_limits
from neonatal_stats.estimates.quantiles import critical, ratio
from neonatal_stats.estimates.results import Estimate


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
    p = ratio(deaths, n)
    rate = float((pull[used] * p[used]).sum())
    binomial = float((pull[used] ** 2 * p[used] * (1 - p[used]) / n[used]).sum())
    residual = w * np.nan_to_num(ratio(pull, n))[k] * (y - np.nan_to_num(p)[k])
    members, clusters, variance = cluster_rows(cluster, len(y)), float(len(y)), binomial
    if members is not None:
        clusters = float(members[1])
        together = float((totals(members[0], residual, members[1]) ** 2).sum())
        variance = max(binomial, float(correction(clusters, n.sum())) * together)
        method += ", clustered"
    effect = variance / binomial if binomial > 0 else 1.0
    effective = rate * (1 - rate) / variance if variance > 0 else float(n[used].sum())
    quantile = critical(level, degrees_of_freedom(effect, clusters))
    low, high = wilson_limits(np.array(rate), np.array(effective), quantile)
    left = float(mix[~used & (mix > 0)].sum() / mix.sum())
    note = (
        f"{left:.3g} of the standard mix had no newborns here; standardised to the rest of it" if left else ""
    )
    return Estimate(rate, float(low), float(high), float("nan"), method, note)
