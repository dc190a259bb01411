"""Newborns on the calendar: on which days each was born, last seen alive and found dead; its place and its cause."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.estimates.arguments import Integers
from neonatal_stats.estimates.scan import FEWEST, Scan, calendar_scan
from neonatal_stats.measures.rates import too_small
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.factors import KEPT_TO_GROUP

PLACES = ("group", *(entry.name for entry in KEPT_TO_GROUP), "birth_place")
"""Columns that can hold the place; the first that names two places large enough is taken."""
MOST_PLACES = 24
EVERYWHERE, EVERY_CAUSE = "everywhere", "all causes"
NO_PLACE = "place not known"
UNKNOWN = "unknown"
"""A cause that is none, and so nothing that deaths could have in common."""


@dataclass(frozen=True, eq=False)
class OnCalendar:
    """Newborns born alive on a known day, and what they can be told apart by.

    ``newborns`` one row each: born_day, end_day (of death, as found, or of the end of watching), alive_day (last seen
    alive), all in days from ``first``; died, place (`EVERYWHERE` where none was kept), cause ("" for the living),
    litter, cluster, first_litter (0 or 1: of a dam with her first). ``places`` and ``causes`` those large enough to be
    looked at by themselves; ``column`` of the place, "" where none was kept; ``left_out`` the others, by reason.
    """

    newborns: pd.DataFrame
    places: tuple[str, ...]
    causes: tuple[str, ...]
    column: str
    first: pd.Timestamp
    left_out: tuple[tuple[str, int], ...]

    def day(self, number: int) -> pd.Timestamp:
        """The date of a day."""
        return self.first + pd.Timedelta(days=number)

    def of_place(self, place: str) -> pd.Series:
        """Yes-no, one a newborn: of that place."""
        return self.newborns["place"].eq(place) | (place == EVERYWHERE)

    def died_of(self, cause: str) -> pd.Series:
        """Yes-no, one a newborn: died of that cause."""
        return self.newborns["died"] & (self.newborns["cause"].eq(cause) | (cause == EVERY_CAUSE))

    def alive_between(self, first_day: int, last_day: int) -> pd.Series:
        """Yes-no, one a newborn: alive and watched on any of these days."""
        return (self.newborns["born_day"] <= last_day) & (self.newborns["end_day"] >= first_day)


def on_the_calendar(births: pd.DataFrame, settings: Settings) -> OnCalendar:
    """The newborns born alive on a known day, whose age at death or at the end of watching is known."""
    still = births["stillborn"]
    dated = births["born"].notna() & births["age_known"] & births["age_h"].notna()
    reasons = (
        ("stillborn", int(still.sum())),
        ("day of birth or of death not known", int((~still & ~dated).sum())),
    )
    alive = births[~still & dated]
    column = _place_column(alive, settings)
    first = alive["born"].dt.normalize().min() if len(alive) else pd.Timestamp(0)
    newborns = _newborns(alive, column, first)
    places = _large(newborns, "place", settings) if column else []
    return OnCalendar(
        newborns,
        tuple(place for place in places if place != NO_PLACE),
        tuple(_causes(newborns)),
        column,
        first,
        tuple(row for row in reasons if row[1]),
    )


def _place_column(alive: pd.DataFrame, settings: Settings) -> str:
    return next((name for name in PLACES if name in alive and len(_large(alive, name, settings)) > 1), "")


def _large(newborns: pd.DataFrame, column: str, settings: Settings) -> list[str]:
    """The levels of a column with enough newborns and litters, in order; the largest where there are very many."""
    groups = newborns.groupby(newborns[column].astype(object))
    size = pd.DataFrame({"n": groups.size(), "litters": groups["litter"].nunique()})
    large = size[~too_small(size, settings.minimum_group)].nlargest(MOST_PLACES, "n", keep="first")
    return sorted(map(str, large.index))


def _newborns(alive: pd.DataFrame, column: str, first: pd.Timestamp) -> pd.DataFrame:
    place: pd.Series | str = EVERYWHERE
    if column:
        place = alive[column].astype(object).where(alive[column].notna(), NO_PLACE).astype(str)
    young = alive["dam_parity"].eq(1).astype(int) if "dam_parity" in alive else 0
    return pd.DataFrame(
        {
            "born_day": (alive["born"].dt.normalize() - first).dt.days.astype(np.int64),
            "end_day": _day_at(alive, alive["age_h"], first),
            "alive_day": _day_at(alive, alive["age_low_h"].fillna(alive["age_h"]), first),
            "died": alive["died"].astype(bool),
            "place": place,
            "cause": alive["cause"].astype(object).where(alive["died"], "").astype(str),
            "litter": alive["litter"],
            "cluster": alive["cluster"],
            "first_litter": young,
        },
        index=alive.index,
    )


def _day_at(alive: pd.DataFrame, age_h: pd.Series, first: pd.Timestamp) -> pd.Series:
    """The day on which each reached an age."""
    minutes = (age_h.astype(float) * 60).round().astype("int64").to_numpy().astype("timedelta64[m]")
    days: pd.Series = ((alive["born"] + minutes).dt.normalize() - first).dt.days.astype(np.int64)
    return days


def _causes(newborns: pd.DataFrame) -> list[str]:
    """The causes of which enough died to be looked at by themselves."""
    counted = newborns.loc[newborns["died"], "cause"].value_counts()
    return sorted(str(cause) for cause, n in counted.items() if n >= FEWEST and cause != UNKNOWN)


def scanned(calendar: OnCalendar, settings: Settings, *, last_alive: bool = False) -> Scan:
    """The scan of `estimates.scan`, litters alike that are as large and whose dams have their first or a later one.

    Parameters
    ----------
    last_alive : deaths stand on the day on which the newborn was last seen alive, else on the day it was found.
    """
    newborns = calendar.newborns
    end = newborns["alive_day"].where(newborns["died"] & last_alive, newborns["end_day"])
    return calendar_scan(
        newborns["born_day"],
        np.maximum(end - newborns["born_day"], 0),
        newborns["died"].astype(int),
        cluster=newborns["litter"],
        place=_codes(newborns["place"], calendar.places),
        cause=_codes(newborns["cause"], calendar.causes),
        stratum=newborns["first_litter"],
        places=len(calendar.places),
        causes=len(calendar.causes),
        level=settings.level,
    )


def _codes(values: pd.Series, names: Sequence[str]) -> Integers:
    """The number of each value among the names; after those, the numbers of all others."""
    others = sorted(set(values) - set(names))
    return np.asarray(pd.Categorical(values, categories=[*names, *others]).codes, dtype=np.int64)
