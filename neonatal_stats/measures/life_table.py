"""Life table: by age window, how many were still watched, how many were lost, and how fast."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from neonatal_stats.estimates.life_tables import life_table as deaths_by_window


def life_table(
    alive_at_birth: pd.DataFrame, edges_h: Sequence[float], *, level: float = 0.95, cluster: str = "cluster"
) -> pd.DataFrame:
    """Deaths of newborns born alive by age window.

    Returns
    -------
    One row a window: start_h, end_h, at_risk, events (deaths), share (of those at risk that died in it),
    low, high, newborn_days, and per_1000_days with rate_low and rate_high (deaths per 1000 newborn-days
    watched).

    Counted
    -------
    Newborns born alive with a known age; a newborn that left alive counts up to when it left.

    Method
    ------
    Kaplan-Meier within each window, exact Poisson limits of the rate; both allow for litters.
    """
    known = alive_at_birth[alive_at_birth["age_known"].astype(bool)]
    found = deaths_by_window(
        known["age_h"].to_numpy(float),
        known["died"].to_numpy(bool),
        list(edges_h),
        cluster=known[cluster].to_numpy(),
        level=level,
    )
    return pd.DataFrame(
        {
            "start_h": found.start_h,
            "end_h": found.end_h,
            "at_risk": found.at_risk[0],
            "events": found.deaths[0],
            "share": found.risk[0],
            "low": found.risk_low[0],
            "high": found.risk_high[0],
            "newborn_days": found.newborn_days[0],
            "per_1000_days": 1000 * found.hazard[0],
            "rate_low": 1000 * found.hazard_low[0],
            "rate_high": 1000 * found.hazard_high[0],
        }
    )
