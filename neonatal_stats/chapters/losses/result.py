"""Losses, counted: the flow, the windows, the life table, the litters, the calendar."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.results import Test
from neonatal_stats.measures.association import contrasts
from neonatal_stats.measures.calendar import by_night, losses_by_hour, losses_by_week
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.differences import risk_differs
from neonatal_stats.measures.flow import Flow, flow
from neonatal_stats.measures.life_table import life_table
from neonatal_stats.measures.litters import litters_by_losses
from neonatal_stats.measures.windows import (
    age_edges_h,
    deaths_without_age,
    last_age_h,
    losses_by_window,
    watched_to_h,
)
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice


@dataclass(frozen=True, eq=False)
class Losses(Shown):
    """Losses of a season.

    ``by_window`` as `measures.windows.losses_by_window`; ``flow`` of dams and newborns; ``by_age`` the life
    table of those born alive (empty where no age is known); ``by_litter`` litters by how many were lost
    (empty where no dam is known);
    ``by_week`` and ``by_hour`` ``rates`` frames of loss by time of birth (empty where it was not written);
    ``weeks_differ`` the test over weeks; ``night`` the ``contrasts`` frame of births by night against by day;
    ``end_h`` the last age watched; ``undated`` losses at an unknown age; ``born_dead_known`` whether
    birth alive or dead was written.
    """

    by_window: pd.DataFrame
    flow: Flow
    by_age: pd.DataFrame
    by_litter: pd.DataFrame
    by_week: pd.DataFrame
    by_hour: pd.DataFrame
    weeks_differ: Test
    night: pd.DataFrame
    end_h: float
    undated: int
    born_dead_known: bool
    counted: Counted
    settings: Settings
    voice: Voice


def answer(season: Season) -> Losses:
    """Count losses by window, age, litter, week and hour; the stillborn are losses at age 0."""
    births, settings = season.births, season.settings
    alive = births[~births["stillborn"].astype(bool)]
    end_h = watched_to_h(births, settings)
    timed = births.assign(night=by_night(births))
    edges = age_edges_h(settings, last_age_h(births, settings))
    dams = season.has("dam_id") or season.has("litter_id")
    dated = alive["age_known"].any()
    return Losses(
        by_window=losses_by_window(births, settings),
        flow=flow(season),
        by_age=life_table(alive, edges, level=settings.level) if dated else pd.DataFrame(),
        undated=deaths_without_age(births),
        by_litter=litters_by_losses(births if dams else births.head(0)),
        born_dead_known=season.has("born_alive") or bool(births["stillborn"].any()),
        by_week=losses_by_week(births, level=settings.level),
        by_hour=losses_by_hour(births, level=settings.level),
        weeks_differ=risk_differs(births, ("born_week",), "lost"),
        night=contrasts(timed, "night", "by day", "lost", level=settings.level),
        end_h=end_h,
        counted=Counted(len(births)),
        settings=settings,
        voice=voice_of(season),
    )
