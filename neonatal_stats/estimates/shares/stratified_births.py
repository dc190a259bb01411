"""Mantel-Haenszel over strata straight from newborns, with litters allowed for."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, Integers, codes, same_length
from neonatal_stats.estimates.clusters import cluster_rows, correction, event_rows, totals
from neonatal_stats.estimates.results import Estimate, Test
from neonatal_stats.estimates.shares.stratified import Strata, expected_under, mantel_haenszel


def mantel_haenszel_births(
    event: ArrayLike,
    exposed: ArrayLike,
    stratum: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    measure: str = "odds_ratio",
    level: float = 0.95,
) -> tuple[Estimate, Test]:
    """As `mantel_haenszel`, from one row a newborn, with a variance summed over clusters.

    Parameters
    ----------
    event, exposed : array_like of 0 and 1.
    stratum, cluster : array_like of whole numbers.

    Method
    ------
    The ratio of the clustered to the independent variance of the Mantel-Haenszel estimating equation at the
    summary found is the design effect (never below 1) of interval and tests. The risk difference has score
    limits (Greenland & Robins's cover 93 % where a group has few newborns in each stratum).

    References
    ----------
    Liang K-Y (1985) Odds ratio inference with dependent data. Biometrika 72:678-682, and the general
    linearisation of Binder DA (1983) Int Stat Rev 51:279-292.
    """
    y, weight = event_rows(event, None)
    x, k = codes(exposed, "exposed", below=2), codes(stratum, "stratum")
    same_length(event=y, exposed=x, stratum=k)
    cells = _cells(y, weight, x, k)
    table = (cells.a, cells.n1, cells.c, cells.n0)
    result = mantel_haenszel(*table, measure=measure, level=level, score_limits=True)
    members = cluster_rows(cluster, len(y))
    if members is None or not np.isfinite(result[0].estimate):
        return result
    residual = _residuals(y, x, k, cells, measure, result[0].estimate)
    alone = float((residual**2).sum())
    together = totals(members[0], residual, members[1])
    effect = float(correction(members[1], len(y))) * float((together**2).sum()) / alone if alone > 0 else 1.0
    effect = max(1.0, effect)
    estimate, homogeneity = mantel_haenszel(
        *table, measure=measure, level=level, design_effect=effect, score_limits=True
    )
    return Estimate(
        estimate.estimate,
        estimate.low,
        estimate.high,
        estimate.p,
        estimate.method + ", clustered",
        estimate.note,
    ), homogeneity


def _cells(y: Floats, weight: Floats, x: Integers, k: Integers) -> Strata:
    strata = int(k.max()) + 1 if len(k) else 0
    n1, n0 = (totals(k[x == group], weight[x == group], strata) for group in (1, 0))
    a, c = (totals(k[x == group], y[x == group], strata) for group in (1, 0))
    return Strata(a, n1, c, n0)


def _residuals(y: Floats, x: Integers, k: Integers, s: Strata, measure: str, value: float) -> Floats:
    """Each newborn's part of the estimating equation, with expectations under the common summary."""
    n = np.maximum(s.n, 1)
    events = s.a + s.c
    if measure == "odds_ratio":
        expected1 = expected_under(Strata(s.a, s.n1, s.c, np.where(s.n > 0, s.n0, 1)), value)
        p1, p0 = expected1 / np.maximum(s.n1, 1), (events - expected1) / np.maximum(s.n0, 1)
        tilt1, tilt0 = 1 - p0 + p0 * value, p1 + value * (1 - p1)
    elif measure == "risk_ratio":
        p0 = events / np.maximum(s.n1 * value + s.n0, 1e-300)
        p1, tilt1, tilt0 = value * p0, np.ones(len(n)), np.full(len(n), value)
    else:
        p0 = (events - s.n1 * value) / n
        p1, tilt1, tilt0 = p0 + value, np.ones(len(n)), np.ones(len(n))
    pull1, pull0 = s.n0 / n * tilt1, s.n1 / n * tilt0
    both = (s.n1 > 0) & (s.n0 > 0)
    out = np.where(x == 1, pull1[k] * (y - p1[k]), -pull0[k] * (y - p0[k]))
    return np.where(both[k], out, 0.0)
