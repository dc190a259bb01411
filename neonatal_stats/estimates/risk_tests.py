"""Do groups of newborns differ in risk, or is it litters and chance? Tests that count litters."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, Integers, codes, refuse, same_length
from neonatal_stats.estimates.clusters import (
    agreement,
    alike,
    are_few,
    by_cluster,
    cluster_rows,
    degrees_of_freedom,
    design_effects,
    event_rows,
    few_of_rows,
    joint_p,
    over,
    renumber,
    stood_for,
    totals,
    unfolded,
)
from neonatal_stats.estimates.proportion import checked_counts
from neonatal_stats.estimates.results import Test, chi_square_p, ratio, two_sided


def clustered_test(
    event: ArrayLike,
    group: ArrayLike,
    cluster: ArrayLike | None = None,
    *,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    least_design_effect: float = 1.0,
) -> Test:
    """Chi-square test that two or more groups share one risk, adjusted for clusters.

    Parameters
    ----------
    event : array_like of 0 and 1, one entry a newborn.
    group : array_like of whole numbers.
    cluster : array_like of whole numbers, optional
        Without it the test is Pearson's.
    repeats : array_like of whole numbers, optional
        How many identical clusters the newborn's cluster stands for.
    least_design_effect : float
        Floor of a group's design effect; 1 (the rule here) never lets litters that happen to agree less than
        chance sharpen the test; 0 gives it as published, referred to chi-square.

    Counted
    -------
    Groups with newborns. Groups are compared on newborns / design effect.

    Method
    ------
    Each cluster in one group: Rao & Scott's chi-square on events and newborns divided by each group's own
    design effect, referred to F. Clusters that span groups (sexes within a litter), and few clusters (farms): a score
    test in which littermates are equally correlated. Where few clusters span groups, not below the p by the variance
    summed over them (`clusters.FewClusters`).

    References
    ----------
    Rao JNK, Scott AJ (1992) Biometrics 48:577-585; Donner A, Klar N (2000), ch. 6.

    Examples
    --------
    Lamb deaths in 75 herds, ewes dewormed or not (Lancelot et al. 1998): Pearson 21.62, Rao-Scott 9.72 with
    ``least_design_effect=0``.
    """
    y, w = event_rows(event, weight)
    g = codes(group, "group")
    same_length(event=y, group=g)
    members = cluster_rows(cluster, len(y))
    rows, members, each = unfolded(members, alike(repeats, members), w)
    y, w, g = y[rows], w[rows], g[rows]
    kept = w > 0
    whole = w if members is None else stood_for(w, members[0], each)
    y, w, whole, (g, distinct) = y[kept], w[kept], whole[kept], renumber(g[kept])
    groups = len(distinct)
    n, events = totals(g, whole, groups), totals(g, whole * y, groups)
    if groups < 2 or events.sum() in (0.0, n.sum()):
        return Test(
            np.nan, max(groups - 1, 0), np.nan, "chi-square", "cannot be tested: one group or one outcome"
        )
    if members is None:
        return _pearson(events, n, "Pearson chi-square")
    labels, distinct = renumber(members[0][kept])
    each = None if each is None else each[distinct]
    clusters = over(np.ones(len(distinct)), each)
    few = bool(are_few(clusters, whole.sum())) and least_design_effect > 0
    span = _span(g, labels, groups)
    if few or span:
        return _between_groups(y, w, g, labels, groups, each, within=span)
    effect, _ = design_effects(y, w, g, labels, groups, each)
    effect = np.maximum(effect, least_design_effect)
    test = _pearson(events / effect, n / effect, "Rao-Scott chi-square")
    df = float(degrees_of_freedom(whole.sum() / clusters, clusters - groups + 1))
    if not np.isfinite(df) or least_design_effect == 0:
        return test
    return replace(test, p=float(special.fdtrc(test.df, df, test.statistic / test.df)))


def cochran_armitage(
    event: ArrayLike,
    score: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
) -> Test:
    """Cochran-Armitage test for a straight-line trend in risk over ordered groups.

    Parameters
    ----------
    event : array_like of 0 and 1, one entry a newborn.
    score : array_like
        Where the newborn's group stands (season, class).
    cluster : array_like of whole numbers, optional
        Litter (or farm); littermates' outcomes are then equally correlated.
    weight : array_like, optional
        How many newborns the row stands for.
    repeats : array_like of whole numbers, optional
        How many identical clusters the row's cluster stands for.

    Returns
    -------
    Test
        Chi-square with one degree of freedom; `risk_slope` tells which way.

    Limits
    ------
    A trend that turns is missed.

    References
    ----------
    Cochran WG (1954) Biometrics 10:417-451; Armitage P (1955) Biometrics 11:375-386.

    Examples
    --------
    1/10, 2/10, 3/10: p = 0.2, sum of score x (deaths - expected) = 2, variance 0.16 x 20 = 3.2, so 4/3.2.

    >>> from neonatal_stats.estimates import cochran_armitage
    >>> died, place, births = [1, 0, 1, 0, 1, 0], [0, 0, 1, 1, 2, 2], [1, 9, 2, 8, 3, 7]
    >>> round(cochran_armitage(died, place, weight=births).statistic, 9)
    1.25
    """
    y, w = event_rows(event, weight)
    places = _places(score, len(y))
    same_length(event=y, score=places)
    kept = w > 0
    y, w, places = y[kept], w[kept], places[kept]
    method = "Cochran-Armitage trend"
    if len(y) == 0 or np.ptp(places) == 0 or np.ptp(y) == 0:
        return Test(np.nan, 1, np.nan, method, "cannot be tested: one group or one outcome")
    members = cluster_rows(None if cluster is None else np.asarray(cluster)[kept], len(y))
    each = alike(None if repeats is None else np.asarray(repeats)[kept], members)
    rows, members, each = unfolded(members, each, w)
    y, w, places = y[rows], w[rows], places[rows]
    if members is None:
        values, where = np.unique(places, return_inverse=True)
        x, n = totals(where, w * y, len(values)), totals(where, w, len(values))
        statistic = _trend(x, n, values)
        return Test(statistic, 1, chi_square_p(statistic, 1), method)
    whole = stood_for(w, members[0], each)
    lean = places - (whole * places).sum() / whole.sum()
    top = np.array([(whole * y * lean).sum()])
    alone, together = (whole * lean**2).sum(), over(totals(members[0], w * lean, members[1]) ** 2, each)
    sums = np.array([[alone]]), np.array([[together]])
    test = _exchangeable_score(top, *sums, y, w, members[0], lean[None], each)
    return Test(test.statistic, 1, test.p, method + ", clustered")


def risk_slope(events: ArrayLike, n: ArrayLike, score: ArrayLike | None = None) -> float:
    """Change in risk for one step of the score: the weighted least-squares line; NaN for a single group."""
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    places = _places(score, len(x))
    lean = places - (size * places).sum() / max(size.sum(), 1.0)
    spread = float((size * lean**2).sum())
    return float((lean * x).sum() / spread) if spread > 0 else float("nan")


def line_through(share: ArrayLike) -> Test:
    """Does a straight line through the shares of the seasons (S,) rise or fall by more than they swing about it?

    Returns
    -------
    Test
        Student's t with S - 2 degrees of freedom; nothing can be said of fewer than three.

    Method
    ------
    Least squares, every season once: the swing from season to season, chance within it, is what the slope is held
    against. A test over newborns (`cochran_armitage`) takes that swing for a trend.

    Limits
    ------
    Seasons that happen to lie on a line make any slope look certain; it goes with the test over newborns, and the
    weaker of the two decides.

    Examples
    --------
    0.10, 0.20, 0.10, 0.20: slope 0.02, residual variance 0.008 / 2 over 5, so 0.02 / sqrt(0.0008).

    >>> from neonatal_stats.estimates import line_through
    >>> round(line_through([0.1, 0.2, 0.1, 0.2]).statistic, 6)
    0.707107
    """
    y = np.asarray(share, dtype=np.float64)
    refuse("share", ~np.isfinite(y), y, "must be finite")
    method, df = "least-squares line, Student's t", len(y) - 2
    if df < 1:
        return Test(np.nan, max(df, 0), np.nan, method, "cannot be tested: fewer than three seasons")
    lean = np.arange(len(y)) - (len(y) - 1) / 2
    slope = float(lean @ y / (lean @ lean))
    left = y - y.mean() - slope * lean
    error = float(np.sqrt(left @ left / df / (lean @ lean)))
    statistic = float(ratio(slope, error))
    return Test(statistic, df, float(two_sided(statistic, df)), method)


def _span(g: Integers, labels: Integers, groups: int) -> bool:
    """Whether any cluster has newborns in more than one group."""
    return len(renumber(labels * groups + g)[1]) > int(labels.max()) + 1


def _pearson(events: Floats, n: Floats, method: str) -> Test:
    p = events.sum() / n.sum()
    statistic = float(((events - n * p) ** 2 / (n * p * (1 - p))).sum())
    return Test(statistic, len(n) - 1, chi_square_p(statistic, len(n) - 1), method)


def _between_groups(
    y: Floats, w: Floats, g: Integers, labels: Integers, groups: int, repeats: Floats | None, *, within: bool
) -> Test:
    """Score test between groups, from newborns by cluster and group; ``within`` where groups share clusters."""
    from scipy import sparse

    whole = stood_for(w, labels, repeats)
    shape = int(labels.max()) + 1, groups
    counts = sparse.csr_array((w, (labels, g)), shape=shape)
    repeated = sparse.csr_array((whole, (labels, g)), shape=shape)
    n, size = totals(g, whole, groups), np.asarray(counts.sum(axis=1))
    share = n / n.sum()
    with_all = repeated.T @ size
    together = (repeated.T @ counts).toarray() - np.outer(share, with_all) - np.outer(with_all, share)
    together += np.outer(share, share) * over(size**2, repeats)
    alone = np.diag(n) - np.outer(n, share)
    score = totals(g, whole * y, groups) - n * (whole * y).sum() / whole.sum()
    lean = (np.arange(1, groups)[:, None] == g) - share[1:, None] if within else None
    return _exchangeable_score(score[1:], alone[1:, 1:], together[1:, 1:], y, w, labels, lean, repeats)


def _exchangeable_score(
    score: Floats,
    alone: Floats,
    together: Floats,
    y: Floats,
    w: Floats,
    labels: Integers,
    lean: Floats | None,
    repeats: Floats | None = None,
) -> Test:
    """Score test of no association, littermates equally correlated.

    ``score`` sums (event - common share) x covariate over newborns; ``alone`` and ``together`` are the sums of
    squares and products of the centred covariates ``lean`` (k, n) over newborns and over cluster totals. The
    correlation is that of all newborns about their common share, from 0 to 1.
    """
    clusters = int(labels.max()) + 1
    whole = stood_for(w, labels, repeats)
    p = (whole * y).sum() / whole.sum()
    between = agreement(y, w, labels, clusters, repeats) * (together - alone)
    statistic = float(score @ np.linalg.pinv(p * (1 - p) * (alone + between), hermitian=True) @ score)
    method = "score chi-square, exchangeable littermates"
    chance = chi_square_p(statistic, len(score))
    if lean is not None and repeats is None and are_few(clusters, w.sum()):
        chance = float(np.fmax(chance, _summed_p(lean, y - p, w, labels)))
    return Test(statistic, len(score), chance, method)


def _summed_p(lean: Floats, residual: Floats, w: Floats, labels: Integers) -> float:
    """p of the score of centred covariates (k, n) by its variance summed over few clusters.

    Littermates on one farm agree more than others there, which one correlation for all cannot say.
    """
    summed = by_cluster(lean * (w * residual), labels)
    score, spread = summed.sum(axis=1), w * float((w * residual**2).sum() / w.sum())
    few = few_of_rows(np.vstack([np.ones(len(w)), lean]), spread, labels, np.eye(len(lean) + 1)[1:])
    statistic = float(score @ np.linalg.pinv(summed @ summed.T, hermitian=True) @ score)
    return joint_p(statistic, few, totals(labels, w, summed.shape[1]))


def _trend(x: Floats, n: Floats, places: Floats) -> float:
    """The statistic of independent newborns, groups counted."""
    p = x.sum() / n.sum()
    top = float((places * (x - n * p)).sum())
    spread = float((n * places**2).sum() - (n * places).sum() ** 2 / n.sum())
    return float(top**2 / (p * (1 - p) * spread))


def _places(score: ArrayLike | None, groups: int) -> Floats:
    places = np.arange(groups, dtype=np.float64) if score is None else np.asarray(score, dtype=np.float64)
    refuse("score", ~np.isfinite(places), places, "must be finite")
    return places
