"""How many clusters there are and how large: what an interval needs to know where influence has nothing to say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.curves.cluster_sums import BLOCK
from neonatal_stats.estimates.curves.histories import Histories
from neonatal_stats.estimates.quantiles import critical

FEW = 30  # under so many clusters (farms, rather than litters) the normal quantile gives intervals that are too narrow


@dataclass(frozen=True, eq=False)
class ClusterSizes:
    """Of each group, (G,): ``clusters``, and ``design_effect`` were littermates always to share one fate."""

    clusters: Floats
    design_effect: Floats

    def widening(self, level: float) -> Floats:
        """What to multiply standard errors by where clusters are few, 1 elsewhere.

        Student's t of clusters - 1 over the normal, and the root of clusters / (clusters - 1), by which the
        jackknife's variance falls short.
        """
        degrees = np.maximum(self.clusters - 1, 1)
        factor = critical(level, degrees) / critical(level) * np.sqrt((degrees + 1) / degrees)
        widened: Floats = np.where(self.clusters < FEW, factor, 1.0)
        return widened


def cluster_sizes(history: Histories) -> ClusterSizes:
    """Count clusters within groups; the design effect is the sum of squared sizes over the sum of sizes."""
    groups, ages, kinds = history.shape
    ends = np.tile(np.arange(kinds) < kinds - 1, groups * ages).astype(np.float64)
    squares, sizes, clusters = np.zeros(groups), np.zeros(groups), np.zeros(groups)
    for rows, starts, copies in history.blocks(BLOCK):
        code = history.code[rows]
        own = ends[code] if history.weight is None else ends[code] * history.weight[rows]
        size = np.add.reduceat(own, starts)
        group = code[starts] // (ages * kinds)
        alike = np.ones(len(size)) if copies is None else copies
        squares += np.bincount(group, alike * size**2, groups)
        sizes += np.bincount(group, alike * size, groups)
        clusters += np.bincount(group, alike, groups)
    effect = np.divide(squares, sizes, out=np.ones(groups), where=sizes > 0)
    return ClusterSizes(clusters, effect)
