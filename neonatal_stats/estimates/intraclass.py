"""How alike are littermates, and do the same dams lose newborns season after season?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, Integers, codes, same_length, share
from neonatal_stats.estimates.clusters import cluster_rows, event_rows, totals


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


def intraclass_correlation(event: ArrayLike, cluster: ArrayLike) -> float:
    """Analysis-of-variance intraclass correlation of a 0-1 outcome within clusters.

    Returns
    -------
    float
        From below 0 (littermates differ more than chance) to 1; NaN with fewer than two clusters, without a
        cluster of two, or when all outcomes are the same.

    References
    ----------
    Ridout MS, Demetrio CGB, Firth D (1999) Biometrics 55:137-148 (the analysis-of-variance estimator).

    Examples
    --------
    Lamb deaths in 75 herds (Lancelot et al. 1998): 0.1042.
    """
    y, w = event_rows(event, None)
    members = cluster_rows(cluster, len(y))
    assert members is not None
    labels, clusters = members
    size, deaths = totals(labels, w, clusters), totals(labels, y, clusters)
    n = len(y)
    if clusters < 2 or n == clusters or deaths.sum() in (0, n):
        return float("nan")
    p = deaths.sum() / n
    between = float((size * (deaths / size - p) ** 2).sum()) / (clusters - 1)
    within = float((deaths - deaths**2 / size).sum()) / (n - clusters)
    typical = (n - float((size**2).sum()) / n) / (clusters - 1)
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
) -> RepeatLosers:
    """Dams that lost newborns in two seasons or more, and how many there would be by chance.

    Parameters
    ----------
    event : array_like of 0 and 1, one entry a newborn.
    dam, season : array_like of whole numbers.
    level : float
        Share of the draws of chance that ``low`` and ``high`` enclose.
    stratum : array_like of whole numbers, optional
        Litter size, say: losses are dealt within season and stratum (the first newborn's of each litter).
    shuffles : int
        How often losing litters are dealt anew for ``low``, ``high`` and ``p``.
    rng : Generator or int
        Random number generator or its number, fixed so that a review can be run again.

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
    drawn = np.array([_deal(lost[order], who[order], cell[order], generator) for _ in range(shuffles)])
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


def _deal(lost: Floats, who: Integers, cell: Integers, rng: np.random.Generator) -> int:
    """Deal the losses at random within cells (rows sorted by cell) and count dams dealt two or more."""
    order = np.lexsort((rng.random(len(lost)), cell))
    return int((np.bincount(who[order], weights=lost) > 1).sum())
