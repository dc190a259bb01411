"""Do feeds and samples agree with the newborn they belong to?"""

from __future__ import annotations

import pandas as pd

from neonatal_stats.season.finding import Finding, say, where
from neonatal_stats.season.following.links import TIME_OF
from neonatal_stats.season.gathering.gathered import Gathered

WHICH = say("look at the newborn's identity and at both times")
BEFORE_BIRTH = {
    "feeds": say("it was fed before it was born"),
    "samples": say("it was sampled before it was born"),
}
AFTER_DEATH = {"feeds": say("it was fed after it died"), "samples": say("it was sampled after it died")}


def same_row_twice(events: Gathered) -> Finding:
    """A row equal to an earlier one in every cell."""
    recorded = events.frame[[name for name in events.frame if "|" not in str(name)]]
    at = where(recorded.duplicated(keep="first"))
    problem = say("the same row stands in the records twice; it is counted once")
    values = (
        events.frame[TIME_OF[events.table]].take(at).tolist()
        if TIME_OF[events.table] in events.frame
        else [None] * len(at)
    )
    return Finding(at, TIME_OF[events.table], values, problem, say("remove one of the two rows"), "set aside")


def before_birth(events: Gathered, births: pd.DataFrame) -> Finding | None:
    """Fed or sampled before it was born."""
    moment = TIME_OF[events.table]
    if moment not in events.frame:
        return None
    born = _of_newborn(events, births["born"])
    by_day = _by_day(events, births)
    at_ = events.frame[moment]
    early = (at_ < born).where(~by_day, at_.dt.normalize() < born.dt.normalize()).astype(bool)
    early &= ~(events.frame["age_h"] >= 0)
    at = where(early)
    problem = BEFORE_BIRTH[events.table]
    return Finding(at, moment, at_.take(at).tolist(), problem, WHICH, "set to missing", (moment, "age_h"))


def after_death(events: Gathered, births: pd.DataFrame) -> Finding | None:
    """Fed or sampled after its death, or though it was born dead."""
    moment = TIME_OF[events.table]
    if moment not in events.frame:
        return None
    ended = _of_newborn(events, births["age_h"].where(births["died"]))
    margin = 24.0 * _by_day(events, births, births["age_precision"] == "day").astype(float)
    age = events.frame["age_h"].fillna(_days(events, births) * 24.0)
    dead = age >= ended + 1 + margin
    still = _of_newborn(events, births["stillborn"].astype(float)) == 1
    at = where(dead | still)
    problem = AFTER_DEATH[events.table]
    values = events.frame[moment].take(at).tolist()
    return Finding(at, moment, values, problem, WHICH, "set to missing", (moment, "age_h"))


def _days(events: Gathered, births: pd.DataFrame) -> pd.Series:
    born = _of_newborn(events, births["born"])
    days: pd.Series = (events.frame[TIME_OF[events.table]].dt.normalize() - born.dt.normalize()).dt.days
    return days.astype(float)


def _of_newborn(events: Gathered, values: pd.Series) -> pd.Series:
    """A column of births laid beside the events."""
    return events.frame["newborn"].map(values)


def _by_day(events: Gathered, births: pd.DataFrame, also: pd.Series | None = None) -> pd.Series:
    """True where the event, the birth or what else is asked is known to the day only."""
    own = events.frame.get(f"{TIME_OF[events.table]}|is_day", pd.Series(False, index=events.frame.index))
    born_by_day = _of_newborn(events, (births["born_precision"] != "time").astype(float)) == 1
    by_day = own | born_by_day
    return by_day if also is None else by_day | (_of_newborn(events, also.astype(float)) == 1)
