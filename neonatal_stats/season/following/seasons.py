"""The season each birth belongs to."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.gathering.gathered import Gathered

NOT_RECORDED = "season not recorded"


def season_of(born: pd.Series, first_month: int) -> pd.Series:
    """The season by the date of birth: named by the year in which most of its months fall.

    With September as first month, 20 December 2025 and 3 April 2026 both belong to "2026"; with January the
    season is the calendar year. None where the date is not known.
    """
    if first_month <= 7:
        year = born.dt.year - (born.dt.month < first_month)
    else:
        year = born.dt.year + (born.dt.month >= first_month)
    named = year.astype("Int64").astype(object)
    spoken: pd.Series = named.map(lambda value: None if value is pd.NA else str(value))
    return spoken.astype(object)


def name_seasons(births: Gathered, first_month: int) -> None:
    """Fill farm, season and species, which every birth has; the season comes from the birth where none is written."""
    frame = births.frame
    nobody = pd.Series(None, index=frame.index, dtype=object)
    farm = frame.get("farm", nobody).fillna("the farm")
    species = frame.get("species", nobody).fillna("")
    written = frame.get("season", nobody)
    season = written.where(written.notna(), season_of(birth_day(frame), first_month)).fillna(NOT_RECORDED)
    rest = frame.drop(columns=["farm", "season", "species"], errors="ignore")
    births.frame = pd.concat(
        [farm.rename("farm"), season.rename("season"), species.rename("species"), rest], axis=1
    )


def birth_day(frame: pd.DataFrame) -> pd.Series:
    """The moment of birth, or its day where no time was kept."""
    never = pd.Series(pd.NaT, index=frame.index, dtype="datetime64[ns]")
    at, on = frame.get("born_at", never), frame.get("born_on", never)
    return at.fillna(on.dt.normalize())


def choose_season(births: Gathered, events: Sequence[Gathered], followed: pd.DataFrame, season: str) -> None:
    """Go on with the births of one season, and with the feeds and samples of its newborns.

    A feed or sample whose newborn is not known belongs to no season and stays in the list of those set aside.
    """
    keep = (births.frame["season"] == season).to_numpy()
    if not keep.any():
        found = ", ".join(sorted(births.frame["season"].unique())) or "none"
        raise CannotRead(f'The records hold no season "{season}"; the seasons found are {found}.')
    births.only(keep)
    chosen = np.flatnonzero(followed["season"] == season)
    place = pd.Series(np.arange(len(chosen), dtype=float), index=chosen)
    for table in events:
        newborn = table.frame["newborn"]
        table.only((newborn.isna() | newborn.isin(chosen)).to_numpy())
        table.frame["newborn"] = table.frame["newborn"].map(place)
