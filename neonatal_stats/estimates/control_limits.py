"""Farms side by side, seasons in a row, dams again: which lie further out than their numbers allow?"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates.arguments import Floats, Integers, codes, no_repeats, same_length, share
from neonatal_stats.estimates.clusters import alike, cluster_rows, event_rows, over, totals
from neonatal_stats.estimates.proportion import checked_counts
from neonatal_stats.estimates.results import critical, ratio, two_sided

D2 = 1.128  # mean range of two standard normal values (Shewhart); 2 / sqrt(pi)


@dataclass(frozen=True, eq=False)
class Funnel:
    """Farms (F,) against limits around the common risk.

    ``share`` is each farm's risk standardised for mix: observed over expected, times ``centre``; ``low`` and
    ``high`` are the limits at its size; ``z`` its distance in standard errors after overdispersion ``phi``
    (1 when farms spread no more than chance); ``outside`` the farms beyond the limits.
    """

    share: Floats
    low: Floats
    high: Floats
    z: Floats
    outside: NDArray[np.bool_]
    centre: float
    phi: float
    method: str


@dataclass(frozen=True, eq=False)
class ControlChart:
    """Shares of T seasons with a centre line and limits, and which seasons lie outside them.

    ``p`` is two-sided, of each season's distance from the centre.
    ``sigma_z`` is how many times more the seasons swing than chance would (1 without Laney's correction).
    """

    share: Floats
    low: Floats
    high: Floats
    centre: float
    sigma_z: float
    outside: NDArray[np.bool_]
    method: str
    p: Floats


def funnel(
    events: ArrayLike,
    n: ArrayLike,
    expected: ArrayLike | None = None,
    *,
    level: float,
    design_effect: ArrayLike = 1.0,
    winsorise: float = 0.1,
) -> Funnel:
    """Funnel-plot limits for farms, standardised for mix, with overdispersion.

    Parameters
    ----------
    events, n : (F,) deaths and newborns of each farm.
    expected : (F,) deaths the common risk of each stratum would have given (see `expected_events`); without it the
        common risk is the same for all.
    level : 0.95 and 0.998 are usual.
    design_effect : (F,) of each farm's share, from its litters (`proportions`); 1 for independent newborns.
    winsorise : share of farms at each end whose distance is drawn in before overdispersion is measured, so that the
        very farms looked for do not hide themselves.

    Method
    ------
    z = (risk - centre) / standard error at the centre, at newborns over the design effect; phi = mean of winsorised z
    squared, used when it is above 1; limits centre -/+ z-quantile x sqrt(phi) x standard error.

    Limits
    ------
    Rank nothing from it: within the limits farms are not told apart. Fewer than about ten farms say little of phi.

    References
    ----------
    Spiegelhalter DJ (2005) Funnel plots for comparing institutional performance. Stat Med 24:1185-1202.

    Examples
    --------
    >>> from neonatal_stats.estimates import funnel
    >>> found = funnel([10, 20, 30], [100, 200, 300], level=0.95)
    >>> round(float(found.low[0]), 3), round(float(found.high[0]), 3)  # 0.1 -/+ 1.96 x 0.03
    (0.041, 0.159)
    """
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    if not 0 <= winsorise < 0.5:
        raise ValueError(f"winsorise: must lie from 0 to below 0.5; found {winsorise} at position 0")
    share(level)
    centre = float(x.sum() / size.sum()) if size.sum() else float("nan")
    due = size * centre if expected is None else checked_counts(expected, size)[0]
    risk = ratio(x, due) * centre
    own = ratio(due, size)
    effect = np.broadcast_to(np.asarray(design_effect, dtype=np.float64), x.shape)
    error = ratio(np.sqrt(effect * size * own * (1 - own)), due) * centre
    z = ratio(risk - centre, error)
    known = np.isfinite(z)
    phi = _overdispersion(z[known], winsorise) if known.sum() > 1 else 1.0
    half = float(critical(level)) * np.sqrt(phi) * error
    low, high = np.clip(centre - half, 0, 1), np.clip(centre + half, 0, 1)
    outside = (risk < low) | (risk > high)
    return Funnel(risk, low, high, z / np.sqrt(phi), outside, centre, phi, "funnel, Spiegelhalter limits")


def p_chart(events: ArrayLike, n: ArrayLike, *, laney: bool = True, widths: float = 3.0) -> ControlChart:
    """p-chart over seasons (T,), in order, with Laney's limits for overdispersion.

    ``laney`` widens the limits by the moving range of the standardised shares; without it they are binomial. ``widths``
    is their half-width in standard deviations.

    Method
    ------
    sigma_z is the mean absolute difference of neighbouring z-values over 1.128; it is never taken below 1, so
    that seasons that happen to agree do not narrow the limits.

    Limits
    ------
    With fewer than about eight seasons sigma_z is itself a guess.

    References
    ----------
    Laney DB (2002) Improved control charts for attributes. Qual Eng 14:531-537.

    Examples
    --------
    >>> from neonatal_stats.estimates import p_chart
    >>> round(p_chart([10, 20, 10], [100, 100, 100]).sigma_z, 3)  # z -0.981, 1.961, -0.981: moving range 2.942
    2.608
    """
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    p = ratio(x, size)
    total = size.sum()
    centre = float(x.sum() / total) if total else float("nan")
    error = np.sqrt(ratio(centre * (1 - centre), size))
    z = ratio(p - centre, error)
    z = z[np.isfinite(z)]
    sigma = float(np.abs(np.diff(z)).mean() / D2) if laney and len(z) > 1 else 1.0
    sigma = max(sigma, 1.0)
    low = np.clip(centre - widths * sigma * error, 0, 1)
    high = np.clip(centre + widths * sigma * error, 0, 1)
    outside = (p < low) | (p > high)
    method = "p-chart, Laney limits" if laney else "p-chart"
    chance = np.asarray(two_sided(ratio(p - centre, sigma * error)), float)
    return ControlChart(p, low, high, centre, sigma, outside, method, chance)


def _overdispersion(z: Floats, part: float) -> float:
    """Mean square of z after drawing in both ends; never below 1."""
    low, high = np.quantile(z, [part, 1 - part])
    return max(1.0, float((np.clip(z, low, high) ** 2).mean()))


@dataclass(frozen=True, eq=False)
class RepeatLosers:
    """Dams that lost newborns in more than one season beside what chance alone would give.

    ``observed`` such dams; ``expected`` by chance, with ``low`` and ``high`` holding ``level`` of what
    chance gives; ``p`` the chance of as many or more; ``dams`` seen in two seasons or more (only they can repeat).
    """

    observed: int
    expected: float
    low: float
    high: float
    p: float
    dams: int
    note: str


def intraclass_correlation(
    event: ArrayLike, cluster: ArrayLike, *, repeats: ArrayLike | None = None
) -> float:
    """Analysis-of-variance intraclass correlation of a 0-1 outcome within clusters.

    From below 0 (littermates differ more than chance) to 1; NaN with fewer than two clusters, without a
    cluster of two, or when all outcomes are the same. Lamb deaths in 75 herds (Lancelot et al. 1998): 0.1042.
    Ridout MS, Demetrio CGB, Firth D (1999) Biometrics 55:137-148.
    """
    y, w = event_rows(event, None)
    members = cluster_rows(cluster, len(y))
    assert members is not None
    labels, distinct = members
    each = alike(repeats, members)
    size, deaths = totals(labels, w, distinct), totals(labels, y, distinct)
    n, clusters = over(size, each), over(np.ones(distinct), each)
    if clusters < 2 or n == clusters or over(deaths, each) in (0, n):
        return float("nan")
    p = over(deaths, each) / n
    between = over(size * (deaths / size - p) ** 2, each) / (clusters - 1)
    within = over(deaths - deaths**2 / size, each) / (n - clusters)
    typical = (n - over(size**2, each) / n) / (clusters - 1)
    return (between - within) / (between + (typical - 1) * within)


def repeat_losers(
    event: ArrayLike,
    dam: ArrayLike,
    season: ArrayLike,
    *,
    level: float,
    stratum: ArrayLike | None = None,
    shuffles: int = 2000,
    rng: np.random.Generator | int = 20260,
    repeats: ArrayLike | None = None,
) -> RepeatLosers:
    """Dams that lost newborns in two seasons or more, and how many there would be by chance.

    Parameters
    ----------
    dam, season : whole numbers (n,).
    stratum : litter size, say: losses are dealt within season and stratum (the first newborn's of each litter).
    shuffles : how often losing litters are dealt anew for ``low``, ``high`` and ``p``, which enclose ``level`` of them.
    rng : random number generator or its number, fixed so that a review can be run again.

    Method
    ------
    A dam's litter in a season is lost from or not. Given how many litters lost in each season (and stratum),
    each litter is as likely as another; a dam's chance of two or more is then Poisson-binomial, exact for
    ``expected`` without strata.

    Limits
    ------
    Dams that lost are often culled and cannot repeat, so chance is overstated and repeats understated.

    Examples
    --------
    Two seasons, 10 dams, 2 lose in each: expected 10 x 0.2 x 0.2.

    >>> from neonatal_stats.estimates import repeat_losers
    >>> lost, dam, season = [1, 1] + [0] * 8 + [1] + [0] * 8 + [1], list(range(10)) * 2, [0] * 10 + [1] * 10
    >>> found = repeat_losers(lost, dam, season, level=0.95)
    >>> found.observed, round(found.expected, 9)
    (1, 0.4)
    """
    no_repeats(repeats, "the litters of a dam are dealt anew, each by itself")
    y, _ = event_rows(event, None)
    who, when = codes(dam, "dam"), codes(season, "season")
    same_length(event=y, dam=who, season=when)
    kind = np.zeros(len(y), dtype=np.int64) if stratum is None else codes(stratum, "stratum")
    same_length(event=y, stratum=kind)
    lost, who, cell = _litters(y, who, when, kind)
    dams = int((np.bincount(who) > 1).sum()) if len(who) else 0
    if dams == 0:
        return RepeatLosers(
            0, np.nan, np.nan, np.nan, np.nan, 0, "cannot be estimated: no dam seen in two seasons"
        )
    observed = int((np.bincount(who, weights=lost) > 1).sum())
    expected = _expected(who, cell, lost)
    generator = np.random.default_rng(rng)
    order = np.argsort(cell, kind="stable")
    losing, who, bounds = np.flatnonzero(lost[order]), who[order], np.cumsum([0, *np.bincount(cell)])
    drawn = np.array([_deal(losing, who, bounds, generator) for _ in range(shuffles)])
    p = (1 + int((drawn >= observed).sum())) / (1 + shuffles)
    tail = (1 - share(level)) / 2
    low, high = (float(x) for x in np.quantile(drawn, [tail, 1 - tail]))
    return RepeatLosers(observed, expected, low, high, p, dams, "")


def _litters(y: Floats, who: Integers, when: Integers, kind: Integers) -> tuple[Floats, Integers, Integers]:
    """One row a litter: lost from (0 or 1), dam, and the cell of season and stratum."""
    _, dam = np.unique(who, return_inverse=True)
    _, season = np.unique(when, return_inverse=True)
    seasons = int(season.max()) + 1 if len(season) else 1
    _, first, litter = np.unique(dam * seasons + season, return_index=True, return_inverse=True)
    lost = (np.bincount(litter, weights=y) > 0).astype(np.float64)
    _, cell = np.unique(season[first] * (int(kind.max(initial=0)) + 1) + kind[first], return_inverse=True)
    return lost, dam[first].astype(np.int64), cell.astype(np.int64)


def _expected(who: Integers, cell: Integers, lost: Floats) -> float:
    """Sum over dams of the Poisson-binomial chance of losing from two litters or more."""
    risk = (np.bincount(cell, weights=lost) / np.bincount(cell))[cell]
    order = np.argsort(who, kind="stable")
    risk, who = risk[order], who[order]
    none, one = np.ones(int(who.max()) + 1), np.zeros(int(who.max()) + 1)
    turn = np.arange(len(who)) - np.searchsorted(who, who)
    for k in range(int(turn.max()) + 1):
        rows = turn == k
        dam, r = who[rows], risk[rows]
        one[dam] = one[dam] * (1 - r) + none[dam] * r
        none[dam] *= 1 - r
    return float((1 - none - one).sum())


def _deal(losing: Integers, who: Integers, bounds: Integers, rng: np.random.Generator) -> int:
    """Deal the losing rows at random within cells (rows between bounds) and count dams dealt two or more."""
    drawn = rng.random(len(who))
    order = np.concatenate([start + np.argsort(drawn[start:end]) for start, end in pairwise(bounds)])
    return int((np.bincount(who[order[losing]]) > 1).sum())
