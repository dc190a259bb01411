"""Errors by cluster for a Cox model: squared sums of influence over litters (Lin & Wei 1989)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.regression.cox_likelihood import score_residuals
from neonatal_stats.estimates.regression.risk_sets import Rows


def by_cluster(values: Floats, cluster: Integers) -> Floats:
    """Sums of values (p, rows) within each cluster, (p, clusters); a cluster without rows is 0."""
    if cluster.max(initial=0) > 4 * len(cluster) + 1024:
        cluster = np.unique(cluster, return_inverse=True)[1]
    return np.stack([np.bincount(cluster, row) for row in values])


def sandwich(rows: Rows, beta: Floats, cluster: Integers, inverse: Floats, kept: NDArray[np.bool_]) -> Floats:
    """Robust covariance of the kept coefficients, given the inverse of their information."""
    influence = inverse @ by_cluster(score_residuals(rows, beta)[kept], cluster)
    return np.asarray(influence @ influence.T, dtype=np.float64)


def losing_clusters(rows: Rows, cluster: Integers) -> int:
    """Clusters in which a newborn died."""
    return len(np.unique(cluster[rows.watch.dead]))
