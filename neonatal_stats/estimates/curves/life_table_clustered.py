"""Life table for littermates: the same deaths and days, intervals clustered on the litter."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates.arguments import Floats, Integers, codes
from neonatal_stats.estimates.curves.counts import tabulate
from neonatal_stats.estimates.curves.life_table import HOURS_A_DAY, LifeTable, garwood, life_table
from neonatal_stats.estimates.curves.rows import read_rows
from neonatal_stats.estimates.curves.survival import kaplan_meier_clustered
from neonatal_stats.estimates.quantiles import ratio


def life_table_clustered(
    age_h: ArrayLike,
    died: ArrayLike,
    cluster: ArrayLike,
    edges_h: ArrayLike,
    *,
    group: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    n_groups: int | None = None,
    level: float = 0.95,
) -> LifeTable:
    """Deaths by age window, with intervals that know who shares a litter.

    Parameters
    ----------
    age_h, died, cluster, group, entry_h, weight, n_groups : as in
        :func:`~neonatal_stats.estimates.curves.survival.kaplan_meier_clustered`.
    edges_h : edges of the windows, rising, (W + 1,).

    Returns
    -------
    LifeTable

    Method
    ------
    Risk: clustered Kaplan-Meier of those still watched when the window opens. Hazard: exact Poisson limits on
    deaths / design effect, which is the variance of deaths less hazard x days summed within litters, over the
    deaths, and never below 1.

    Limits
    ------
    Ages in whole hours run to the hour begun, as in :func:`~neonatal_stats.estimates.curves.life_table.life_table`.
    """
    rows = read_rows(age_h, died, group, entry_h, weight, n_groups, n_causes=1, called="died")
    plain = life_table(tabulate(rows), edges_h, level=level)
    newborns = _Stay(
        np.zeros(len(rows)) if entry_h is None else np.asarray(entry_h, dtype=np.float64),
        rows.age_h[rows.place],
        np.asarray(rows.outcome) > 0,
        codes(cluster, "cluster"),
        np.zeros(len(rows), dtype=np.int64) if rows.group is None else rows.group.astype(np.int64),
        np.ones(len(rows)) if rows.weight is None else rows.weight,
    )
    last = len(plain.start_h) - 1
    stays = [newborns.within(plain.start_h[i], plain.end_h[i], closed=i == last) for i in range(last + 1)]
    bounds = [_risk_bounds(stay, rows.n_groups, level) for stay in stays]
    low, high = (np.stack(bound, axis=1) for bound in zip(*bounds, strict=True))
    effect = np.stack(
        [_design_effect(stays[i], plain.hazard[:, i], plain.start_h[i]) for i in range(last + 1)], axis=1
    )
    rate_low, rate_high = garwood(plain.deaths / effect, level)
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
        )

    def hours_from(self, start: float) -> Floats:
        """Hours watched after the window opened."""
        return self.exit_h - np.maximum(self.entry_h, start)


def _risk_bounds(stay: _Stay, n_groups: int, level: float) -> tuple[Floats, Floats]:
    if not len(stay.exit_h):
        return np.full(n_groups, np.nan), np.full(n_groups, np.nan)
    curve = kaplan_meier_clustered(
        stay.exit_h,
        stay.died,
        stay.cluster,
        group=stay.group,
        entry_h=stay.entry_h,
        weight=stay.weight,
        n_groups=n_groups,
        level=level,
    )
    return 1 - curve.high[:, -1], 1 - curve.low[:, -1]


def _design_effect(stay: _Stay, hazard: Floats, start: float) -> Floats:
    """Variance of deaths less hazard x days, summed within clusters, over the deaths; at least 1."""
    excess = stay.weight * (stay.died - hazard[stay.group] * stay.hours_from(start) / HOURS_A_DAY)
    unit, which = np.unique(stay.cluster * len(hazard) + stay.group, return_inverse=True)
    squares = np.bincount(which, excess, len(unit)) ** 2
    variance = np.bincount(unit % len(hazard), squares, len(hazard))
    deaths = np.bincount(stay.group, stay.weight * stay.died, len(hazard))
    effect = np.divide(variance, deaths, out=np.ones(len(hazard)), where=deaths > 0)
    return np.maximum(effect, 1.0)
