"""The demo weather: hour by hour, with a spell of wind, rain and cold in one season.

The chill of an hour follows the sheep index of Donnelly (1984, Australian Journal of Agricultural Research
35:709-721; coefficients from memory, unchecked); here it only makes invented deaths.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan

DAYS_AFTER_LAST_BIRTH = 5


def first_moment(plan: Plan, season: str) -> pd.Timestamp:
    """Midnight before the first births; a season that starts in autumn is named by the year it ends."""
    month = int(plan["first_day"][:2])
    year = int(season) - 1 if month >= 9 else int(season)
    return pd.Timestamp(f"{year}-{plan['first_day']}")


def hourly_weather(plan: Plan, season: str, draws: Draws) -> pd.DataFrame:
    """Columns at, temperature_c, wind_m_per_s, rain_mm (an hour's), from two days before the first birth."""
    days = int(plan["spread_d"]) + 2 + 2 + DAYS_AFTER_LAST_BIRTH
    start = first_moment(plan, season) - pd.Timedelta(days=2)
    at = pd.date_range(start, periods=days * 24, freq="h")
    day = np.repeat(np.arange(days), 24)
    temperature = 6.0 + 0.06 * day + 2.5 * draws.normal(days)[day] + 3.5 * np.sin((at.hour - 9) * np.pi / 12)
    wind = 3.5 * np.exp(0.4 * draws.normal(days)[day] + 0.2 * draws.normal(len(day)))
    wet_day = draws.yes(0.35, days)[day]
    rain = np.where(wet_day & draws.yes(0.4, len(day)), 0.7 * draws.exponential(len(day)), 0.0)
    frame = pd.DataFrame({"at": at, "temperature_c": temperature, "wind_m_per_s": wind, "rain_mm": rain})
    return _with_bad_spell(frame, day - 2, plan, season, draws).round(
        {"temperature_c": 1, "wind_m_per_s": 1, "rain_mm": 1}
    )


def _with_bad_spell(
    frame: pd.DataFrame, day: np.ndarray, plan: Plan, season: str, draws: Draws
) -> pd.DataFrame:
    spell = plan.get("bad_weather", {})
    if spell.get("season") != season:
        return frame
    inside = (day >= spell["from_day"]) & (day < spell["from_day"] + spell["days"])
    n = int(inside.sum())
    frame.loc[inside, "temperature_c"] -= 6.0
    frame.loc[inside, "wind_m_per_s"] += 8.0 + draws.normal(n)
    frame.loc[inside, "rain_mm"] += np.where(draws.yes(0.6, n), 1.8 * draws.exponential(n), 0.0)
    return frame.assign(wind_m_per_s=frame["wind_m_per_s"].clip(lower=0.0))


def chill_kj_per_m2_h(weather: pd.DataFrame) -> np.ndarray:
    """Heat lost by a wet newborn lamb in each hour, the rain taken as the day's running sum."""
    rain_in_day = weather["rain_mm"].rolling(24, min_periods=1).sum().to_numpy()
    wind = np.sqrt(weather["wind_m_per_s"].to_numpy())
    by_wind = (11.7 + 3.1 * wind) * (40.0 - weather["temperature_c"].to_numpy())
    return np.asarray(by_wind + 481.0 * (1.0 - np.exp(-0.04 * rain_in_day)))
