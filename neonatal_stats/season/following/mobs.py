"""What follows from the counts of a mob: dams scanned, dams in young, foetuses; its season and its name."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.following.ages import Moments, first_known, moments, words
from neonatal_stats.season.following.seasons import NOT_RECORDED, UNNAMED_FARM, season_of
from neonatal_stats.vocabulary.species import CARRIED

EACH = {"scanned_dry": 0, "scanned_single": 1, "scanned_twin": 2, "scanned_triplet": 3}
"""The classes of a scan, each with the foetuses of a dam; "three or more" counts as three."""
BEARING = tuple(name for name, n in EACH.items() if n)
STAGES = ("joined", "scanned", *EACH, "foetuses", "born", "born_dead", "marked", "weaned", "dams_died")
"""All that is counted of a mob."""
DATES = ("joined_on", "scanned_on", "marked_on", "weaned_on")
"""When it was counted, in the order in which it happens."""
CARRIED_UNSAID = CARRIED["sheep"]
"""Months from joining to birth where no species is written: those of the flocks that count by the mob."""
WHOLE = "whole flock or herd"
"""The name of a mob that has none, where a farm counts everything together."""


def count(mobs: pd.DataFrame, name: str) -> pd.Series:
    """A column of counts, missing where it was not recorded."""
    if name not in mobs:
        return pd.Series(np.nan, index=mobs.index, dtype=float)
    return mobs[name].astype(float)


def foetuses(mobs: pd.DataFrame) -> pd.Series:
    """Foetuses scanned in each mob: as written, else from the dams with one, two and three (missing where one is)."""
    of_classes = sum((EACH[name] * count(mobs, name) for name in BEARING), pd.Series(0.0, index=mobs.index))
    return count(mobs, "foetuses").fillna(of_classes)


def scanned(mobs: pd.DataFrame) -> pd.Series:
    """Dams scanned: as written, else the sum of all classes."""
    every = sum((count(mobs, name) for name in EACH), pd.Series(0.0, index=mobs.index))
    return count(mobs, "scanned").fillna(every)


def in_young(mobs: pd.DataFrame) -> pd.Series:
    """Dams scanned in young: those with one, two or three, else those scanned less the dry."""
    bearing = sum((count(mobs, name) for name in BEARING), pd.Series(0.0, index=mobs.index))
    return bearing.fillna(scanned(mobs) - count(mobs, "scanned_dry"))


def season_by_date(mobs: pd.DataFrame, first_month: int | None) -> NDArray[np.object_]:
    """The season of each mob by its dates: the latest one written, brought to the births; None without any."""
    joined = _at_birth(moments(mobs, "joined_on"), words(mobs, "species"))
    later = (moments(mobs, name) for name in reversed(DATES[1:]))
    return season_of(first_known(*later, joined), first_month or 1)


def _at_birth(joined: Moments, species: NDArray[np.object_]) -> Moments:
    """The month in which those joined give birth."""
    months = (CARRIED.get(kind, CARRIED_UNSAID) for kind in species)
    moved = [day + pd.DateOffset(months=n) for day, n in zip(pd.DatetimeIndex(joined), months, strict=True)]
    return pd.DatetimeIndex(moved).to_numpy(dtype="datetime64[ns]")


def named(mobs: pd.DataFrame, first_month: int | None) -> pd.DataFrame:
    """The mobs with farm, season, species and name in every row."""
    nothing = pd.Series(None, index=mobs.index, dtype=object)

    def filled(name: str, other: NDArray[np.object_] | str) -> pd.Series:
        written = mobs.get(name, nothing).astype(object)
        return written.where(written.notna(), other)

    season = filled("season", season_by_date(mobs, first_month))
    return mobs.assign(
        farm=filled("farm", UNNAMED_FARM),
        season=season.where(season.notna(), NOT_RECORDED),
        species=filled("species", ""),
        mob=filled("mob", WHOLE),
    )
