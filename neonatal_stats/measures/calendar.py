"""Losses in the calendar: by week of the season and by hour of the day at which the newborn was born."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.measures.occurrence import rates

HOURS_IN_BAND = 4
NIGHT_FROM, NIGHT_TO = 20, 8


def losses_by_week(births: pd.DataFrame, *, level: float = 0.95) -> pd.DataFrame:
    """Births and losses by week of birth, weeks without births included.

    Returns
    -------
    ``rates`` frame with `week` (the Monday); n is 0 and share missing in an empty week. Gaps of more than
    eight weeks are left out.
    """
    dated = births[births["born_week"].notna()]
    counted = rates(dated.assign(week=dated["born_week"]), ("week",), "lost", level=level)
    if counted.empty:
        return counted
    weeks = pd.date_range(counted["week"].min(), counted["week"].max(), freq="7D")
    if len(weeks) - len(counted) > 8:
        return counted
    filled = counted.set_index("week").reindex(weeks).rename_axis("week").reset_index()
    return filled.assign(**{name: filled[name].fillna(0).astype(int) for name in ("events", "n")})


def by_night(births: pd.DataFrame) -> pd.Series:
    """Born by night (20 to 08) or by day (08 to 20): ordered categorical; missing where no time was
    written.
    """
    hour = births["born_hour"]
    night = (hour >= NIGHT_FROM) | (hour < NIGHT_TO)
    words = np.where(night, "by night", "by day").astype(object)
    words[hour.isna().to_numpy()] = None
    return pd.Series(pd.Categorical(words, ["by day", "by night"], ordered=True), index=births.index)


def losses_by_hour(births: pd.DataFrame, *, level: float = 0.95) -> pd.DataFrame:
    """Births and losses by four-hour band of the day: a ``rates`` frame with `band`, "00-04" to "20-24".

    Counted: newborns whose time of birth was written, not only its date.
    """
    timed = births[births["born_hour"].notna()]
    start = (timed["born_hour"].to_numpy(float) // HOURS_IN_BAND).astype(int)
    bands = [f"{h:02d}\u2013{h + HOURS_IN_BAND:02d}" for h in range(0, 24, HOURS_IN_BAND)]
    band = pd.Categorical([bands[place] for place in start], bands, ordered=True)
    return rates(timed.assign(band=band), ("band",), "lost", level=level)
