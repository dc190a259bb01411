"""The chill index that each lamb met in its first hours, from the farm's weather records."""

from __future__ import annotations

import itertools

import numpy as np
import pandas as pd

from neonatal_stats.estimates.chill import sheep_chill_index

NEEDED = ("temperature_c", "wind_m_per_s", "rain_mm")
COVERED = 2 / 3
"""Share of the hours of a window that must have a weather record."""
EDGES = (1000.0, 1100.0, 1200.0)
"""Edges of the chill classes in kJ per square metre and hour."""


def has_chill(weather: pd.DataFrame) -> bool:
    """True where temperature, wind and rain stand together in at least one record."""
    if not set(NEEDED) <= set(weather):
        return False
    return bool(weather[list(NEEDED)].notna().all(axis=1).any())


def hourly_chill(weather: pd.DataFrame) -> pd.DataFrame:
    """The index hour by hour: farm, hour (Timestamp), chill.

    Temperature and wind are of the hour (or of the day, where only days were recorded, and then the same in each
    of its hours); rain is the total of the calendar day, as the index asks.
    """
    frame = weather.dropna(subset=["at", "temperature_c", "wind_m_per_s"]).copy()
    frame["farm"] = frame["farm"].astype(object).where(frame["farm"].notna(), "") if "farm" in frame else ""
    frame["farm"] = frame["farm"].astype(str)
    frame["day"], frame["hour"] = frame["at"].dt.normalize(), frame["at"].dt.floor("h")
    frame["rain_of_day"] = frame.groupby(["farm", "day"])["rain_mm"].transform(
        lambda rain: rain.sum(min_count=1)
    )
    frame["chill"] = sheep_chill_index(
        frame["wind_m_per_s"].to_numpy(float),
        frame["temperature_c"].to_numpy(float),
        frame["rain_of_day"].to_numpy(float),
    )
    by_day = frame.groupby(["farm", "day"])["hour"].transform("size") == 1
    whole_days = frame[by_day].loc[frame.loc[by_day].index.repeat(24)]
    place = whole_days.groupby(level=0).cumcount().to_numpy()
    whole_days = whole_days.assign(hour=whole_days["day"] + pd.to_timedelta(place, unit="h"))
    hours = pd.concat([frame[~by_day], whole_days], ignore_index=True)
    return hours.groupby(["farm", "hour"])["chill"].mean().reset_index()


def chill_met(births: pd.DataFrame, weather: pd.DataFrame, hours: float) -> pd.Series:
    """Mean index over the first hours after birth, NaN where fewer than two thirds of them have a record.

    The window is the same for every newborn, whether it lived through it or not: weather does not depend on
    that. A weather record without a farm serves all farms.
    """
    met = pd.Series(np.nan, index=births.index)
    table = hourly_chill(weather)
    for farm, here in births.groupby(births["farm"].astype(str)):
        known = table[table["farm"].isin([farm, ""])]
        if known.empty or here["born"].isna().all():
            continue
        line = known.groupby("hour")["chill"].mean()
        grid = pd.date_range(line.index.min(), line.index.max(), freq="h")
        values = line.reindex(grid).to_numpy(float)
        total = np.concatenate([[0.0], np.nancumsum(values)])
        seen = np.concatenate([[0], np.cumsum(np.isfinite(values))])
        start = (here["born"].dt.floor("h") - grid[0]) / pd.Timedelta(hours=1)
        first = np.clip(start.fillna(-1).to_numpy(float), 0, len(values)).astype(int)
        last = np.clip(start.fillna(-1).to_numpy(float) + hours, 0, len(values)).astype(int)
        n = seen[last] - seen[first]
        mean = np.divide(total[last] - total[first], n, out=np.full(len(here), np.nan), where=n > 0)
        met.loc[here.index] = np.where((n >= COVERED * hours) & here["born"].notna().to_numpy(), mean, np.nan)
    return met


def chill_class(chill: pd.Series) -> pd.Series:
    """The index in four classes, cut at `EDGES`."""
    names = [
        f"under {EDGES[0]:.0f}",
        *(f"{a:.0f} to {b:.0f}" for a, b in itertools.pairwise(EDGES)),
    ]
    names.append(f"{EDGES[-1]:.0f} and over")
    return pd.cut(chill, [-np.inf, *EDGES, np.inf], labels=names, right=False)
