"""Two groups compared within strata (birth type, parity), so that a different mix is not an effect."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates.arguments import Floats, Integers, codes, one_of, same_length
from neonatal_stats.estimates.clusters import (
    FewClusters,
    alike,
    are_few,
    by_cluster_and_group,
    cluster_rows,
    correction,
    event_rows,
    few_groups,
    over,
    stood_for,
    totals,
    unfolded,
)
from neonatal_stats.estimates.results import (
    Estimate,
    Test,
    chi_square_p,
    critical,
    ratio,
    turning_point,
    two_sided,
)

MEASURES = ("risk_ratio", "risk_difference", "odds_ratio")
NAMES = {"risk_ratio": "risk ratio", "risk_difference": "risk difference", "odds_ratio": "odds ratio"}


def mantel_haenszel(
    event: ArrayLike,
    exposed: ArrayLike,
    stratum: ArrayLike,
    *,
    level: float,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    measure: str = "odds_ratio",
    homogeneity: str = "breslow-day",
    score_limits: bool = True,
) -> tuple[Estimate, Test]:
    """Mantel-Haenszel summary of the exposed against the others over strata, and whether the strata agree.

    Parameters
    ----------
    measure : {"risk_ratio", "risk_difference", "odds_ratio"}
    homogeneity : {"breslow-day", "tarone", "woolf"}; risk ratios and differences take Woolf's weighted squares.
    score_limits : limits of the risk difference where its score equals the quantile, instead of estimate -/+ error:
        they hold with few newborns in a group (Greenland & Robins's cover 93 % where each stratum has few).

    Returns
    -------
    (Estimate, Test) : the summary, whose p is the Mantel-Haenszel chi-square without continuity correction, and the
        test of homogeneity, over strata in which it can be told.

    Counted
    -------
    Strata with newborns in both groups; the note says how many others there were.

    Method
    ------
    Variance: risk ratio and difference by Greenland & Robins (1985), odds ratio by Robins, Breslow & Greenland (1986).
    With clusters the ratio of the clustered to the independent variance of the Mantel-Haenszel estimating equation at
    the summary found is the design effect (never below 1) of interval and tests.

    Limits
    ------
    A summary hides strata that differ: read the homogeneity test first.

    References
    ----------
    Mantel N, Haenszel W (1959) J Natl Cancer Inst 22:719-748; Greenland S, Robins JM (1985) Biometrics
    41:55-68; Robins J, Breslow N, Greenland S (1986) Biometrics 42:311-323; Tarone RE (1985) Biometrika
    72:91-95. Liang K-Y (1985) Biometrika 72:678-682 and Binder DA (1983) Int Stat Rev 51:279-292 (clusters).

    Examples
    --------
    Low birth weight and smoking in three strata of race (MASS birthwt), a weighted row an outcome:

    >>> from neonatal_stats.estimates import mantel_haenszel
    >>> low, smoked, race = [1, 0, 1, 0] * 3, [1, 1, 0, 0] * 3, [0] * 4 + [1] * 4 + [2] * 4
    >>> births = [19, 33, 4, 40, 6, 4, 5, 11, 5, 7, 20, 35]
    >>> found, homogeneity = mantel_haenszel(low, smoked, race, weight=births, level=0.95)
    >>> round(found.estimate, 2), round(found.low, 2), round(found.high, 2)
    (3.09, 1.49, 6.39)
    """
    one_of(measure, MEASURES, "measure")
    y, w = event_rows(event, weight)
    x, k = codes(exposed, "exposed", below=2), codes(stratum, "stratum")
    same_length(event=y, exposed=x, stratum=k)
    members = cluster_rows(cluster, len(y))
    rows, members, each = unfolded(members, alike(repeats, members), w)
    y, w, x, k = y[rows], w[rows], x[rows], k[rows]
    whole = w if members is None else stood_for(w, members[0], each)
    cells = _cells(y, whole, x, k)
    strata, note = _usable(cells)
    value, spread = _SUMMARIES[measure](strata)
    members = members if np.isfinite(value) else None
    score = _score(strata) if len(strata.a) else float("nan")
    p, effect, wide = float(two_sided(score)), 1.0, 1.0
    if members is not None:
        seen = _design_effect(_residuals(y, x, k, cells, measure, value), w, *members, each)
        few = None if each is not None else _few_clusters(y, w, x, k, cells, *members)
        p, effect, wide = _over_clusters(score, seen, few, level)
    wider = np.sqrt(wide)
    method = f"Mantel-Haenszel {NAMES[measure]}"
    by_score = score_limits and measure == "risk_difference" and np.isfinite(value)
    if by_score:
        low, high = _difference_by_score(strata, value, float(critical(level)) * wider)
        estimate = Estimate(value, low, high, p, method + ", score limits", note)
    else:
        estimate = _summary(value, spread * wider, p, measure, method, note, level)
    if members is not None:
        estimate = replace(estimate, method=estimate.method + ", clustered")
    return estimate, _homogeneity(strata, measure, value, effect, homogeneity)


def _over_clusters(
    score: float, seen: float, few: FewClusters | None, level: float
) -> tuple[float, float, float]:
    """p of a score over clusters, the design effect of tests and that of limits, from the one ``seen``.

    Where clusters are few (``few``) its own uncertainty widens the limits further than the test.
    """
    if few is None:
        effect = max(1.0, seen)
        return float(two_sided(score / np.sqrt(effect))), effect, effect
    return float(few.p(score, seen)), max(1.0, seen * float(few.factor)), float(few.effect(seen, level))


@dataclass(frozen=True, eq=False)
class _Strata:
    """a events of n1 exposed and c of n0 others in each stratum; strata with one group only are left out."""

    a: Floats
    n1: Floats
    c: Floats
    n0: Floats

    @property
    def n(self) -> Floats:
        """Newborns of each stratum."""
        return self.n1 + self.n0


def _cells(y: Floats, w: Floats, x: Integers, k: Integers) -> _Strata:
    strata = int(k.max()) + 1 if len(k) else 0
    n0, n1 = totals(2 * k + x, w, 2 * strata).reshape(strata, 2).T
    c, a = totals(2 * k + x, w * y, 2 * strata).reshape(strata, 2).T
    return _Strata(a, n1, c, n0)


def _usable(cells: _Strata) -> tuple[_Strata, str]:
    """Strata that hold both groups, and a sentence that counts the others."""
    both = (cells.n1 > 0) & (cells.n0 > 0)
    some = cells.n > 0
    left = int((~both & some).sum())
    note = f"{left} of {len(both)} strata hold one group only and say nothing" if left else ""
    return _Strata(cells.a[both], cells.n1[both], cells.c[both], cells.n0[both]), note


def _design_effect(
    residual: Floats, w: Floats, labels: Integers, clusters: int, repeats: Floats | None
) -> float:
    """Clustered over independent variance of the estimating equation."""
    whole = stood_for(w, labels, repeats)
    alone = float((whole * residual**2).sum())
    if not alone > 0:
        return 1.0
    together = over(totals(labels, w * residual, clusters) ** 2, repeats)
    return float(correction(over(np.ones(clusters), repeats), whole.sum())) * together / alone


def _few_clusters(
    y: Floats, w: Floats, x: Integers, k: Integers, cells: _Strata, labels: Integers, clusters: int
) -> FewClusters | None:
    """The correction where clusters are few, exposed and others pooled over the strata that hold both."""
    used = ((cells.n1 > 0) & (cells.n0 > 0))[k]
    sizes = by_cluster_and_group(labels[used], x[used], w[used], 2)
    if not are_few((sizes.sum(axis=1) > 0).sum(), sizes.sum()):
        return None
    found = few_groups(sizes, float((w * y)[used].sum() / w[used].sum()), [1.0, -1.0])
    return FewClusters(found.factor / correction(clusters, w.sum()), found.df)


def _residuals(y: Floats, x: Integers, k: Integers, s: _Strata, measure: str, value: float) -> Floats:
    """Each newborn's part of the estimating equation, with expectations under the common summary."""
    n = np.maximum(s.n, 1)
    events = s.a + s.c
    if measure == "odds_ratio":
        expected1 = _expected_under(_Strata(s.a, s.n1, s.c, np.where(s.n > 0, s.n0, 1)), value)
        p1, p0 = expected1 / np.maximum(s.n1, 1), (events - expected1) / np.maximum(s.n0, 1)
        tilt1, tilt0 = 1 - p0 + p0 * value, p1 + value * (1 - p1)
    elif measure == "risk_ratio":
        p0 = events / np.maximum(s.n1 * value + s.n0, 1e-300)
        p1, tilt1, tilt0 = value * p0, np.ones(len(n)), np.full(len(n), value)
    else:
        p0 = (events - s.n1 * value) / n
        p1, tilt1, tilt0 = p0 + value, np.ones(len(n)), np.ones(len(n))
    pull1, pull0 = s.n0 / n * tilt1, s.n1 / n * tilt0
    both, cell = (s.n1 > 0) & (s.n0 > 0), 2 * k + x
    pull, p = (
        np.where(both[:, None], np.stack(sides, axis=1), 0.0).ravel()[cell]
        for sides in ((-pull0, pull1), (p0, p1))
    )
    return np.asarray(pull * (y - p), dtype=np.float64)


def _summary(
    value: float, spread: float, p: float, measure: str, method: str, note: str, level: float
) -> Estimate:
    """Limits on the log scale for ratios, on the plain scale for a difference."""
    half = float(critical(level)) * spread
    if not np.isfinite(value) or not np.isfinite(spread):
        why = "cannot be estimated: no events in one group within the strata that hold both"
        return Estimate(value if np.isfinite(value) else np.nan, np.nan, np.nan, p, method, note or why)
    if measure == "risk_difference":
        return Estimate(value, value - half, value + half, p, method, note)
    return Estimate(value, float(value * np.exp(-half)), float(value * np.exp(half)), p, method, note)


def _score(s: _Strata) -> float:
    """Mantel-Haenszel score statistic over its hypergeometric standard error."""
    events = s.a + s.c
    variance = ratio(s.n1 * s.n0 * events * (s.n - events), s.n**2 * (s.n - 1))
    return float(ratio((s.a - s.n1 * events / s.n).sum(), np.sqrt(np.nansum(variance))))


def _risk_ratio(s: _Strata) -> tuple[float, float]:
    top, bottom = (s.a * s.n0 / s.n).sum(), (s.c * s.n1 / s.n).sum()
    square = ((s.n1 * s.n0 * (s.a + s.c) - s.a * s.c * s.n) / s.n**2).sum()
    return float(ratio(top, bottom)), float(np.sqrt(ratio(square, top * bottom)))


def _risk_difference(s: _Strata) -> tuple[float, float]:
    weight = s.n1 * s.n0 / s.n
    value = ratio((weight * (s.a / s.n1 - s.c / s.n0)).sum(), weight.sum())
    b, d = s.n1 - s.a, s.n0 - s.c
    square = ((s.a * b * s.n0**3 + s.c * d * s.n1**3) / (s.n1 * s.n0 * s.n**2)).sum()
    return float(value), float(ratio(np.sqrt(square), weight.sum()))


def _difference_by_score(s: _Strata, value: float, quantile: float) -> tuple[float, float]:
    """Where the summary lies ``quantile`` standard errors away, risks held to the difference tried."""
    weight = s.n1 * s.n0 / s.n
    unit, events = (weight / weight.sum()) ** 2, s.a + s.c

    def outside(difference: Floats) -> NDArray[np.bool_]:
        tried = difference[..., None]
        p0 = np.clip((events - s.n1 * tried) / s.n, 0, 1)
        p1 = np.clip(p0 + tried, 0, 1)
        variance = (unit * (p1 * (1 - p1) / s.n1 + p0 * (1 - p0) / s.n0)).sum(axis=-1)
        return np.asarray(np.abs(value - difference) > quantile * np.sqrt(variance))

    low, high = turning_point(outside, np.full(2, value), np.array([-1.0, 1.0]))
    return float(low), float(high)


def _odds_ratio(s: _Strata) -> tuple[float, float]:
    b, d = s.n1 - s.a, s.n0 - s.c
    r, t, p, q = s.a * d / s.n, b * s.c / s.n, (s.a + d) / s.n, (b + s.c) / s.n
    up, down = r.sum(), t.sum()
    square = (
        ratio((p * r).sum(), 2 * up**2)
        + ratio((p * t + q * r).sum(), 2 * up * down)
        + ratio((q * t).sum(), 2 * down**2)
    )
    return float(ratio(up, down)), float(np.sqrt(square))


_SUMMARIES = {"risk_ratio": _risk_ratio, "risk_difference": _risk_difference, "odds_ratio": _odds_ratio}


def _homogeneity(s: _Strata, measure: str, value: float, design_effect: float, kind: str) -> Test:
    one_of(kind, ("breslow-day", "tarone", "woolf"), "homogeneity")
    if measure == "odds_ratio" and kind != "woolf":
        return _breslow_day(s, value, design_effect, kind)
    own, square = _each(s, measure)
    used = np.isfinite(own) & np.isfinite(square) & (square > 0)
    weight = ratio(1, square[used] * design_effect)
    centre = ratio((weight * own[used]).sum(), weight.sum())
    statistic, df = float((weight * (own[used] - centre) ** 2).sum()), max(int(used.sum()) - 1, 0)
    note = _left_out(int(used.sum()), len(s.a))
    return Test(statistic, df, chi_square_p(statistic, df), f"homogeneity of {NAMES[measure]}s, Woolf", note)


def _each(s: _Strata, measure: str) -> tuple[Floats, Floats]:
    """Contrast of each stratum (log for ratios) and its variance; NaN where a cell is empty."""
    b, d = s.n1 - s.a, s.n0 - s.c
    if measure == "risk_difference":
        return s.a / s.n1 - s.c / s.n0, s.a * b / s.n1**3 + s.c * d / s.n0**3
    quotient = ratio(s.a * s.n0, s.c * s.n1) if measure == "risk_ratio" else ratio(s.a * d, b * s.c)
    inverse = ratio(1, s.a) + ratio(1, s.c)
    last = -1 / s.n1 - 1 / s.n0 if measure == "risk_ratio" else ratio(1, b) + ratio(1, d)
    return np.log(np.where(quotient > 0, quotient, np.nan)), inverse + last


def _left_out(used: int, strata: int) -> str:
    return f"{strata - used} strata without events in a group were left out" if used < strata else ""


def _expected_under(s: _Strata, odds: float) -> Floats:
    """Events of the exposed given the margins, were the odds ratio the same in each stratum."""
    events = s.a + s.c
    if abs(odds - 1) < 1e-12:
        return s.n1 * events / s.n
    b = odds * (s.n1 + events) + s.n0 - events
    root = np.sqrt(b * b - 4 * odds * (odds - 1) * s.n1 * events)
    return np.asarray((b - root) / (2 * (odds - 1)), dtype=np.float64)


def _breslow_day(s: _Strata, odds: float, design_effect: float, kind: str) -> Test:
    """Breslow & Day (1980), with Tarone's correction if asked."""
    name = "homogeneity of odds ratios, Breslow-Day" + (
        " with Tarone's correction" if kind == "tarone" else ""
    )
    events = s.a + s.c
    used = (events > 0) & (events < s.n)
    df = max(int(used.sum()) - 1, 0)
    if not np.isfinite(odds) or odds <= 0 or df == 0:
        return Test(np.nan, df, np.nan, name, "cannot be tested")
    part = _Strata(*(cell[used] for cell in (s.a, s.n1, s.c, s.n0)))
    fit, events = _expected_under(part, odds), events[used]
    weight = 1 / fit + 1 / (part.n1 - fit) + 1 / (events - fit) + 1 / (part.n0 - events + fit)
    gap = part.a - fit
    excess = gap.sum() ** 2 / (1 / weight).sum() if kind == "tarone" else 0.0
    statistic = float((gap**2 * weight).sum() - excess) / design_effect
    return Test(statistic, df, chi_square_p(statistic, df), name, _left_out(int(used.sum()), len(s.a)))
