"""A season in progress, counted: the windows so far, last season on the same date, the last days, the alarm."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.measures.progress import (
    LastDays,
    last_days,
    lost_so_far,
    same_date_before,
    windows_so_far,
)
from neonatal_stats.measures.rates import Counted
from neonatal_stats.measures.windows import deaths_without_age
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings


@dataclass(frozen=True, eq=False)
class Progress(Shown):
    """A season as it was known in the evening of ``day``.

    ``windows`` as `measures.progress.windows_so_far`; ``last_windows`` the same of ``last_season`` on the same date (""
    and an empty frame where there is none). ``curve`` and ``last_curve`` are ``curve`` frames of losses. ``first_born``
    is the day of the first birth. ``lost`` counts all known losses, ``undated`` those of them at an unknown age, which
    are in no curve.
    """

    name: str
    day: pd.Timestamp
    windows: pd.DataFrame
    curve: pd.DataFrame
    last_season: str
    last_windows: pd.DataFrame
    last_curve: pd.DataFrame
    last_days: LastDays
    first_born: pd.Timestamp
    born: int
    lost: int
    undated: int
    counted: Counted
    settings: Settings
    species: str

    @property
    def shown(self) -> pd.DataFrame:
        """The windows that enough were watched through."""
        return self.windows[self.windows["enough"]]


def answer(season: Season, name: str) -> Progress:
    """The season of that name, of records that were cut by `Season.known_by`."""
    day, settings = season.known_until, season.settings
    assert day is not None
    births = season.births[season.births["season"].astype(str) == name].reset_index(drop=True)
    other, before = same_date_before(season, name, day) or ("", births.head(0))
    undated = deaths_without_age(births)
    return Progress(
        name=name,
        day=day,
        windows=windows_so_far(births, settings, day),
        curve=lost_so_far(births, settings.level),
        last_season=other,
        last_windows=windows_so_far(before, settings, day) if other else pd.DataFrame(),
        last_curve=lost_so_far(before, settings.level) if other else pd.DataFrame(),
        last_days=last_days(births, before if other else None, day, settings),
        first_born=births["born"].min().normalize(),
        born=len(births),
        lost=int(births["died"].sum()),
        undated=undated,
        counted=Counted(
            len(births) - undated, left_out=(("lost at an unknown age", undated),) if undated else ()
        ),
        settings=settings,
        species=season.species,
    )
