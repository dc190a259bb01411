"""Aalen-Johansen: what share of newborns has been lost of each cause by each age.

The causes compete: at every age the shares lost of each cause and the share alive add up to 1. One minus
Kaplan-Meier for a single cause, others taken as leaving, overstates and is not offered.

References
----------
Aalen OO, Johansen S (1978) Scand J Statist 5:141-150. Aalen O (1978) Ann Statist 6:534-545 (variance). Gray RJ
(1988) Ann Statist 16:1141-1154 (the same variance, with ties).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.counts import EventTable, read_rows, tabulate, without_dust
from neonatal_stats.estimates.influence import (
    Histories,
    by_kind,
    cluster_sizes,
    clustered_rows,
    squared_sums,
    widened,
)
from neonatal_stats.estimates.results import OfArrays
from neonatal_stats.estimates.survival import hazard_per_survivor, log_log, per_survivor, product_limit

AALEN = "Aalen-Johansen, Aalen variance, log-log interval"
CLUSTERED = "Aalen-Johansen, clustered infinitesimal jackknife, log-log interval"


@dataclass(frozen=True, eq=False, repr=False)
class Incidence(OfArrays):
    """Share lost of each cause by each age, by group, with its interval; NaN in a group without newborns.

    ``age_h (K,)``; ``at_risk, alive (G, K)``: number at risk just before the age and share alive after it;
    ``events, share, se, low, high (G, K, C)``: number lost at the age and share lost by then, of cause 1 to C.
    """

    age_h: Floats
    at_risk: Floats
    events: Floats
    alive: Floats
    share: Floats
    se: Floats
    low: Floats
    high: Floats
    method: str


def aalen_johansen(
    age_h: ArrayLike,
    outcome: ArrayLike,
    *,
    level: float,
    cluster: ArrayLike | None = None,
    group: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    n_groups: int | None = None,
    n_causes: int | None = None,
) -> Incidence:
    """Cumulative incidence of every cause, with its interval: 1 minus the complementary log-log interval of 1 - share.

    With a single cause that is the Kaplan-Meier interval turned over.

    Method
    ------
    Without clusters Aalen's variance as ``cmprsk::cuminc`` has it under ties. With them the infinitesimal
    jackknife: influence values as R's multi-state ``survfit(Surv(age, factor(outcome)) ~ group, influence =
    TRUE)`` gives them, exact under ties; summed within clusters, squared, summed over clusters.

    Examples
    --------
    >>> from neonatal_stats.estimates import aalen_johansen
    >>> lost = aalen_johansen([1, 1, 2, 3], [1, 2, 1, 0], level=0.95)
    >>> lost.share[0].tolist(), lost.alive[0].tolist()      # 1/4 each, then 1/2 x 1/2 more
    ([[0.25, 0.25], [0.5, 0.25], [0.5, 0.25]], [0.5, 0.25, 0.25])
    """
    rows = read_rows(age_h, outcome, group, entry_h, weight, n_groups, n_causes)
    rows, history = clustered_rows(rows, cluster, repeats)
    table = tabulate(rows, every_age=history is not None)
    alive = product_limit(table.at_risk, table.deaths)
    share = lost_by_cause(table, alive)
    if history is None:
        variance = np.maximum(_aalen_variance(table, alive, share), 0.0)
    else:
        variance = _squared_influence(table, alive, share, history)
    seen = table.seen
    table, alive, share, se = table.at_ages(seen), alive[:, seen], share[:, seen], np.sqrt(variance[:, seen])
    wide = se
    if history is not None and (few := cluster_sizes(history).few).any():
        alone = np.sqrt(np.maximum(_aalen_variance(table, alive, share, binomial=True), 0.0))
        wide = widened(history, se, alone, few, level)
    low, high = _limits(table, share, wide, history, level)
    method = AALEN if history is None else CLUSTERED
    return Incidence(table.age_h, table.at_risk, table.events, alive, share, se, low, high, method)


def alive_before(alive: Floats) -> Floats:
    """Share alive just before each age."""
    at_birth = np.where(np.isnan(alive[:, :1]), np.nan, 1.0)
    return np.hstack([at_birth, alive[:, :-1]])


def lost_by_cause(table: EventTable, alive: Floats) -> Floats:
    """Share lost of each cause by each age, (G, K, C); NaN for a group that never had anyone at risk."""
    at_risk = table.at_risk[..., None]
    hazard = np.divide(table.events, at_risk, out=np.zeros_like(table.events), where=at_risk > 0)
    share: Floats = np.cumsum(alive_before(alive)[..., None] * hazard, axis=1)
    return share


def _aalen_variance(table: EventTable, alive: Floats, share: Floats, *, binomial: bool = False) -> Floats:
    """Sum of two independent parts: deaths of the cause itself and deaths of any other cause.

    With u = (F(t) - F(s)) / S(s), a death of the cause at s moves F(t) by 1 - u and one of another cause by
    -u; each count's variance is hypergeometric, d (n - d) / (n - 1), or binomial, d (n - d) / n.
    """
    before, deaths = alive_before(alive)[..., None], table.deaths[..., None]
    at_risk = table.at_risk[..., None]
    own = before**2 * _count_variance(table.events, at_risk, binomial)
    other = before**2 * _count_variance(deaths - table.events, at_risk, binomial)
    after = np.where(np.isfinite(alive), alive, 0.0)[..., None]
    per_alive = np.divide(1.0, after, out=np.zeros_like(after), where=after > 0)
    shift = 1 + per_alive * share
    flat = np.cumsum(shift**2 * own + (per_alive * share) ** 2 * other * (after > 0), axis=1)
    slope = np.cumsum(per_alive * (shift * own + per_alive * share * other), axis=1)
    curve = np.cumsum(per_alive**2 * (own + other), axis=1)
    variance: Floats = flat - 2 * share * slope + share**2 * curve
    return variance


def _count_variance(deaths: Floats, at_risk: Floats, binomial: bool) -> Floats:
    """Hypergeometric (or binomial) variance of the deaths at one age over the number at risk squared."""
    some = (at_risk > 0) if binomial else (deaths > 1) & (at_risk > 1)
    rest = np.divide(at_risk - deaths, at_risk - (not binomial), out=np.ones_like(deaths), where=some)
    return np.divide(deaths * rest, at_risk**2, out=np.zeros_like(deaths), where=at_risk > 0)


def _squared_influence(table: EventTable, alive: Floats, share: Floats, history: Histories) -> Floats:
    """Sum over clusters of squared influence on the share lost of each cause, (G, K, C).

    A cluster's influence on cause c at age t is alike_c(t) x at risk + share_c(t) x P + Q_c, where P and
    Q_c step only when one of its newborns comes or goes.
    """
    still_1 = np.cumsum(hazard_per_survivor(table.at_risk, table.deaths), axis=1)
    gone_1 = still_1 - per_survivor(table.at_risk, table.deaths)
    per_death = np.divide(
        alive_before(alive), table.at_risk, out=np.zeros_like(alive), where=table.at_risk > 0
    )
    ones = np.ones_like(still_1)
    causes = share.shape[2]
    risk = by_kind(-ones, [-ones] * causes, ones)
    slope = by_kind(still_1, [gone_1] * causes, -still_1)
    still = np.moveaxis(influence_at_risk(table, alive, share, still_1), 2, 0)
    lost = np.moveaxis(share, 2, 0)
    offsets = [
        by_kind(
            still[c] - still_1 * lost[c],
            [still[c] - gone_1 * lost[c] + (per_death if k == c else 0) for k in range(causes)],
            still_1 * lost[c] - still[c],
        )
        for c in range(causes)
    ]
    pairs = [(0, 0), (0, 1), (1, 1)]
    for c in range(causes):
        pairs += [(0, 2 + c), (1, 2 + c), (2 + c, 2 + c)]
    sums = squared_sums(history, [risk, slope, *offsets], pairs)
    risks, risk_slope, slopes = sums[:3]
    risk_offset, slope_offset, squares = sums[3::3], sums[4::3], sums[5::3]
    parts = [still**2 * risks, lost**2 * slopes, squares]
    parts += [2 * still * lost * risk_slope, 2 * still * risk_offset, 2 * lost * slope_offset]
    total = without_dust(sum(parts, np.zeros_like(still)), sum(map(np.abs, parts), np.zeros_like(still)))
    return np.moveaxis(total, 0, 2)


def influence_at_risk(table: EventTable, alive: Floats, share: Floats, still: Floats) -> Floats:
    """Influence on each cause of a newborn watched from birth and at risk after each age, (G, K, C)."""
    before = np.hstack([np.zeros((len(still), 1)), still[:, :-1]])[..., None]
    at_risk = table.at_risk[..., None]
    hazard = np.divide(table.events, at_risk, out=np.zeros_like(table.events), where=at_risk > 0)
    grown = np.diff(share, axis=1, prepend=0.0)
    per_death = alive_before(alive)[..., None] * np.divide(
        hazard, at_risk, out=np.zeros_like(hazard), where=at_risk > 0
    )
    influence: Floats = np.cumsum(before * grown - per_death, axis=1)
    return influence


def _limits(
    table: EventTable, share: Floats, se: Floats, history: Histories | None, level: float
) -> tuple[Floats, Floats]:
    """Limits of the share lost of each cause, from those of the share spared it."""
    told, at_risk = table.at_risk + np.cumsum(table.deaths, axis=1) - table.deaths, table.at_risk
    if history is not None:
        sizes = cluster_sizes(history)
        effect = sizes.design_effect[:, None]
        at_risk, told = at_risk / effect, told / effect
    kept = without_dust(1 - share, np.ones_like(share))
    bounds = [
        log_log(kept[..., cause], se[..., cause], at_risk, told, level) for cause in range(share.shape[2])
    ]
    high, low = (1 - np.stack(bound, axis=2) for bound in zip(*bounds, strict=True))
    return low, high
