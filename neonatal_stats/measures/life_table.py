"""Life table: by age window, how many were still watched, how many were lost, and how fast."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.estimates.counts import count_events
from neonatal_stats.estimates.life_table import life_table as from_counts
from neonatal_stats.estimates.survival import kaplan_meier_clustered


def life_table(
    alive_at_birth: pd.DataFrame, edges_h: Sequence[float], *, level: float = 0.95, cluster: str = "cluster"
) -> pd.DataFrame:
    """Deaths of newborns born alive by age window.

    Returns
    -------
    One row a window: start_h, end_h, at_risk, events (deaths), share (of those at risk that died in it), low,
    high, newborn_days and per_1000_days (deaths per 1000 newborn-days watched).

    Counted
    -------
    Newborns born alive with a known age; a newborn that left alive counts up to when it left.

    Method
    ------
    Kaplan-Meier within each window; the interval of the share allows for litters.
    """
    known = alive_at_birth[alive_at_birth["age_known"].astype(bool)]
    age_h, died = known["age_h"].to_numpy(float), known["died"].to_numpy(bool)
    counted = from_counts(count_events(age_h, died.astype(int), n_causes=1), list(edges_h), level=level)
    frame = pd.DataFrame(
        {
            "start_h": counted.start_h,
            "end_h": counted.end_h,
            "at_risk": counted.at_risk[0],
            "events": counted.deaths[0],
            "share": counted.risk[0],
            "newborn_days": counted.newborn_days[0],
            "per_1000_days": 1000 * counted.hazard[0],
        }
    )
    limits = [
        _limits(age_h, died, known[cluster].to_numpy(), start, end, level)
        for start, end in zip(frame["start_h"], _closed(frame["end_h"]), strict=True)
    ]
    return frame.assign(low=[low for low, _ in limits], high=[high for _, high in limits])


def _closed(end_h: pd.Series) -> list[float]:
    """The last window takes in its end."""
    return [*end_h.iloc[:-1], float(np.nextafter(end_h.iloc[-1], np.inf))]


def _limits(
    age_h: np.ndarray, died: np.ndarray, cluster: np.ndarray, start_h: float, end_h: float, level: float
) -> tuple[float, float]:
    """Limits of the share of those watched at the start that died before the end."""
    there = age_h >= start_h
    if not there.any():
        return np.nan, np.nan
    inside = age_h[there] < end_h
    ages = np.where(inside, age_h[there], end_h)
    curve = kaplan_meier_clustered(ages, died[there] & inside, cluster[there], level=level)
    return 1 - float(curve.high[0, -1]), 1 - float(curve.low[0, -1])
