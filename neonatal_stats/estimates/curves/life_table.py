"""Life table: births at risk, deaths, risk and rate by age window."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.curves.counts import EventTable
from neonatal_stats.estimates.curves.intervals import log_log
from neonatal_stats.estimates.curves.product_limit import hazard_per_survivor, product_limit
from neonatal_stats.estimates.quantiles import ratio

HOURS_A_DAY = 24.0


@dataclass(frozen=True, eq=False)
class LifeTable:
    """One column a window, ``(G, W)``: from ``start_h`` up to but without ``end_h``; the last with its end.

    ``at_risk`` under watch at the start; ``deaths`` in the window; ``risk`` share of those alive at the
    start that dies in it; ``newborn_days`` watched; ``hazard`` deaths per newborn-day. NaN where nobody was
    watched.
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


def life_table(table: EventTable, edges_h: ArrayLike, *, level: float = 0.95) -> LifeTable:
    """Deaths by age window.

    Parameters
    ----------
    table : event table; all its causes are deaths.
    edges_h : edges of the windows, rising, (W + 1,).

    Returns
    -------
    LifeTable

    Method
    ------
    Risk by Kaplan-Meier within the window, Greenwood's variance and the log-log interval; hazard with
    Garwood's exact Poisson interval.

    Limits
    ------
    Littermates are taken as independent: for a season use
    :func:`~neonatal_stats.estimates.curves.life_table_clustered.life_table_clustered`. Ages in whole hours run to
    the hour begun, so that a newborn that died in its first hour adds no time; newborns that left within a
    window count for the risk up to when they left.

    References
    ----------
    Garwood F (1936) Fiducial limits for the Poisson distribution. Biometrika 28:437-442.

    Examples
    --------
    >>> table = life_table(count_events([12, 36, 48, 48], [1, 1, 0, 0]), [0, 24, 48])
    >>> table.deaths.tolist(), table.newborn_days.tolist()      # 0.5 + 3, then 0.5 + 2
    ([[1.0, 1.0]], [[3.5, 2.5]])
    """
    edges = arguments.ages(edges_h, "edges_h")
    falls = np.flatnonzero(np.diff(edges) <= 0)
    if falls.size:
        raise ValueError(f"edges_h: edges must rise; found {edges[falls[0] + 1]} at position {falls[0] + 1}")
    if len(edges) < 2:
        raise ValueError(f"edges_h: at least two edges are needed; found {len(edges)}")
    windows = [_window(table, edges, i, level) for i in range(len(edges) - 1)]
    at_risk, deaths, risk, low, high, days = (
        np.stack(column, axis=1) for column in zip(*windows, strict=True)
    )
    rate_low, rate_high = garwood(deaths, level)
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


def garwood(events: Floats, level: float) -> tuple[Floats, Floats]:
    """Exact Poisson limits of a count."""
    tail = (1 - arguments.share(level)) / 2
    low = np.where(events > 0, special.gammaincinv(np.maximum(events, 1e-300), tail), 0.0)
    return low, special.gammainccinv(events + 1, tail)
