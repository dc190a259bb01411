"""Newborns of one litter share a dam, a birth and a night's weather: how much their outcomes agree.

Variances here are ratio-estimator (Taylor) variances: residuals about the share are summed within clusters,
squared and summed over clusters, times clusters / (clusters - 1). Where every cluster holds one newborn the
correction is left out, so that unclustered and one-newborn clusters give the same numbers.

References
----------
Rao JNK, Scott AJ (1992) A simple method for the analysis of clustered binary data. Biometrics 48:577-585.
Satterthwaite FE (1946) An approximate distribution of estimates of variance components. Biometrics 2:110-114.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import linalg, special

from neonatal_stats.estimates.arguments import Floats, Integers, codes, refuse, same_length, weights
from neonatal_stats.estimates.results import critical, ratio, two_sided

FEW_LITTERS, FEW_FARMS, FARM = 40, 100, 10
"""Few clusters, of litters and of clusters of `FARM` newborns or more: what is summed over them needs a correction."""
BETWEEN = 0.3**2
"""Variance of the log odds of loss between clusters that `FewClusters` reckons with."""
NO_CLUSTER = "repeats: they are of clusters, so cluster must be given too; found none"
SURE = 5.0
"""What is added to a measured design effect before it says how much of a variance is known (see `FewClusters`)."""


def event_rows(event: ArrayLike, weight: ArrayLike | None) -> tuple[Floats, Floats]:
    """0-1 outcomes and their frequency weights, checked, one per row."""
    outcome = codes(event, "event", below=2)
    return outcome.astype(np.float64), weights(weight, len(outcome))


def renumber(labels: Integers) -> tuple[Integers, Integers]:
    """Labels renumbered 0, 1, ... without gaps, and the sorted labels they stand for."""
    size = len(labels)
    if size == 0:
        return labels, labels
    if labels.max() >= 16 * size + 1_000:
        distinct, compact = np.unique(labels, return_inverse=True)
        return compact.astype(np.int64), distinct
    present = np.zeros(int(labels.max()) + 1, dtype=bool)
    present[labels] = True
    rank = np.cumsum(present, dtype=np.int32 if size < 2**31 else np.int64) - 1
    return rank[labels].astype(np.int64), np.flatnonzero(present)


def cluster_rows(cluster: ArrayLike | None, size: int) -> tuple[Integers, int] | None:
    """Clusters renumbered 0, 1, ... without gaps, and how many there are; None stays None."""
    if cluster is None:
        return None
    labels = codes(cluster, "cluster")
    same_length(event=np.empty(size), cluster=labels)
    compact, distinct = renumber(labels)
    return compact, len(distinct)


def alike(repeats: ArrayLike | None, members: tuple[Integers, int] | None) -> Floats | None:
    """How many identical clusters each cluster stands for, (clusters,), from one number a row; None: one each.

    Raises `ValueError` where there are no clusters, a number is none from 1, or rows of a cluster do not agree.
    """
    if repeats is None:
        return None
    if members is None:
        raise ValueError(NO_CLUSTER)
    labels, clusters = members
    each = codes(repeats, "repeats").astype(np.float64)
    same_length(event=labels, repeats=each)
    refuse("repeats", each < 1, each, "must be whole numbers from 1")
    found = np.ones(clusters)
    found[labels] = each
    bad = found[labels] != each
    refuse("repeats", bad, each, "all rows of a cluster must stand for the same number of clusters")
    return found


def over(values: ArrayLike, repeats: Floats | None) -> float:
    """Sum of the values of clusters (C,), each as often as it is repeated."""
    of = np.asarray(values, dtype=np.float64)
    return float(of.sum() if repeats is None else (of * repeats).sum())


def stood_for(weight: Floats, labels: Integers, repeats: Floats | None) -> Floats:
    """How many newborns each row stands for in all clusters that its own stands for."""
    return weight if repeats is None else weight * repeats[labels]


def unfolded(
    members: tuple[Integers, int] | None, repeats: Floats | None, weight: Floats
) -> tuple[Integers | slice, tuple[Integers, int] | None, Floats | None]:
    """Few clusters (`are_few`) as rows of their own: which rows to take, their clusters, and no repeats any more.

    What few clusters need is worked out cluster by cluster; they are few, so that this costs nothing. All rows, and
    ``repeats`` as they were, where clusters are not few.
    """
    if members is None or repeats is None:
        return slice(None), members, repeats
    labels, _ = members
    if not are_few(repeats.sum(), stood_for(weight, labels, repeats).sum()):
        return slice(None), members, repeats
    times = repeats[labels].astype(np.int64)
    rows = np.repeat(np.arange(len(labels)), times)
    which = np.arange(len(rows)) - np.repeat(np.cumsum(times) - times, times)
    own = labels[rows] * int(times.max(initial=1)) + which
    compact, distinct = renumber(own)
    return rows, (compact, len(distinct)), None


def of_each_kind(cluster: Integers, cell: Integers) -> tuple[Integers, Integers, Integers, Integers]:
    """One cluster of each kind, a row for each of its cells: cluster, cell, weight, repeats.

    Clusters of a kind have as many newborns in every cell: a row stands for ``weight`` of them in ``repeats`` clusters.
    Litters are of few kinds and farms of few cells, so that what is asked of a million newborns can be asked of these.

    >>> found = of_each_kind(np.array([0, 0, 1, 2, 2, 3, 3]), np.array([5, 7, 7, 7, 5, 5, 5]))
    >>> [column.tolist() for column in found]
    [[0, 0, 1, 3], [5, 7, 7, 5], [1, 1, 1, 2], [2, 2, 1, 1]]
    """
    labels, distinct = renumber(cluster)
    cells = int(cell.max(initial=0)) + 1
    marks = np.random.default_rng(1).integers(1, 2**30, (2, cells)).astype(np.float64)
    high, low = (
        np.bincount(labels, weights=mark[cell]).astype(np.uint64) for mark in marks
    )  # whole, so exact
    together = (high << np.uint64(32)) ^ low
    _, first, kind, count = np.unique(together, return_index=True, return_inverse=True, return_counts=True)
    chosen = np.zeros(len(distinct), dtype=bool)
    chosen[first] = True
    rows = slice(None) if len(first) == len(distinct) else chosen[labels]
    own, weight = np.unique(labels[rows] * cells + cell[rows], return_counts=True)
    which, cell = np.divmod(own, cells)
    return distinct[which], cell, weight, count[kind[which]]


def totals(labels: Integers, values: Floats, size: int) -> Floats:
    """Sum of values under each label 0 .. size-1."""
    return np.asarray(np.bincount(labels, weights=values, minlength=size), dtype=np.float64)


def by_cluster(values: Floats, cluster: Integers) -> Floats:
    """Sums of values (p, rows) within each cluster, (p, clusters); a cluster without rows is 0."""
    if cluster.max(initial=0) > 4 * len(cluster) + 1024:
        cluster = np.unique(cluster, return_inverse=True)[1]
    return np.stack([np.bincount(cluster, row) for row in values])


def correction(clusters: ArrayLike, n: ArrayLike) -> Floats:
    """clusters / (clusters - 1), or 1 where every cluster holds one newborn."""
    count = np.asarray(clusters, dtype=np.float64)
    return np.where(count == np.asarray(n), 1.0, ratio(count, count - 1))


def are_few(clusters: ArrayLike, n: ArrayLike) -> NDArray[np.bool_]:
    """Whether ``n`` newborns lie in so few clusters, but not in one, that a sum over these needs the correction."""
    count = np.asarray(clusters, dtype=np.float64)
    few = np.where(np.asarray(n) < FARM * count, FEW_LITTERS, FEW_FARMS)
    return np.asarray((count > 1) & (count < few))


@dataclass(frozen=True, eq=False)
class FewClusters:
    """What a variance summed over few clusters needs: ``factor`` by which it falls short, and Student's ``df``.

    Both are NaN where as many parameters as clusters were fitted: nothing is left to tell how clusters vary.

    Method
    ------
    The variance is the sum over clusters of squared influence, residuals taken about the fit. Were the clusters' log
    odds to vary by `BETWEEN` and newborns otherwise independent, its expectation and its variance would follow from
    the sizes: the factor brings the expectation to the true variance, the degrees of freedom are Satterthwaite's. With
    C clusters of one size they are C / (C - 1) and C - 1; uneven sizes and groups of few clusters ask for more. No
    interval is narrower than that of independent newborns, and of a variance near theirs, which is known, the degrees
    of freedom rise (see `degrees_of_freedom`), as if its design effect were larger by `SURE`: so a measured one that
    came out small is not taken for certain (tests/simulations/few_clusters.txt).

    References
    ----------
    Bell RM, McCaffrey DF (2002) Surv Methodol 28:169-181; Imbens GW, Kolesar M (2016) Rev Econ Stat 98:701-712 (the
    variance between clusters in the working model); MacKinnon JG, Nielsen MO, Webb MD (2023) J Econometrics
    232:272-299 (how many are few, and that uneven ones are fewer).
    """

    factor: float | Floats
    df: float | Floats

    def effect(self, seen: ArrayLike, level: float) -> Floats:
        """Design effect with which the normal quantile holds, never below 1.

        ``seen`` is the variance as summed over the clusters over that of independent newborns.
        """
        effect, df = self._corrected(seen)
        return np.maximum(effect * (critical(level, df) / critical(level)) ** 2, 1.0)

    def p(self, z: ArrayLike, seen: ArrayLike) -> Floats:
        """Two-sided p of ``z``, an estimate over its error for independent newborns; never below the p of that."""
        effect, df = self._corrected(seen)
        size = np.asarray(z, dtype=np.float64)
        return np.maximum(two_sided(size), two_sided(size / np.sqrt(np.maximum(effect, 1e-12)), df))

    def _corrected(self, seen: ArrayLike) -> tuple[Floats, Floats]:
        """The effect without its bias, and the degrees of freedom of it."""
        effect = np.asarray(seen, dtype=np.float64) * self.factor
        return effect, self.df * ((effect + SURE) / (effect + SURE - 1)) ** 2


def _few_clusters(information: Floats, sums: Floats, pull: Floats) -> FewClusters:
    """The correction of one estimate from what each cluster adds to the fit.

    Parameters
    ----------
    information : (C, p, p) on p parameters (log odds of groups, coefficients).
    sums : (C, p) covariates of its rows, each row weighted as in the information.
    pull : (p,) how far the estimate moves with each parameter.
    """
    whole = information.sum(axis=0)
    inverse = linalg.pinvh(whole)
    lean = pull @ inverse
    own = lean @ information
    varies = own + BETWEEN * (sums @ lean)[:, None] * sums
    fitted = own @ inverse
    shared = whole + BETWEEN * sums.T @ sums
    residual = np.diag(varies @ lean) - varies @ fitted.T - fitted @ varies.T + fitted @ shared @ fitted.T
    seen, true = float(np.trace(residual)), float((varies @ lean).sum())
    if not seen > 1e-9 * true:
        return FewClusters(np.nan, np.nan)
    return FewClusters(true / seen, max(seen**2 / float((residual**2).sum()), 1.0))


def few_groups(sizes: Floats, share: float | Floats, pull: ArrayLike) -> FewClusters:
    """The correction of a sum over the shares of J groups, each times its ``pull`` (J,).

    ``sizes`` (C, J) are each cluster's newborns, ``share`` (J,) or one for all.
    """
    p = np.broadcast_to(np.nan_to_num(share), sizes.shape[1:])
    spread = np.clip(p * (1 - p), 1e-6, None)
    odds = sizes * spread
    return _few_clusters(odds[:, :, None] * np.eye(len(spread)), odds, np.asarray(pull) * spread)


def few_of_rows(design: Floats, spread: Floats, cluster: Integers, pulls: Floats) -> list[FewClusters]:
    """The correction for each of ``pulls`` on the coefficients of a regression.

    ``design`` (p, n) holds its covariates, constant included; ``spread`` (n,) is the variance of each row's outcome.
    """
    order = np.argsort(cluster, kind="stable")
    ends = np.flatnonzero(np.diff(cluster[order])) + 1
    own, weighed = (np.split(values[:, order], ends, axis=1) for values in (design, design * spread))
    sums = np.stack([one.sum(axis=1) for one in weighed])
    information = np.stack([one @ each.T for one, each in zip(weighed, own, strict=True)])
    return [_few_clusters(information, sums, pull) for pull in pulls]


def joint_p(statistic: float, each: list[FewClusters], score_of: Floats | None = None) -> float:
    """p of k estimates at once, Hotelling's T-squared: their chi-square over the covariance as summed over clusters.

    NaN where clusters are so few that nothing is left over for k. A score's residuals are not those about the fit, but
    hold the effect itself, in each cluster of ``score_of`` (C,) newborns its part of it: that is taken out.
    """
    if score_of is not None:
        held = float(((score_of / score_of.sum()) ** 2).sum()) * statistic
        statistic = statistic / (1 - held) if held < 1 else np.inf
    factor, df = (float(np.mean([getattr(one, name) for one in each])) for name in ("factor", "df"))
    k, spare = len(each), df - len(each) + 1
    return float(special.fdtrc(k, spare, statistic / factor * spare / (df * k))) if spare > 0 else np.nan


def by_cluster_and_group(labels: Integers, group: Integers, weight: Floats, groups: int) -> Floats:
    """Newborns of each cluster in each group, (clusters, groups)."""
    clusters = int(labels.max(initial=-1)) + 1
    return totals(labels * groups + group, weight, clusters * groups).reshape(clusters, groups)


def agreement(
    event: Floats, weight: Floats, labels: Integers, clusters: int, repeats: Floats | None = None
) -> float:
    """How much littermates' outcomes agree: the mean correlation of pairs within clusters, from 0 to 1.

    Residuals are taken about the share of all newborns. With a single cluster nothing can be learnt of it
    and the worst, 1, is returned; where no cluster holds a pair it is 0.
    """
    whole = stood_for(weight, labels, repeats)
    n = whole.sum()
    share = (whole * event).sum() / n if n else np.nan
    size = totals(labels, weight, clusters)
    pairs = over(size * (size - 1), repeats)
    occupied = over(size > 0, repeats)
    if pairs <= 0 or share in (0.0, 1.0) or not n:
        return 0.0
    if occupied < 2:
        return 1.0
    total = totals(labels, weight * (event - share), clusters)
    spread = n * share * (1 - share)
    short = correction(occupied, n)
    if are_few(occupied, n):
        sizes = _each(size, repeats)
        short = np.asarray(few_groups(sizes[sizes > 0][:, None], share, [1.0]).factor)
    within = (short * over(total**2, repeats) - spread) / (share * (1 - share) * pairs)
    return float(np.clip(within, 0.0, 1.0))


def _each(values: Floats, repeats: Floats | None) -> Floats:
    """The values of clusters, one entry for every cluster that they stand for."""
    return values if repeats is None else np.repeat(values, repeats.astype(np.int64))


def degrees_of_freedom(design_effect: ArrayLike, clusters: ArrayLike) -> Floats:
    """Satterthwaite degrees of freedom of a variance of which only the part between clusters is uncertain.

    With a design effect of 1 the binomial variance is known and the normal quantile holds (infinite degrees);
    as the design effect grows they fall to clusters - 1. For an interval the largest effect there can be, the
    mean size of a cluster, is used: a measured one that came out small would claim to be certain.
    """
    effect = np.asarray(design_effect, dtype=np.float64)
    between = np.where(effect > 1, effect - 1, np.nan)
    degrees = np.maximum(np.asarray(clusters) - 1.0, 1.0) * (effect / between) ** 2
    return np.where(np.isfinite(degrees), degrees, np.inf)


def design_effects(
    y: Floats, w: Floats, group: Integers, labels: Integers, groups: int, repeats: Floats | None = None
) -> tuple[Floats, Integers]:
    """Design effect of each group's share, not floored, and the clusters it is drawn from.

    Where it cannot be measured (no event, all events, one cluster) it is 1 + (mean size - 1) x `agreement`.
    """
    clusters_all = int(labels.max(initial=-1)) + 1
    whole = stood_for(w, labels, repeats)
    n = totals(group, whole, groups)
    p = ratio(totals(group, whole * y, groups), n)
    where, pair = renumber(labels * groups + group)
    of_group = pair % max(groups, 1)
    times = np.ones(len(pair)) if repeats is None else repeats[pair // max(groups, 1)]
    clusters = np.rint(totals(of_group, times, groups)).astype(np.int64)
    residual = totals(where, w * (y - p[group]), len(pair))
    squares = totals(of_group, times * residual**2, groups)
    own = ratio(correction(clusters, n) * squares, n * p * (1 - p))
    size = totals(where, w, len(pair))
    mean_size = ratio(totals(of_group, times * size**2, groups), n)
    own_repeats = None if repeats is None else repeats[:clusters_all]
    borrowed = 1 + (mean_size - 1) * agreement(y, w, labels, clusters_all, own_repeats)
    measured = np.isfinite(own) & ((clusters > 1) | (n <= 1))
    return np.where(measured, own, borrowed), clusters


def design_effects_at(
    y: Floats,
    w: Floats,
    group: Integers,
    labels: Integers,
    groups: int,
    level: float,
    repeats: Floats | None = None,
) -> tuple[Floats, Floats, Integers]:
    """`design_effects`, never below 1; the same made so wide that the normal quantile holds; and the clusters."""
    effect, clusters = design_effects(y, w, group, labels, groups, repeats)
    whole = stood_for(w, labels, repeats)
    n = totals(group, whole, groups)
    floored = np.where(n > 0, np.maximum(effect, 1.0), np.nan)
    quantile = critical(level, degrees_of_freedom(ratio(n, clusters), clusters))
    wide = floored * (quantile / critical(level)) ** 2
    share = np.nan_to_num(ratio(totals(group, whole * y, groups), n))
    sharing = are_few(clusters, n) & (clusters < n) & (share > 0) & (share < 1)
    for one in np.flatnonzero(sharing):
        inside = group == one
        compact, distinct = renumber(labels[inside])
        sizes = totals(compact, w[inside], len(distinct))
        sizes = _each(sizes, None if repeats is None else repeats[distinct])
        few = few_groups(sizes[:, None], share[one], [1.0])
        wide[one] = few.effect(effect[one] / correction(clusters[one], n[one]), level)
    return floored, wide, clusters
