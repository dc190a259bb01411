"""Kaplan-Meier: what share of newborns is alive at each age, and how many hours alive that makes on average.

Two variances: Greenwood's, for newborns that know nothing of each other, and the infinitesimal jackknife summed
within clusters, for littermates. Both are the numbers R's ``survfit`` gives, without and with ``cluster``.

References
----------
Kaplan EL, Meier P (1958) J Am Stat Assoc 53:457-481. Greenwood M (1926) Reports on Public Health 33:1-26.
Kalbfleisch JD, Prentice RL (2002) The Statistical Analysis of Failure Time Data, section 1.4 (log-log interval).
Therneau TM, Grambsch PM (2000) Modeling Survival Data, section 2.2 and chapter 7. Royston P, Parmar MKB (2013)
BMC Med Res Methodol 13:152 (restricted mean).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, as_recorded, codes
from neonatal_stats.estimates.clusters import FewClusters, are_few, few_groups
from neonatal_stats.estimates.counts import EventTable, Rows, read_rows, tabulate, without_dust
from neonatal_stats.estimates.influence import (
    Histories,
    by_kind,
    cluster_sizes,
    clustered_rows,
    in_own_column,
    outer_sums,
    satterthwaite,
    sizes_by_cluster,
    squared_sums,
    widened,
)
from neonatal_stats.estimates.results import Estimate, OfArrays, critical, two_sided

GREENWOOD = "Kaplan-Meier, Greenwood, log-log interval"
CLUSTERED = "Kaplan-Meier, clustered infinitesimal jackknife, log-log interval"


@dataclass(frozen=True, eq=False, repr=False)
class Curve(OfArrays):
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


def kaplan_meier(
    age_h: ArrayLike,
    died: ArrayLike,
    *,
    level: float,
    cluster: ArrayLike | None = None,
    group: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    n_groups: int | None = None,
) -> Curve:
    """Survival of each group, with its interval. A cluster with newborns in two groups counts as one in each.

    Method
    ------
    Without clusters Greenwood's variance. With them the infinitesimal jackknife: with h the deaths over those
    at risk, d S(t) / d w of a newborn is S(t) times the sum of h / (at risk - deaths) while it was at risk,
    less 1 / (at risk - deaths) at its own death; summed within clusters, squared, summed over clusters. As R's
    ``survfit(Surv(age, died) ~ group, cluster = litter)``, but for the interval of few clusters (`FewClusters`).
    Complementary log-log interval; where nobody has died yet, or everybody has, it does not exist and Wilson's bound
    stands in.

    Examples
    --------
    >>> from neonatal_stats.estimates import kaplan_meier
    >>> curve = kaplan_meier([1, 1, 2, 3], [1, 0, 1, 0], level=0.95)
    >>> curve.share.tolist()      # 3/4, then 3/4 x 1/2
    [[0.75, 0.375, 0.375]]
    """
    rows = read_rows(age_h, died, group, entry_h, weight, n_groups, n_causes=1, called="died")
    rows, history = clustered_rows(rows, cluster, repeats)
    table = tabulate(rows, every_age=history is not None)
    share = product_limit(table.at_risk, table.deaths)
    se = alone = share * np.sqrt(np.cumsum(hazard_per_survivor(table.at_risk, table.deaths), axis=1))
    if history is not None:
        se = share * np.sqrt(_squared_influence(table.at_risk, table.deaths, history))
    seen = table.seen
    share, se, alone, table = share[:, seen], se[:, seen], alone[:, seen], table.at_ages(seen)
    told, wide = table.at_risk, se
    if history is not None:
        sizes = cluster_sizes(history)
        told, wide = told / sizes.design_effect[:, None], widened(history, se, alone, sizes.few, level)
    low, high = log_log(share, wide, told, told, level)
    method = GREENWOOD if history is None else CLUSTERED
    return Curve(table.age_h, table.at_risk, table.deaths, share, se, low, high, method)


def survival_at(curve: Curve, age_h: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Share surviving past given ages, with its interval: three arrays (G, ages asked for).

    1 before the first age of the curve; NaN past the last age at which anyone of the group was watched, unless all of
    it had died: nothing is known there.
    """
    asked = as_recorded(np.atleast_1d(np.asarray(age_h, dtype=np.float64)))
    place = np.searchsorted(curve.age_h, asked, side="right")
    followed = np.where(curve.at_risk > 0, curve.age_h, -1.0).max(axis=1, initial=-1.0)[:, None]
    first = np.where(followed >= 0, 1.0, np.nan)
    shares = [np.hstack([first, column])[:, place] for column in (curve.share, curve.low, curve.high)]
    known = (asked <= followed) | (shares[0] == 0)
    share, low, high = (np.where(known, column, np.nan) for column in shares)
    return share, low, high


def product_limit(at_risk: Floats, deaths: Floats) -> Floats:
    """Share surviving past each age, (G, K); NaN for a group that never had anyone at risk."""
    staying = np.divide(_survivors(at_risk, deaths), at_risk, out=np.ones_like(at_risk), where=at_risk > 0)
    share = np.cumprod(staying, axis=1)
    return np.where(at_risk.any(axis=1, keepdims=True), share, np.nan)


def _survivors(at_risk: Floats, deaths: Floats) -> Floats:
    """Those at risk that the age did not take."""
    return without_dust(at_risk - deaths, at_risk)


def per_survivor(at_risk: Floats, deaths: Floats) -> Floats:
    """1 over those at risk that the age did not take; 0 where it took all, since the share then stays 0."""
    alive = _survivors(at_risk, deaths)
    inverse: Floats = np.divide(1.0, alive, out=np.zeros_like(alive), where=alive > 0)
    return inverse


def hazard_per_survivor(at_risk: Floats, deaths: Floats) -> Floats:
    """deaths / (at risk x survivors): the step of Greenwood's sum, and of every newborn's influence."""
    hazard = np.divide(deaths, at_risk, out=np.zeros_like(deaths), where=at_risk > 0)
    per_alive: Floats = hazard * per_survivor(at_risk, deaths)
    return per_alive


def _squared_influence(at_risk: Floats, deaths: Floats, history: Histories) -> Floats:
    """Sum over clusters of squared influence on log survival, at each age, (G, K)."""
    alike = np.cumsum(hazard_per_survivor(at_risk, deaths), axis=1)
    ones = np.ones_like(alike)
    after_loss = alike - per_survivor(at_risk, deaths)
    steps = [by_kind(-ones, [-ones], ones), by_kind(alike, [after_loss], -alike)]
    both, mixed, fixed = squared_sums(history, steps, [(0, 0), (0, 1), (1, 1)])
    parts = alike**2 * both, 2 * alike * mixed, fixed
    return without_dust(sum(parts, np.zeros_like(alike)), sum(map(np.abs, parts), np.zeros_like(alike)))


def log_log(share: Floats, se: Floats, at_risk: Floats, n: Floats, level: float) -> tuple[Floats, Floats]:
    """Complementary log-log interval of a share surviving, (G, K), age along the last axis.

    Wilson's stands in where that one does not exist: on ``n`` newborns where nothing has been lost yet or nothing
    varies (a single litter); on those at risk when the last was lost, and never above the bound that held just
    before, where all is lost. ``at_risk`` and ``n`` are already divided by a design effect where there is one.
    """
    z = float(critical(level))
    inside = (share > 0) & (share < 1) & (se > 0)
    safe = np.where(inside, share, 0.5)
    spread = z * se / (safe * -np.log(safe))
    low, high = _wilson(share, n, z)
    low = np.where(inside, safe ** np.exp(spread), low)
    high = np.where(inside, safe ** np.exp(-spread), high)
    lost = share == 0
    high = np.where(lost, _all_lost(lost, high, at_risk, z), high)
    known = np.isfinite(share)
    return np.where(known, low, np.nan), np.where(known, high, np.nan)


def _wilson(share: Floats, n: Floats, z: float) -> tuple[Floats, Floats]:
    """Wilson's score interval of a share of n; from 0 to 1 where n is 0."""
    centre, total = n * share + z**2 / 2, n + z**2
    half = z * np.sqrt(n * share * (1 - share) + z**2 / 4)
    low = np.where(share == 0, 0.0, (centre - half) / total)
    return low, np.where(share == 1, 1.0, (centre + half) / total)


def _all_lost(lost: Floats, high: Floats, at_risk: Floats, z: float) -> Floats:
    if not lost.any():
        return np.zeros((len(lost), 1))
    first = np.argmax(lost, axis=1)[:, None]
    before = np.take_along_axis(high, np.maximum(first - 1, 0), axis=1)
    n = np.take_along_axis(at_risk, first, axis=1)
    return np.minimum(np.where(first > 0, before, 1.0), z**2 / (n + z**2))


MEAN_GREENWOOD = "area under Kaplan-Meier, Greenwood"
MEAN_CLUSTERED = "area under Kaplan-Meier, clustered infinitesimal jackknife, Student's t"
NO_DEATHS_IN_ONE = "no deaths in one group: the interval leaves out how uncertain that group is"


def restricted_mean(
    age_h: ArrayLike,
    died: ArrayLike,
    *,
    until_h: float,
    cluster: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    level: float,
) -> Estimate:
    """Mean hours alive up to ``until_h``: the area under the survival curve.

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
    rows = read_rows(age_h, died, None, entry_h, weight, n_causes=1, called="died")
    found = _areas(rows, cluster, until_h, repeats)
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
    repeats: ArrayLike | None = None,
    level: float,
) -> Estimate:
    """Mean hours alive up to ``until_h`` in group 1 less those in group 0, as `restricted_mean`.

    Littermates in different groups are allowed for. A group without deaths shows no variance of its own: the note
    says so.
    """
    codes(group, "group", below=2)
    found = _areas(
        read_rows(age_h, died, group, entry_h, weight, n_groups=2, n_causes=1, called="died"),
        cluster,
        until_h,
        repeats,
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


def _areas(rows: Rows, cluster: ArrayLike | None, until_h: float, repeats: ArrayLike | None = None) -> _Areas:
    """Area under each group's survival curve up to a mark, and its variance."""
    rows, history = clustered_rows(rows, cluster, repeats, across_groups=True)
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
        df, n, method = np.inf, table.watched, MEAN_GREENWOOD
    else:
        moves = in_own_column(history, _influence_on_area(table, pieces[:, 1:], to_come))
        variance, method = outer_sums(history, moves), MEAN_CLUSTERED
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


def _influence_on_area(table: EventTable, pieces: Floats, to_come: Floats) -> Floats:
    """Influence of each coming and going on the group's area, in the order of the codes.

    While at risk all newborns move the curve alike; from its end on a newborn's influence is a constant times the
    share alive.
    """
    alike = np.cumsum(hazard_per_survivor(table.at_risk, table.deaths), axis=1)
    so_far = np.cumsum(alike * pieces, axis=1) - alike * pieces
    left = so_far + alike * to_come
    lost = left - per_survivor(table.at_risk, table.deaths) * to_come
    return by_kind(left, [lost], -left)
