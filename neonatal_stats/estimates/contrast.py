"""Two groups of newborns: how far apart are their risks, and could it be chance?"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates.arguments import Floats, codes, one_of, same_length, share
from neonatal_stats.estimates.clusters import alike, cluster_rows, degrees_of_freedom, event_rows, unfolded
from neonatal_stats.estimates.proportion import wilson_limits
from neonatal_stats.estimates.results import Estimate, critical, ratio, turning_point, two_sided
from neonatal_stats.estimates.two_by_two import (
    TwoByTwo,
    against_rest,
    conditional_odds_ratio,
    independent,
    mid_p,
)

Table = tuple[Floats, Floats, Floats, Floats]
Statistic = Callable[[Floats, Table], Floats]
FEWEST_EXPECTED = 5  # Cochran's rule: below it, large-sample limits are not used
Limits = tuple[Floats, Floats, Floats]
MEASURES = ("risk_ratio", "risk_difference", "odds_ratio")


def compare(
    event: ArrayLike,
    exposed: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    measure: str = "risk_ratio",
    level: float,
) -> Estimate:
    """Risk of the exposed newborns against the others, with litters allowed for.

    Parameters
    ----------
    measure : {"risk_ratio", "risk_difference", "odds_ratio"}

    Returns
    -------
    Estimate; where a group has no event the ratio is 0 with a finite high limit, or NaN with a finite low limit.

    Method
    ------
    Variances of the two shares and their covariance by linearisation over clusters; neither share's design
    effect is taken below 1. Ratios: logarithms, with Student's t. Difference: Newcombe's hybrid of two
    Wilson intervals at n / design effect, less the correlation of the two shares (Newcombe 1998b, method 10).
    Sparse tables (an expected count under 5, or an empty cell): score limits at effective counts, for
    independent newborns' odds ratio the exact conditional mid-P limits. p: score test with littermates'
    outcomes exchangeable (without clusters Pearson's chi-square); in sparse tables mid-P, or the score test
    where that is larger.

    Limits
    ------
    p and interval are different approximations: at the very border they can disagree.

    References
    ----------
    Newcombe RG (1998) Stat Med 17:873-890 and 2635-2650; Katz D et al. (1978) Biometrics 34:469-474; Koopman
    PAR (1984) Biometrics 40:513-517; Rao & Scott (1992) Biometrics 48:577-585; Donner A, Klar N (2000) Design
    and Analysis of Cluster Randomization Trials.

    Examples
    --------
    >>> from neonatal_stats.estimates import compare
    >>> event, exposed, births = [1, 0, 0], [1, 1, 0], [5, 51, 29]  # 5 of 56 against 0 of 29 (Altman 2000, p. 49)
    >>> found = compare(event, exposed, weight=births, measure="risk_difference", level=0.95)
    >>> round(found.low, 3), round(found.high, 3)
    (-0.038, 0.193)
    """
    outcome, weights = event_rows(event, weight)
    group = codes(exposed, "exposed", below=2)
    same_length(event=outcome, exposed=group)
    members = cluster_rows(cluster, len(outcome))
    rows, members, each = unfolded(members, alike(repeats, members), weights)
    table = against_rest(outcome[rows], weights[rows], [group[rows] == 1], members, each)
    return _estimate(table, measure, level)


def compare_counts(
    a: float, n1: float, c: float, n0: float, *, measure: str = "risk_ratio", level: float
) -> Estimate:
    """``a`` events of ``n1`` newborns against ``c`` of ``n0``, from a ready table; as `compare`, no clusters.

    >>> from neonatal_stats.estimates import compare_counts
    >>> found = compare_counts(13, 2176, 5, 3354, level=0.95)  # cats on dry food (Willeberg 1977)
    >>> round(found.estimate, 2), round(found.low, 2), round(found.high, 2)
    (4.01, 1.43, 11.23)
    """
    return _estimate(independent(a, n1, c, n0), measure, level)


def _estimate(table: TwoByTwo, measure: str, level: float) -> Estimate:
    """The single table as an Estimate, with the sentence for what could not be done."""
    one_of(measure, MEASURES, "measure")
    share(level)
    thin, p = bool(_sparse(table)[0]), float(p_values(table)[0])
    difference = measure == "risk_difference"
    limits = difference_limits(table, level) if difference else ratio_limits(table, measure, level)
    value, low, high = (float(x[0]) for x in limits)
    whole = all(cell[0] == np.floor(cell[0]) for cell in (table.a, table.n1, table.c, table.n0))
    if measure == "odds_ratio" and thin and whole and not table.clustered and np.isfinite(low):
        exact = conditional_odds_ratio(
            int(table.a[0]), int(table.n1[0]), int(table.c[0]), int(table.n0[0]), level=level
        )
        low, high = exact.low, exact.high
    return Estimate(
        value, low, high, p, _method(measure, thin, table.clustered), _note(table, measure, value)
    )


def _method(measure: str, thin: bool, clustered: bool) -> str:
    few = "odds ratio, score limits, mid-P" if clustered else "odds ratio, mid-P (exact conditional)"
    names = {
        "risk_difference": ("risk difference, Newcombe hybrid score", "risk difference, Newcombe, mid-P"),
        "risk_ratio": ("risk ratio, log scale", "risk ratio, score limits, mid-P"),
        "odds_ratio": ("odds ratio, log scale", few),
    }
    return names[measure][thin] + (", clustered" if clustered else "")


def _note(table: TwoByTwo, measure: str, value: float) -> str:
    a, n1, c, n0 = (float(cell[0]) for cell in (table.a, table.n1, table.c, table.n0))
    if n1 == 0 or n0 == 0:
        return f"cannot be estimated: no newborns in the {'first' if n1 == 0 else 'comparison'} group"
    if measure == "risk_difference":
        return ""
    if a + c == 0:
        return "cannot be estimated: no events in either group"
    if measure == "odds_ratio" and a + c == n1 + n0:
        return "cannot be estimated: every newborn in both groups had the event"
    if np.isnan(value):
        why = (
            "no events in the comparison group"
            if c == 0
            else "every newborn in the first group had the event"
        )
        return f"cannot be estimated: {why}; only a lower limit can be given"
    return "only an upper limit can be given: no events in the first group" if value == 0 else ""


def _sparse(table: TwoByTwo) -> NDArray[np.bool_]:
    """Tables too thin for large-sample limits: an expected count under five, or an empty cell."""
    empty = (table.a == 0) | (table.c == 0) | (table.a == table.n1) | (table.c == table.n0)
    return np.asarray(empty | ~(table.least_expected >= FEWEST_EXPECTED))


def p_values(table: TwoByTwo) -> Floats:
    """Score test; in sparse tables mid-P, or the score test where litters make that the larger.

    With few clusters not below the p of the difference over its error summed over them.
    """
    alone = ratio(table.p1 * (1 - table.p1), table.n1) + ratio(table.p0 * (1 - table.p0), table.n0)
    z = ratio(table.p1 - table.p0, np.sqrt(alone))
    p = np.asarray(np.fmax(two_sided(table.z), table.few_clusters.p(z, table.few_effect)))
    cells = (table.a, table.n1, table.c, table.n0)
    whole = np.all([cell == np.floor(cell) for cell in cells], axis=0)
    thin = _sparse(table) & np.isfinite(p) & whole
    if thin.any():
        few = mid_p(*(cell[thin] for cell in cells))
        p[thin] = np.maximum(few, p[thin]) if table.clustered else few
    return p


def difference_limits(table: TwoByTwo, level: float) -> Limits:
    """Risk difference: Newcombe's hybrid of two clustered Wilson intervals, with their correlation."""
    *effects, few = table.effects_at(level)
    limits = []
    for (p, n, _, clusters), effect in zip(table.sides, effects, strict=True):
        df = np.where(few, np.inf, degrees_of_freedom(ratio(n, clusters), clusters))
        limits.append((p, *wilson_limits(p, ratio(n, effect), critical(level, df))))
    (p1, low1, high1), (p0, low0, high0) = limits
    down1, up1, down0, up0 = p1 - low1, high1 - p1, p0 - low0, high0 - p0
    shared = 2 * np.where(few, 0.0, table.correlation)
    below = np.sqrt(down1**2 + up0**2 - shared * down1 * up0)
    above = np.sqrt(up1**2 + down0**2 - shared * up1 * down0)
    return p1 - p0, p1 - p0 - below, p1 - p0 + above


def ratio_limits(table: TwoByTwo, measure: str, level: float) -> Limits:
    """Risk ratio or odds ratio: logarithms with clustered variances, or score limits in sparse tables."""
    if measure == "odds_ratio":
        estimate = ratio(table.a * (table.n0 - table.c), table.c * (table.n1 - table.a))
    else:
        estimate = ratio(table.p1, table.p0)
    variance, df = _log_variance(table, measure, level)
    factor = np.exp(critical(level, df) * np.sqrt(variance))
    low, high = ratio(estimate, factor), estimate * factor
    thin = _sparse(table)
    if thin.any():
        low[thin], high[thin] = _few(table, thin, measure, level)
    return estimate, low, high


def _log_variance(table: TwoByTwo, measure: str, level: float) -> tuple[Floats, Floats]:
    """Clustered variance of the log ratio and its degrees of freedom; NaN where a cell is empty."""
    variances, uncertain = [], np.zeros(table.a.shape)
    *effects, few = table.effects_at(level)
    for (p, n, _, clusters), effect in zip(table.sides, effects, strict=True):
        odds = 1 - p if measure == "odds_ratio" else np.ones(p.shape)
        binomial = ratio(1 - p, p * n * odds**2)
        variances.append(binomial * effect)
        known = degrees_of_freedom(ratio(n, clusters), clusters)
        uncertain += np.nan_to_num(ratio(variances[-1] ** 2, known))
    first, second = variances
    df = ratio((first + second) ** 2, uncertain)
    variance = first + second - 2 * np.where(few, 0.0, table.correlation) * np.sqrt(first * second)
    return np.maximum(variance, 0), np.where(np.isfinite(df) & ~few, df, np.inf)


def _few(table: TwoByTwo, thin: NDArray[np.bool_], measure: str, level: float) -> tuple[Floats, Floats]:
    """Score limits of the sparse tables at their effective counts."""
    effect1, effect0, _ = table.effects_at(level)
    sides = ((table.a, table.n1, effect1), (table.c, table.n0, effect0))
    x1, n1, x0, n0 = (ratio(cell, effect)[thin] for *cells, effect in sides for cell in cells)
    return _score_limits((x1, n1, x0, n0), float(critical(level)), measure)


def _score_limits(table: Table, quantile: float, measure: str) -> tuple[Floats, Floats]:
    """Score limits of the ratio for tables (x1, n1, x0, n0), which may hold effective, broken numbers.

    They hold for small numbers and for empty cells. The low limit is 0 when the first group has no event (or, for
    odds, the second has nothing else); the high limit is NaN where the ratio has no upper bound. Both are NaN when
    neither group has an event. Koopman PAR (1984) Biometrics 40:513-517; Miettinen O, Nurminen M (1985) Stat Med
    4:213-226 (without its n / (n - 1)); Cornfield J (1956) for the odds ratio.
    """
    x1, n1, x0, n0 = (np.asarray(cell, dtype=np.float64) for cell in table)
    odds = measure == "odds_ratio"
    known = (n1 > 0) & (n0 > 0) & (x1 + x0 > 0) & ~(odds & (x1 + x0 >= n1 + n0))
    safe = tuple(np.where(known, cell, fill) for cell, fill in ((x1, 1), (n1, 2), (x0, 1), (n0, 2)))
    inside: Table = (safe[0], safe[1], safe[2], safe[3])
    statistic = _odds_ratio if odds else _risk_ratio
    low = _crossing(statistic, inside, quantile)
    high = _crossing(statistic, inside, -quantile)
    low = np.where((x1 == 0) | (odds & (x0 >= n0)), 0.0, low)
    high = np.where((x0 == 0) | (odds & (x1 >= n1)), np.nan, high)
    return np.where(known, low, np.nan), np.where(known, high, np.nan)


def _crossing(statistic: Statistic, table: Table, at: float) -> Floats:
    """The ratio at which a falling statistic crosses ``at``."""
    x1, n1, x0, n0 = (cell[..., None] for cell in table)

    def crossed(log_ratio: Floats) -> NDArray[np.bool_]:
        return np.asarray(statistic(np.exp(log_ratio), (x1, n1, x0, n0)) <= at)

    shape = table[0].shape
    turn = turning_point(crossed, np.full(shape, -25.0), np.full(shape, 25.0))
    return np.asarray(np.exp(turn), dtype=np.float64)


def _risk_ratio(theta: Floats, table: Table) -> Floats:
    """Distance of the data from risk ratio ``theta``, in standard errors under it."""
    x1, n1, x0, n0 = table
    a = (n1 + n0) * theta
    b = -(n1 * theta + x1 + n0 + x0 * theta)
    events = x1 + x0
    p0 = np.minimum(2 * events / (-b + np.sqrt(np.maximum(b * b - 4 * a * events, 0))), 1.0)
    p1 = np.minimum(theta * p0, 1.0)
    variance = p1 * (1 - p1) / n1 + theta**2 * p0 * (1 - p0) / n0
    distance = (x1 / n1 - theta * x0 / n0) / np.maximum(np.sqrt(variance), 1e-150)
    return np.asarray(distance, dtype=np.float64)


def _odds_ratio(theta: Floats, table: Table) -> Floats:
    """Distance of the data from odds ratio ``theta``, in standard errors under it."""
    x1, n1, x0, n0 = table
    events = x1 + x0
    b = n1 * theta + n0 - events * (theta - 1)
    p0 = 2 * events / (b + np.sqrt(np.maximum(b * b + 4 * n0 * (theta - 1) * events, 0)))
    p0 = np.clip(p0, 1e-150, 1.0)
    p1 = np.clip(p0 * theta / (1 - p0 + p0 * theta), 1e-150, 1.0)
    information = ratio(1, n1 * p1 * (1 - p1)) + ratio(1, n0 * p0 * (1 - p0))
    return np.asarray((x1 - n1 * p1) * np.sqrt(information), dtype=np.float64)
