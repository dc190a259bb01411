"""Limits and p-values of many two-group contrasts at once, from their tables."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.clusters import degrees_of_freedom
from neonatal_stats.estimates.quantiles import critical, ratio, two_sided
from neonatal_stats.estimates.shares.exact import mid_p
from neonatal_stats.estimates.shares.proportion import wilson_limits
from neonatal_stats.estimates.shares.score_limits import score_limits
from neonatal_stats.estimates.shares.two_by_two import TwoByTwo

FEWEST_EXPECTED = 5  # Cochran's rule: below it, large-sample limits are not used
Limits = tuple[Floats, Floats, Floats]


def sparse(table: TwoByTwo) -> NDArray[np.bool_]:
    """Tables too thin for large-sample limits: an expected count under five, or an empty cell."""
    empty = (table.a == 0) | (table.c == 0) | (table.a == table.n1) | (table.c == table.n0)
    return np.asarray(empty | ~(table.least_expected >= FEWEST_EXPECTED))


def p_values(table: TwoByTwo) -> Floats:
    """Score test; in sparse tables mid-P, or the score test where litters make that the larger."""
    p = two_sided(table.z)
    cells = (table.a, table.n1, table.c, table.n0)
    whole = np.all([cell == np.floor(cell) for cell in cells], axis=0)
    thin = sparse(table) & np.isfinite(p) & whole
    if thin.any():
        few = mid_p(*(cell[thin] for cell in cells))
        p[thin] = np.maximum(few, p[thin]) if table.clustered else few
    return p


def difference_limits(table: TwoByTwo, level: float) -> Limits:
    """Risk difference: Newcombe's hybrid of two clustered Wilson intervals, with their correlation."""
    (p1, low1, high1), (p0, low0, high0) = (
        (
            p,
            *wilson_limits(
                p, ratio(n, effect), critical(level, degrees_of_freedom(ratio(n, clusters), clusters))
            ),
        )
        for p, n, effect, clusters in table.sides
    )
    down1, up1, down0, up0 = p1 - low1, high1 - p1, p0 - low0, high0 - p0
    shared = 2 * table.correlation
    below = np.sqrt(down1**2 + up0**2 - shared * down1 * up0)
    above = np.sqrt(up1**2 + down0**2 - shared * up1 * down0)
    return p1 - p0, p1 - p0 - below, p1 - p0 + above


def ratio_limits(table: TwoByTwo, measure: str, level: float) -> Limits:
    """Risk ratio or odds ratio: logarithms with clustered variances, or score limits in sparse tables."""
    if measure == "odds_ratio":
        estimate = ratio(table.a * (table.n0 - table.c), table.c * (table.n1 - table.a))
    else:
        estimate = ratio(table.p1, table.p0)
    variance, df = _log_variance(table, measure)
    factor = np.exp(critical(level, df) * np.sqrt(variance))
    low, high = ratio(estimate, factor), estimate * factor
    thin = sparse(table)
    if thin.any():
        low[thin], high[thin] = _few(table, thin, measure, level)
    return estimate, low, high


def _few(table: TwoByTwo, thin: NDArray[np.bool_], measure: str, level: float) -> tuple[Floats, Floats]:
    """Score limits of the sparse tables at their effective counts."""
    sides = ((table.a, table.n1, table.effect1), (table.c, table.n0, table.effect0))
    x1, n1, x0, n0 = (ratio(cell, effect)[thin] for *cells, effect in sides for cell in cells)
    return score_limits((x1, n1, x0, n0), float(critical(level)), measure)


def _log_variance(table: TwoByTwo, measure: str) -> tuple[Floats, Floats]:
    """Clustered variance of the log ratio and its degrees of freedom; NaN where a cell is empty."""
    variances, uncertain = [], np.zeros(table.a.shape)
    for p, n, effect, clusters in table.sides:
        odds = 1 - p if measure == "odds_ratio" else np.ones(p.shape)
        binomial = ratio(1 - p, p * n * odds**2)
        variances.append(binomial * effect)
        known = degrees_of_freedom(ratio(n, clusters), clusters)
        uncertain += np.nan_to_num(ratio(variances[-1] ** 2, known))
    first, second = variances
    df = ratio((first + second) ** 2, uncertain)
    variance = first + second - 2 * table.correlation * np.sqrt(first * second)
    return np.maximum(variance, 0), np.where(np.isfinite(df), df, np.inf)
