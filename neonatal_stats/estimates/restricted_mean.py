"""Restricted mean survival: hours alive, on average, out of a window."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, codes
from neonatal_stats.estimates.cluster_sums import by_kind, clustered_rows, in_own_column, outer_sums
from neonatal_stats.estimates.counts import EventTable, tabulate
from neonatal_stats.estimates.quantiles import critical, two_sided
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.rows import Rows, read_rows
from neonatal_stats.estimates.survival import hazard_per_survivor, per_survivor, product_limit


@dataclass(frozen=True, eq=False)
class _Means:
    """Mean hours alive of each group up to a mark, and the variance matrix of those means."""

    hours: Floats
    variance: Floats
    followed: bool


def restricted_mean(
    age_h: ArrayLike,
    died: ArrayLike,
    *,
    until_h: float,
    cluster: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    level: float = 0.95,
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
    Clustered: influence on the area summed within litters, squared, summed. As ``print(survfit(...),
    rmean=)`` in R. The interval is symmetric and kept within the window.

    References
    ----------
    Royston P, Parmar MKB (2013) BMC Med Res Methodol 13:152.

    Examples
    --------
    >>> restricted_mean([2, 4], [1, 0], until_h=4).estimate      # 2 + 2 x 1/2
    3.0
    """
    means = _means(read_rows(age_h, died, None, entry_h, weight, n_causes=1), cluster, until_h)
    method = "area under Kaplan-Meier, " + (
        "Greenwood" if cluster is None else "clustered infinitesimal jackknife"
    )
    if not means.followed:
        return _not_followed(until_h, method)
    hours, half = float(means.hours[0]), float(critical(level) * np.sqrt(means.variance[0, 0]))
    return Estimate(hours, max(hours - half, 0.0), min(hours + half, float(until_h)), np.nan, method)


def restricted_mean_difference(
    age_h: ArrayLike,
    died: ArrayLike,
    group: ArrayLike,
    *,
    until_h: float,
    cluster: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    level: float = 0.95,
) -> Estimate:
    """Mean hours alive up to ``until_h`` in group 1 less those in group 0.

    Parameters and Method as in :func:`restricted_mean`; littermates in different groups are allowed for.
    """
    codes(group, "group", below=2)
    means = _means(read_rows(age_h, died, group, entry_h, weight, n_groups=2, n_causes=1), cluster, until_h)
    method = "difference of areas under Kaplan-Meier, " + (
        "Greenwood" if cluster is None else "clustered infinitesimal jackknife"
    )
    if not means.followed:
        return _not_followed(until_h, method)
    difference = float(means.hours[1] - means.hours[0])
    se = float(np.sqrt(max(means.variance[0, 0] + means.variance[1, 1] - 2 * means.variance[0, 1], 0.0)))
    half = float(critical(level)) * se
    p = float(two_sided(difference / se)) if se else np.nan
    return Estimate(difference, difference - half, difference + half, p, method)


def _not_followed(until_h: float, method: str) -> Estimate:
    note = f"cannot be estimated: nobody was followed to {until_h:g} hours in every group"
    return Estimate(np.nan, np.nan, np.nan, np.nan, method, note)


def _means(rows: Rows, cluster: ArrayLike | None, until_h: float) -> _Means:
    history = None
    if cluster is not None:
        rows, history = clustered_rows(rows, cluster, None, across_groups=True)
    table = tabulate(rows, every_age=True)
    share = product_limit(table.at_risk, table.deaths)
    watched = table.at_risk[:, table.age_h >= until_h].any(axis=1) | (share == 0).any(axis=1)
    widths = np.diff(np.minimum(np.concatenate([[0.0], table.age_h, [np.inf]]), until_h))
    areas = np.hstack([np.ones((len(share), 1)), share]) * widths
    to_come = areas[:, ::-1].cumsum(axis=1)[:, ::-1][:, 1:]
    if history is None:
        spent = hazard_per_survivor(table.at_risk, table.deaths)
        variance = np.diag((to_come**2 * spent).sum(axis=1))
    else:
        own = _influence(table, areas[:, 1:], to_come)
        variance = outer_sums(history, in_own_column(history, own))
    return _Means(areas.sum(axis=1), variance, bool(watched.all()))


def _influence(table: EventTable, areas: Floats, to_come: Floats) -> Floats:
    """Influence of each coming and going on the group's area, in the order of the codes.

    While at risk all newborns move the curve alike; from the end of a newborn on, its influence on the
    curve is a constant times the share alive.
    """
    alike = np.cumsum(hazard_per_survivor(table.at_risk, table.deaths), axis=1)
    so_far = np.cumsum(alike * areas, axis=1) - alike * areas
    left = so_far + alike * to_come
    lost = left - per_survivor(table.at_risk, table.deaths) * to_come
    return by_kind(left, [lost], -left)
