"""How long the newborns were watched: in total, and at the median."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.estimates.counts import count_events
from neonatal_stats.estimates.survival import product_limit


@dataclass(frozen=True)
class FollowUp:
    """Newborn-days watched of ``n`` newborns born alive, and the median number of days each."""

    n: int
    total_days: float
    median_days: float


def follow_up(births: pd.DataFrame) -> FollowUp:
    """Total and median time watched.

    Counted: newborns born alive with a known age. The median is of how long a newborn would have been watched
    had it lived: deaths count as the end of sight, leaving or the end of follow-up as the event (reverse
    Kaplan-Meier; Schemper & Smith 1996, Control Clin Trials 17:343).
    """
    alive = births[~births["stillborn"].astype(bool) & births["age_known"].astype(bool)]
    if alive.empty:
        return FollowUp(0, np.nan, np.nan)
    age_h = alive["age_h"].to_numpy(float)
    watched = ~alive["died"].to_numpy(bool)
    table = count_events(age_h, watched.astype(int), n_causes=1)
    half = np.flatnonzero(product_limit(table.at_risk, table.deaths)[0] <= 0.5)
    median_h = float(table.age_h[half[0]]) if len(half) else np.nan
    return FollowUp(len(alive), float(age_h.sum()) / 24, median_h / 24)
