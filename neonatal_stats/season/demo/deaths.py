"""When each newborn truly died, and of what: hourly hazards multiplied by the planted ratios."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.births import log_effects
from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan, scenario
from neonatal_stats.season.demo.weather import chill_kj_per_m2_h

Array = np.ndarray
CHILL_HOURS = 72
CHILL_FROM = 900.0
LATE_FEED_H = 8.0


def with_deaths(births: pd.DataFrame, weather: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    """The newborns with death_h (hours since birth; inf where it lived on), fed (before death) and cause."""
    hours = np.arange(scenario()["ages"]["watched_h"])
    hazard = _hazards(births, weather, plan["effects"], hours)
    death = _time_of_death(hazard, draws.exponential(len(births)))
    death = np.where(births["stillborn"], 0.0, death)
    frame = births.assign(death_h=death, fed=births["fed_h"] < death)
    return frame.assign(cause=_causes(frame, draws))


def _hazards(births: pd.DataFrame, weather: pd.DataFrame, effects: Plan, hours: Array) -> Array:
    bands = np.searchsorted(scenario()["ages"]["hazard_from_h"], hours, side="right") - 1
    base = np.asarray(effects["hazard_per_h"])[bands]
    lasting = log_effects(births, effects["hazard"]) + births["dam_effect"] + births["litter_effect"]
    fed_h = births["fed_h"].to_numpy()[:, None]
    unfed_share = np.clip(fed_h - hours[None, :], 0.0, 1.0)
    late = np.where(fed_h > LATE_FEED_H, effects["hazard_fed_after_8_h"], 1.0)
    by_feed = unfed_share * effects["hazard_unfed"] + (1.0 - unfed_share) * late
    hazard = base[None, :] * np.exp(lasting.to_numpy())[:, None] * by_feed
    hazard[:, :CHILL_HOURS] *= _by_chill(births, weather, effects)
    return np.asarray(hazard)


def _by_chill(births: pd.DataFrame, weather: pd.DataFrame, effects: Plan) -> Array:
    chill = np.maximum(chill_kj_per_m2_h(weather) - CHILL_FROM, 0.0) / 100.0
    first = ((births["born"] - weather["at"].iloc[0]) / pd.Timedelta(hours=1)).astype(int).to_numpy()
    hour = np.minimum(first[:, None] + np.arange(CHILL_HOURS)[None, :], len(chill) - 1)
    felt = chill[hour] * births["outdoors"].to_numpy()[:, None]
    return np.asarray(effects["hazard_per_100_chill"] ** felt)


def _time_of_death(hazard: Array, threshold: Array) -> Array:
    upto = np.cumsum(hazard, axis=1)
    hour = (upto < threshold[:, None]).sum(axis=1)
    row, inside = np.arange(len(hour)), hour < hazard.shape[1]
    at = np.minimum(hour, hazard.shape[1] - 1)
    part = 1.0 - (upto[row, at] - threshold) / hazard[row, at]
    return np.where(inside, at + np.clip(part, 0.0, 1.0), np.inf)


def _causes(frame: pd.DataFrame, draws: Draws) -> pd.Series:
    mixes, n = scenario()["causes"], len(frame)
    age = frame["death_h"]
    when = np.select([age < 24, age < 168], ["first_day", "first_week"], "later")
    early_difficult = frame["difficult"] & (age < 24) & draws.yes(0.6, n)
    hungry = ~frame["fed"] & (age >= 3) & draws.yes(0.7, n)
    which = np.select([early_difficult, hungry], ["difficult", "unfed"], when)
    cause = pd.Series("", index=frame.index, dtype=object)
    for name, mix in mixes.items():
        cause = cause.mask(which == name, pd.Series(draws.pick(list(mix), list(mix.values()), n)))
    cause = cause.mask((cause == "predation") & ~frame["outdoors"], "accident")
    return cause.mask(frame["stillborn"], "stillbirth").where(np.isfinite(age))
