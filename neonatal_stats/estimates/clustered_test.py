"""Do groups of newborns differ in risk, or is it litters and chance? Tests that count litters."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, Integers, codes, same_length
from neonatal_stats.estimates.clusters import (
    agreement,
    cluster_rows,
    degrees_of_freedom,
    design_effects,
    event_rows,
    renumber,
    totals,
)
from neonatal_stats.estimates.quantiles import chi_square_p, two_sided
from neonatal_stats.estimates.results import Test


def clustered_test(
    event: ArrayLike,
    group: ArrayLike,
    cluster: ArrayLike | None = None,
    *,
    weight: ArrayLike | None = None,
    least_design_effect: float = 1.0,
) -> Test:
    """Chi-square test that two or more groups share one risk, adjusted for clusters.

    Parameters
    ----------
    event : array_like of 0 and 1, one entry a newborn.
    group : array_like of whole numbers.
    cluster : array_like of whole numbers, optional
        Without it the test is Pearson's.
    least_design_effect : float
        Floor of a group's design effect; 0 gives the test as published, 1 (the rule here) never lets litters
        that happen to agree less than chance sharpen it.

    Counted
    -------
    Groups with newborns. Groups are compared on newborns / design effect.

    Method
    ------
    Each cluster in one group: Rao & Scott's chi-square on events and newborns divided by each group's own
    design effect. Clusters that span groups (sexes within a litter): a score test in which littermates are
    equally correlated.

    Limits
    ------
    Large clusters (farms) want ten or more in each group.

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
    kept = w > 0
    y, w, (g, distinct) = y[kept], w[kept], renumber(g[kept])
    groups = len(distinct)
    n, events = totals(g, w, groups), totals(g, w * y, groups)
    if groups < 2 or events.sum() in (0.0, n.sum()):
        return Test(
            np.nan, max(groups - 1, 0), np.nan, "chi-square", "cannot be tested: one group or one outcome"
        )
    if members is None:
        return _pearson(events, n, "Pearson chi-square")
    labels, _ = renumber(members[0][kept])
    if _span(g, labels, groups):
        return exchangeable_test(y, w, np.eye(groups)[g][:, 1:], labels)
    effect, _ = design_effects(y, w, g, labels, groups)
    effect = np.maximum(effect, least_design_effect)
    return _pearson(events / effect, n / effect, "Rao-Scott chi-square")


def _span(g: Integers, labels: Integers, groups: int) -> bool:
    """Whether any cluster has newborns in more than one group."""
    return len(renumber(labels * groups + g)[1]) > int(labels.max()) + 1


def _pearson(events: Floats, n: Floats, method: str) -> Test:
    p = events.sum() / n.sum()
    statistic = float(((events - n * p) ** 2 / (n * p * (1 - p))).sum())
    return Test(statistic, len(n) - 1, chi_square_p(statistic, len(n) - 1), method)


def exchangeable_test(y: Floats, w: Floats, x: Floats, labels: Integers) -> Test:
    """Score test of no association between events and the columns of ``x``, littermates equally correlated.

    The correlation is that of all newborns about their common share, from 0 to 1. One column is referred to
    Student's t with Satterthwaite's degrees of freedom (its square is the statistic), more to chi-square.
    """
    clusters, n = int(labels.max()) + 1, w.sum()
    p = (w * y).sum() / n
    lean = x - (w[:, None] * x).sum(axis=0) / n
    score = (w * (y - p)) @ lean
    alone = lean.T @ (w[:, None] * lean)
    together = np.column_stack([totals(labels, w * column, clusters) for column in lean.T])
    between = agreement(y, w, labels, clusters) * (together.T @ together - alone)
    variance = p * (1 - p) * (alone + between)
    statistic = float(score @ np.linalg.pinv(variance) @ score)
    df, method = int(np.linalg.matrix_rank(alone)), "score chi-square, exchangeable littermates"
    if df != 1:
        return Test(statistic, df, chi_square_p(statistic, df), method)
    shift = max(0.0, float(between[0, 0] / alone[0, 0]))
    return Test(
        statistic, 1, float(two_sided(np.sqrt(statistic), degrees_of_freedom(1 + shift, clusters))), method
    )
