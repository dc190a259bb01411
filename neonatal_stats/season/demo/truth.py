"""The clean truth: everything that happened in every season of an enterprise, with nothing hidden."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.births import newborns
from neonatal_stats.season.demo.dams import dams_by_season
from neonatal_stats.season.demo.deaths import with_deaths
from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.first_hours import with_first_hours
from neonatal_stats.season.demo.scenario import plan_of, scenario
from neonatal_stats.season.demo.weather import first_moment, hourly_weather


@dataclass(frozen=True, eq=False)
class Truth:
    """One season of one enterprise as it truly was; ages in hours, ``death_h`` inf for survivors."""

    enterprise: str
    season: str
    births: pd.DataFrame
    weather: pd.DataFrame


def clean_truth(enterprise: str) -> list[Truth]:
    """The seasons of one enterprise, in order; the same at every call.

    >>> [truth.season for truth in clean_truth("suckler_cows")]
    ['2026']
    """
    plan = plan_of(enterprise)
    number, position = scenario()["generator_number"], plan["position"]
    seasons = []
    dams = dams_by_season(plan, Draws(number, position, 0))
    for season, flock in zip(plan["seasons"], dams, strict=True):
        draws = Draws(number, position, int(season))
        weather = hourly_weather(plan, season, draws)
        births = newborns(flock, season, plan, draws)
        births = with_deaths(with_first_hours(births, plan, draws), weather, plan, draws)
        left = _left_h(births, enterprise, draws)
        gathered = first_moment(plan, season) + pd.Timedelta(days=plan["gathered_after_d"])
        seasons.append(Truth(enterprise, season, births.assign(left_h=left, gathered=gathered), weather))
    return seasons


def _left_h(births: pd.DataFrame, enterprise: str, draws: Draws) -> np.ndarray:
    shares = births["sex"].map(plan_of(enterprise)["left_share"]).to_numpy(dtype=float)
    n = len(births)
    age = 24 * (6 + 12 * draws.uniform(n))
    leaves = draws.yes(shares, n) & (births["death_h"].to_numpy() > age)
    return np.where(leaves, age, np.inf)
