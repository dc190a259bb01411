"""Restricted mean survival: hours alive, on average, out of a window.

References
----------
Royston P, Parmar MKB (2013) Restricted mean survival time. BMC Med Res Methodol 13:152.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, codes
from neonatal_stats.estimates.clusters import FewClusters, are_few, few_groups
from neonatal_stats.estimates.counts import EventTable, Rows, read_rows, tabulate
from neonatal_stats.estimates.influence import (
    by_kind,
    cluster_sizes,
    clustered_rows,
    in_own_column,
    outer_sums,
    satterthwaite,
    sizes_by_cluster,
)
from neonatal_stats.estimates.results import Estimate, critical, two_sided
from neonatal_stats.estimates.survival import hazard_per_survivor, per_survivor, product_limit

GREENWOOD = "area under Kaplan-Meier, Greenwood"
CLUSTERED = "area under Kaplan-Meier, clustered infinitesimal jackknife, Student's t"
NO_DEATHS_IN_ONE = "no deaths in one group: the interval leaves out how uncertain that group is"


def restricted_mean(
    age_h: ArrayLike,
    died: ArrayLike,
    *,
    until_h: float,
    cluster: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    level: float,
) -> Estimate:
    """Mean hours alive up to ``until_h``: the area under the survival curve.

    Parameters
    ----------
    age_h, died : age at death or at last being seen, and 1 died 0 left alive (n,).
    until_h : end of the window, hours.
    cluster : litter of each newborn (n,); None takes them as independent (Greenwood).
    entry_h, weight : as in :func:`~neonatal_stats.estimates.counts.count_events`.

    Returns
    -------
    Estimate : hours; NaN with a note when nobody was followed that long and somebody might have lived.

    Method
    ------
    Variance as R's ``survfit`` (``rmean``), or the influence on the area summed within litters and squared.
    The interval is symmetric, kept within the window. Where nothing varies Wilson's bound on the share
    alive is taken to hold from birth, which is wide.

    Examples
    --------
    >>> from neonatal_stats.estimates import restricted_mean
    >>> restricted_mean([2, 4], [1, 0], until_h=4, level=0.95).estimate      # 2 + 2 x 1/2
    3.0
    """
    found = _areas(read_rows(age_h, died, None, entry_h, weight, n_causes=1, called="died"), cluster, until_h)
    if not found.followed:
        return _not_followed(until_h, found.method)
    hours, se, z = float(found.hours[0]), float(np.sqrt(found.variance[0, 0])), float(critical(level))
    if se > 0:
        below = above = found.half_and_p(hours, se, level)[0]
    else:
        doubt = z**2 / (float(found.n[0]) + z**2)
        below, above = hours * doubt, (until_h - hours) * doubt
    low, high = max(hours - below, 0.0), min(hours + above, float(until_h))
    return Estimate(hours, low, high, np.nan, found.method)


def restricted_mean_difference(
    age_h: ArrayLike,
    died: ArrayLike,
    group: ArrayLike,
    *,
    until_h: float,
    cluster: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    level: float,
) -> Estimate:
    """Mean hours alive up to ``until_h`` in group 1 less those in group 0.

    Parameters and Method as in :func:`restricted_mean`; littermates in different groups are allowed for. p is
    two-sided against no difference.

    Limits
    ------
    A group without deaths shows no variance of its own: the note says so.
    """
    codes(group, "group", below=2)
    found = _areas(
        read_rows(age_h, died, group, entry_h, weight, n_groups=2, n_causes=1, called="died"),
        cluster,
        until_h,
    )
    if not found.followed:
        return _not_followed(until_h, found.method)
    difference = float(found.hours[1] - found.hours[0])
    variance = found.variance
    se = float(np.sqrt(max(variance[0, 0] + variance[1, 1] - 2 * variance[0, 1], 0.0)))
    if not se:
        note = "the interval cannot be estimated: nothing varies within the groups"
        return Estimate(difference, np.nan, np.nan, np.nan, found.method, note)
    half, p = found.half_and_p(difference, se, level)
    note = "" if found.deaths.all() else NO_DEATHS_IN_ONE
    return Estimate(difference, difference - half, difference + half, p, found.method, note)


@dataclass(frozen=True, eq=False)
class _Areas:
    """Mean hours alive of each group up to a mark, (G,), and how sure they are.

    ``variance (G, G)``; ``df`` degrees of freedom of the last group's mean less the first's (of the mean
    itself for one group), ``few`` the correction where clusters are few, and ``alone`` the variance of independent
    newborns; ``followed`` whether every group was watched so long or had died out; ``deaths
    (G,)`` before the mark; ``n (G,)`` newborns, over the largest design effect that their litters allow.
    """

    hours: Floats
    variance: Floats
    df: float
    followed: bool
    deaths: Floats
    n: Floats
    method: str
    alone: float
    few: FewClusters | None

    def half_and_p(self, value: float, se: float, level: float) -> tuple[float, float]:
        """Half the interval of a mean (or a difference of two) and its p against nothing."""
        if self.few is None or not self.alone > 0:
            return float(critical(level, self.df)) * se, float(two_sided(value / se, self.df))
        error, seen = np.sqrt(self.alone), se**2 / self.alone
        half = float(critical(level) * error * np.sqrt(self.few.effect(seen, level)))
        return half, float(self.few.p(value / error, seen))


def _not_followed(until_h: float, method: str) -> Estimate:
    note = f"cannot be estimated: not every group was followed to {until_h:g} hours"
    return Estimate(np.nan, np.nan, np.nan, np.nan, method, note)


def _areas(rows: Rows, cluster: ArrayLike | None, until_h: float) -> _Areas:
    """Area under each group's survival curve up to a mark, and its variance."""
    rows, history = clustered_rows(rows, cluster, across_groups=True)
    table = tabulate(rows, every_age=True)
    share = product_limit(table.at_risk, table.deaths)
    watched = table.at_risk[:, table.age_h >= until_h].any(axis=1) | (share == 0).any(axis=1)
    widths = np.diff(np.minimum(np.concatenate([[0.0], table.age_h, [np.inf]]), until_h))
    pieces = np.hstack([np.ones((len(share), 1)), share]) * widths
    to_come = pieces[:, ::-1].cumsum(axis=1)[:, ::-1][:, 1:]
    deaths = table.deaths[:, table.age_h < until_h].sum(axis=1)
    variance = np.diag((to_come**2 * hazard_per_survivor(table.at_risk, table.deaths)).sum(axis=1))
    alone, few = float(np.trace(variance)), None
    if history is None:
        df, n, method = np.inf, table.watched, GREENWOOD
    else:
        moves = in_own_column(history, _influence(table, pieces[:, 1:], to_come))
        variance, method = outer_sums(history, moves), CLUSTERED
        variance[np.abs(variance) < 1e-24 * until_h**2] = (
            0.0  # rounding: nothing varies, as in a single litter
        )
        direction = np.array([-1.0, 1.0])[-rows.n_groups :]
        df = satterthwaite(history, moves, direction)
        n = table.watched / cluster_sizes(history).design_effect
        if are_few(history.clusters, table.watched.sum()):
            sizes, lost = sizes_by_cluster(history)
            few = few_groups(sizes, float(lost.sum() / max(sizes.sum(), 1.0)), direction)
    return _Areas(pieces.sum(axis=1), variance, df, bool(watched.all()), deaths, n, method, alone, few)


def _influence(table: EventTable, pieces: Floats, to_come: Floats) -> Floats:
    """Influence of each coming and going on the group's area, in the order of the codes.

    While at risk all newborns move the curve alike; from the end of a newborn on, its influence on the
    curve is a constant times the share alive.
    """
    alike = np.cumsum(hazard_per_survivor(table.at_risk, table.deaths), axis=1)
    so_far = np.cumsum(alike * pieces, axis=1) - alike * pieces
    left = so_far + alike * to_come
    lost = left - per_survivor(table.at_risk, table.deaths) * to_come
    return by_kind(left, [lost], -left)
