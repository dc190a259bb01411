"""Life table: births at risk, deaths, risk and rate by age window."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats, Integers, codes
from neonatal_stats.estimates.clusters import are_few, few_groups
from neonatal_stats.estimates.counts import EventTable, Rows, read_rows, tabulate
from neonatal_stats.estimates.influence import clustered_rows
from neonatal_stats.estimates.results import OfArrays, ratio
from neonatal_stats.estimates.survival import hazard_per_survivor, kaplan_meier, log_log, product_limit

HOURS_A_DAY = 24.0


@dataclass(frozen=True, eq=False, repr=False)
class LifeTable(OfArrays):
    """One column a window, ``(G, W)``: from ``start_h`` up to but without ``end_h``; the last with its end.

    ``at_risk`` under watch at the start; ``deaths`` in the window; ``risk`` share of those alive at the start that dies
    in it; ``newborn_days`` watched; ``hazard`` deaths per newborn-day. NaN where nobody was watched.
    """

    start_h: Floats
    end_h: Floats
    at_risk: Floats
    deaths: Floats
    risk: Floats
    risk_low: Floats
    risk_high: Floats
    newborn_days: Floats
    hazard: Floats
    hazard_low: Floats
    hazard_high: Floats
    method: str


def life_table(
    age_h: ArrayLike,
    died: ArrayLike,
    edges_h: ArrayLike,
    *,
    level: float,
    cluster: ArrayLike | None = None,
    group: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    n_groups: int | None = None,
) -> LifeTable:
    """Deaths by age window; ``edges_h`` (W + 1,) are the windows' edges, rising.

    Method
    ------
    Risk by Kaplan-Meier within the window with the log-log interval: Greenwood's variance, or with clusters
    the clustered variance of those still watched when the window opens. Hazard with Garwood's exact Poisson
    limits: on deaths, or with clusters on deaths / design effect, which is the variance of deaths less hazard
    x days summed within litters, over the deaths, and never below 1.

    Limits
    ------
    Ages in whole hours run to the hour begun, so that a newborn that died in its first hour adds no time;
    newborns that left within a window count for the risk up to when they left.

    References
    ----------
    Garwood F (1936) Biometrika 28:437-442.

    Examples
    --------
    >>> from neonatal_stats.estimates import life_table
    >>> table = life_table([12, 36, 48, 48], [1, 1, 0, 0], [0, 24, 48], level=0.95)
    >>> table.deaths.tolist(), table.newborn_days.tolist()      # 0.5 + 3, then 0.5 + 2
    ([[1.0, 1.0]], [[3.5, 2.5]])
    """
    edges = arguments.ages(edges_h, "edges_h")
    falls = np.flatnonzero(np.diff(edges) <= 0)
    if falls.size:
        raise ValueError(f"edges_h: edges must rise; found {edges[falls[0] + 1]} at position {falls[0] + 1}")
    if len(edges) < 2:
        raise ValueError(f"edges_h: at least two edges are needed; found {len(edges)}")
    rows = read_rows(age_h, died, group, entry_h, weight, n_groups, n_causes=1, called="died")
    whole = rows if repeats is None else clustered_rows(rows, cluster, repeats)[0]
    plain = _independent(tabulate(whole), edges, level)
    if cluster is None:
        return plain
    return _clustered(plain, _Stay.of(rows, entry_h, cluster, repeats), rows.n_groups, level)


def _independent(table: EventTable, edges: Floats, level: float) -> LifeTable:
    """Every window, littermates taken as independent."""
    windows = [_window(table, edges, i, level) for i in range(len(edges) - 1)]
    at_risk, deaths, risk, low, high, days = (
        np.stack(column, axis=1) for column in zip(*windows, strict=True)
    )
    rate_low, rate_high = _garwood(deaths, level)
    return LifeTable(
        edges[:-1], edges[1:], at_risk, deaths, risk, low, high, days, ratio(deaths, days),
        ratio(rate_low, days), ratio(rate_high, days), "Kaplan-Meier risk, Greenwood; exact Poisson hazard",
    )  # fmt: skip


def _window(table: EventTable, edges: Floats, i: int, level: float) -> tuple[Floats, ...]:
    """At risk, deaths, risk with its interval, and newborn-days of one window; each (G,)."""
    start, end = edges[i], edges[i + 1]
    first = np.searchsorted(table.age_h, start)
    last = np.searchsorted(table.age_h, end, side="right" if i == len(edges) - 2 else "left")
    began = _under_watch(table, start)
    within = slice(int(first), int(last))
    at_risk, deaths = table.at_risk[:, within], table.deaths[:, within]
    alive = product_limit(at_risk, deaths)[:, -1:] if first < last else np.ones((len(began), 1))
    watched = np.maximum(began, at_risk.max(axis=1, initial=0.0))[:, None]
    alive = np.where(watched > 0, np.where(np.isfinite(alive), alive, 1.0), np.nan)
    se = alive * np.sqrt(hazard_per_survivor(at_risk, deaths).sum(axis=1, keepdims=True))
    low, high = log_log(alive, se, watched, watched, level)
    days = _newborn_days(table, start, end)
    return began, deaths.sum(axis=1), 1 - alive[:, 0], 1 - high[:, 0], 1 - low[:, 0], days


def _under_watch(table: EventTable, start: float) -> Floats:
    """Newborns watched and alive when the window opens."""
    later = table.age_h >= start
    watched: Floats = (table.deaths + table.left)[:, later].sum(axis=1)
    return watched if table.entered is None else watched - table.entered[:, later].sum(axis=1)


def _newborn_days(table: EventTable, start: float, end: float) -> Floats:
    inside = np.clip(table.age_h - start, 0.0, end - start)
    hours = (table.deaths + table.left) @ inside
    if table.entered is not None:
        hours = hours - table.entered @ inside
    return np.asarray(hours / HOURS_A_DAY)


def _garwood(events: Floats, level: float) -> tuple[Floats, Floats]:
    """Exact Poisson limits of a count."""
    tail = (1 - arguments.share(level)) / 2
    low = np.where(events > 0, special.gammaincinv(np.maximum(events, 1e-300), tail), 0.0)
    return low, special.gammainccinv(events + 1, tail)


def _clustered(plain: LifeTable, newborns: _Stay, n_groups: int, level: float) -> LifeTable:
    """The same deaths and days, with intervals that know who shares a litter."""
    last = len(plain.start_h) - 1
    stays = [newborns.within(plain.start_h[i], plain.end_h[i], closed=i == last) for i in range(last + 1)]
    bounds = [_risk_bounds(stay, n_groups, level) for stay in stays]
    low, high = (np.stack(bound, axis=1) for bound in zip(*bounds, strict=True))
    effect = np.stack(
        [_design_effect(stays[i], plain.hazard[:, i], plain.start_h[i], level) for i in range(last + 1)],
        axis=1,
    )
    rate_low, rate_high = _garwood(plain.deaths / effect, level)
    known, days = np.isfinite(plain.risk), plain.newborn_days / effect
    return replace(
        plain,
        risk_low=np.where(known, low, np.nan),
        risk_high=np.where(known, high, np.nan),
        hazard_low=ratio(rate_low, days),
        hazard_high=ratio(rate_high, days),
        method="Kaplan-Meier risk and Poisson hazard, clustered",
    )


@dataclass(frozen=True, eq=False)
class _Stay:
    """When each newborn was watched, and how that ended, (n,) each."""

    entry_h: Floats
    exit_h: Floats
    died: NDArray[np.bool_]
    cluster: Integers
    group: Integers
    weight: Floats
    repeats: Integers | None

    @classmethod
    def of(
        cls, rows: Rows, entry_h: ArrayLike | None, cluster: ArrayLike, repeats: ArrayLike | None
    ) -> _Stay:
        """Stays of checked rows."""
        n = len(rows)
        return cls(
            np.zeros(n) if entry_h is None else np.asarray(entry_h, dtype=np.float64),
            rows.age_h[rows.place],
            np.asarray(rows.outcome) > 0,
            codes(cluster, "cluster"),
            np.zeros(n, dtype=np.int64) if rows.group is None else rows.group.astype(np.int64),
            np.ones(n) if rows.weight is None else rows.weight,
            None if repeats is None else codes(repeats, "repeats"),
        )

    def within(self, start: float, end: float, *, closed: bool) -> _Stay:
        """The part of the stays that falls into a window; newborns that outlive it leave at its end."""
        some = (self.exit_h >= start) & (self.entry_h < end)
        before_end = self.exit_h <= end if closed else self.exit_h < end
        return _Stay(
            self.entry_h[some],
            np.minimum(self.exit_h, end)[some],
            (self.died & before_end)[some],
            self.cluster[some],
            self.group[some],
            self.weight[some],
            None if self.repeats is None else self.repeats[some],
        )

    def hours_from(self, start: float) -> Floats:
        """Hours watched after the window opened."""
        return self.exit_h - np.maximum(self.entry_h, start)


def _risk_bounds(stay: _Stay, n_groups: int, level: float) -> tuple[Floats, Floats]:
    if not len(stay.exit_h):
        return np.full(n_groups, np.nan), np.full(n_groups, np.nan)
    curve = kaplan_meier(
        stay.exit_h,
        stay.died,
        cluster=stay.cluster,
        group=stay.group,
        entry_h=stay.entry_h,
        weight=stay.weight,
        repeats=stay.repeats,
        n_groups=n_groups,
        level=level,
    )
    return 1 - curve.high[:, -1], 1 - curve.low[:, -1]


def _design_effect(stay: _Stay, hazard: Floats, start: float, level: float) -> Floats:
    """Variance of deaths less hazard x days, summed within clusters, over the deaths; at least 1.

    With few clusters in a group it is widened, so that limits by the normal quantile (here Garwood's) hold.
    """
    excess = stay.weight * (stay.died - hazard[stay.group] * stay.hours_from(start) / HOURS_A_DAY)
    unit, first, which = np.unique(
        stay.cluster * len(hazard) + stay.group, return_index=True, return_inverse=True
    )
    each = np.ones(len(which), dtype=np.int64) if stay.repeats is None else stay.repeats
    times = each[first]
    squares = times * np.bincount(which, excess, len(unit)) ** 2
    variance = np.bincount(unit % len(hazard), squares, len(hazard))
    deaths = np.bincount(stay.group, stay.weight * each * stay.died, len(hazard))
    effect = np.divide(variance, deaths, out=np.ones(len(hazard)), where=deaths > 0)
    newborns = np.bincount(which, stay.weight, len(unit))
    for group in range(len(hazard)):
        own = unit % len(hazard) == group
        if are_few(times[own].sum(), (times * newborns)[own].sum()):
            sizes = np.repeat(newborns[own], times[own])
            few = few_groups(sizes[:, None], deaths[group] / sizes.sum(), [1.0])
            effect[group] = few.effect(effect[group], level)
    return np.maximum(effect, 1.0)
