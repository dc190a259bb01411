"""Kaplan-Meier: what share of newborns is alive at each age.

Two variances: Greenwood's, for newborns that know nothing of each other, and the infinitesimal jackknife
summed within clusters, for littermates. Both are the numbers R's ``survfit`` gives, without and with
``cluster``.

References
----------
Kaplan EL, Meier P (1958) J Am Stat Assoc 53:457-481. Greenwood M (1926) Reports on Public Health 33:1-26.
Kalbfleisch JD, Prentice RL (2002) The Statistical Analysis of Failure Time Data, section 1.4 (log-log
interval).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, as_recorded
from neonatal_stats.estimates.curves.cluster_sizes import ClusterSizes, cluster_sizes
from neonatal_stats.estimates.curves.cluster_sums import by_kind, squared_sums
from neonatal_stats.estimates.curves.counts import EventTable, tabulate, without_dust
from neonatal_stats.estimates.curves.histories import Histories, clustered_rows
from neonatal_stats.estimates.curves.intervals import log_log
from neonatal_stats.estimates.curves.product_limit import hazard_per_survivor, per_survivor, product_limit
from neonatal_stats.estimates.curves.rows import read_rows


@dataclass(frozen=True, eq=False)
class Curve:
    """Share surviving past each age, by group, with its interval; NaN in a group without newborns.

    ``age_h (K,)``; the others ``(G, K)``: ``at_risk`` just before the age, ``events`` at it, ``share``
    alive after it. Past the last age at which a group was followed the share is carried on: read it with
    :func:`survival_at`.
    """

    age_h: Floats
    at_risk: Floats
    events: Floats
    share: Floats
    se: Floats
    low: Floats
    high: Floats
    method: str


def kaplan_meier(table: EventTable, *, level: float = 0.95) -> Curve:
    """Survival of each group with Greenwood's variance and complementary log-log interval.

    Parameters
    ----------
    table : event table; all its causes are losses.
    level : of the interval.

    Returns
    -------
    Curve

    Limits
    ------
    Takes littermates as independent: for a season's own curve use :func:`kaplan_meier_clustered`. Where
    nobody has died yet, or everybody has, the log-log interval does not exist and Wilson's bound stands in.

    Examples
    --------
    >>> curve = kaplan_meier(count_events([1, 1, 2, 3], [1, 0, 1, 0]))
    >>> curve.share.tolist()      # 3/4, then 3/4 x 1/2
    [[0.75, 0.375, 0.375]]
    """
    deaths = table.deaths
    share = product_limit(table.at_risk, deaths)
    spent = np.cumsum(hazard_per_survivor(table.at_risk, deaths), axis=1)
    se = share * np.sqrt(spent)
    return _curve(table, share, se, level, "Kaplan-Meier, Greenwood, log-log interval")


def kaplan_meier_clustered(
    age_h: ArrayLike,
    died: ArrayLike,
    cluster: ArrayLike,
    *,
    group: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    copies: ArrayLike | None = None,
    n_groups: int | None = None,
    level: float = 0.95,
) -> Curve:
    """Survival of each group, its variance clustered on the litter.

    Parameters
    ----------
    age_h, died : age at death or at last being seen (n,), and 1 died, 0 left alive.
    cluster : whole numbers that name the litter, or the farm (n,). A cluster that has newborns in two groups
        counts as one cluster in each.
    group, entry_h, weight, n_groups : as in :func:`~neonatal_stats.estimates.curves.counts.count_events`.
    copies : how many identical clusters this row's cluster stands for (n,), for counts made elsewhere: each
        distinct litter once, and how often it occurred.

    Returns
    -------
    Curve

    Method
    ------
    Infinitesimal jackknife: with h the deaths over those at risk, d S(t) / d w of a newborn is S(t) times
    the sum of h / (at risk - deaths) while it was at risk, less 1 / (at risk - deaths) at its own death;
    summed within clusters, squared, summed over clusters. As R's ``survfit(Surv(age, died) ~ group, cluster
    = litter)``, but for the interval of fewer than 30 clusters, which is widened: Student's t of clusters -
    1 and clusters / (clusters - 1).

    References
    ----------
    Therneau TM, Grambsch PM (2000) Modeling Survival Data, section 2.2 and chapter 7.
    """
    rows = read_rows(age_h, died, group, entry_h, weight, n_groups, n_causes=1, called="died")
    rows, history = clustered_rows(rows, cluster, copies)
    table = tabulate(rows, every_age=True)
    deaths = table.deaths
    share = product_limit(table.at_risk, deaths)
    se = share * np.sqrt(_squared_influence(table.at_risk, deaths, history))
    method = "Kaplan-Meier, clustered infinitesimal jackknife, log-log interval"
    seen = table.seen
    return _curve(table.at_ages(seen), share[:, seen], se[:, seen], level, method, cluster_sizes(history))


def _squared_influence(at_risk: Floats, deaths: Floats, history: Histories) -> Floats:
    """Sum over clusters of squared influence on log survival, at each age, (G, K)."""
    alike = np.cumsum(hazard_per_survivor(at_risk, deaths), axis=1)
    ones = np.ones_like(alike)
    after_loss = alike - per_survivor(at_risk, deaths)
    steps = [by_kind(-ones, [-ones], ones), by_kind(alike, [after_loss], -alike)]
    both, mixed, fixed = squared_sums(history, steps, [(0, 0), (0, 1), (1, 1)])
    parts = alike**2 * both, 2 * alike * mixed, fixed
    return without_dust(sum(parts, np.zeros_like(alike)), sum(map(np.abs, parts), np.zeros_like(alike)))


def _curve(
    table: EventTable, share: Floats, se: Floats, level: float, method: str, sizes: ClusterSizes | None = None
) -> Curve:
    at_risk, wide = table.at_risk, se
    if sizes is not None:
        at_risk, wide = at_risk / sizes.design_effect[:, None], se * sizes.widening(level)[:, None]
    low, high = log_log(share, wide, at_risk, at_risk, level)
    return Curve(table.age_h, table.at_risk, table.deaths, share, se, low, high, method)


def survival_at(curve: Curve, age_h: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Share surviving past given ages, with its interval: three arrays (G, ages asked for).

    Counted
    -------
    1 before the first age of the curve. NaN past the last age at which anyone of the group was watched,
    unless all of it had died: nothing is known there.
    """
    asked = as_recorded(np.atleast_1d(np.asarray(age_h, dtype=np.float64)))
    place = np.searchsorted(curve.age_h, asked, side="right")
    followed = np.where(curve.at_risk > 0, curve.age_h, -1.0).max(axis=1, initial=-1.0)[:, None]
    first = np.where(followed >= 0, 1.0, np.nan)
    shares = [np.hstack([first, column])[:, place] for column in (curve.share, curve.low, curve.high)]
    known = (asked <= followed) | (shares[0] == 0)
    share, low, high = (np.where(known, column, np.nan) for column in shares)
    return share, low, high
