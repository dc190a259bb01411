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

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, Integers, codes, same_length, weights
from neonatal_stats.estimates.results import ratio


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


def agreement(event: Floats, weight: Floats, labels: Integers, clusters: int) -> float:
    """How much littermates' outcomes agree: the mean correlation of pairs within clusters, from 0 to 1.

    Residuals are taken about the share of all newborns. With a single cluster nothing can be learnt of it
    and the worst, 1, is returned; where no cluster holds a pair it is 0.
    """
    n = weight.sum()
    share = (weight * event).sum() / n if n else np.nan
    size = totals(labels, weight, clusters)
    pairs = float((size * (size - 1)).sum())
    occupied = int((size > 0).sum())
    if pairs <= 0 or share in (0.0, 1.0) or not n:
        return 0.0
    if occupied < 2:
        return 1.0
    total = totals(labels, weight * (event - share), clusters)
    spread = n * share * (1 - share)
    within = (correction(occupied, n) * (total**2).sum() - spread) / (share * (1 - share) * pairs)
    return float(np.clip(within, 0.0, 1.0))


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
    y: Floats, w: Floats, group: Integers, labels: Integers, groups: int
) -> tuple[Floats, Integers]:
    """Design effect of each group's share, not floored, and the clusters it is drawn from.

    Where it cannot be measured (no event, all events, one cluster) it is 1 + (mean size - 1) x `agreement`.
    """
    clusters_all = int(labels.max(initial=-1)) + 1
    n = totals(group, w, groups)
    p = ratio(totals(group, w * y, groups), n)
    where, pair = renumber(labels * groups + group)
    of_group = pair % max(groups, 1)
    clusters = np.bincount(of_group, minlength=groups)
    residual = totals(where, w * (y - p[group]), len(pair))
    squares = totals(of_group, residual**2, groups)
    own = ratio(correction(clusters, n) * squares, n * p * (1 - p))
    size = totals(where, w, len(pair))
    mean_size = ratio(totals(of_group, size**2, groups), n)
    borrowed = 1 + (mean_size - 1) * agreement(y, w, labels, clusters_all)
    measured = np.isfinite(own) & ((clusters > 1) | (n <= 1))
    return np.where(measured, own, borrowed), clusters
