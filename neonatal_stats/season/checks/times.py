"""Do the times of one newborn agree with each other?"""

from __future__ import annotations

from collections.abc import Callable
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import Finding, Said, say, where
from neonatal_stats.season.following.ages import born, column, elapsed_h, is_day
from neonatal_stats.season.following.seasons import years_from_its_season
from neonatal_stats.season.settings import Settings

Rule = Callable[[pd.DataFrame, Settings], Finding | None]
LATER = ("died_at", "found_dead_at", "last_alive_at", "left_at", "last_seen_at")
BEFORE_BIRTH = {
    "died_at": say("it died before it was born"),
    "found_dead_at": say("it was found dead before it was born"),
    "last_alive_at": say("it was last seen alive before it was born"),
    "left_at": say("it left before it was born"),
    "last_seen_at": say("it was last seen before it was born"),
}
AFTER_DEATH = {
    "left_at": say("it left after it died; the death was kept"),
    "last_seen_at": say("it was last seen after it died; the death was kept"),
}
CLOCKS_FORWARD = say(
    "the clocks went forward and this time did not exist; the first moment after it was used"
)
CLOCKS_BACK = say(
    "the clocks went back and this time occurred twice; the reading without a negative age was used"
)
WHICH = say("look which of the two times is wrong and mend it")
YEAR_H = 365 * 24


def before_birth(name: str) -> Rule:
    """The rule that a moment of the newborn's life must not come before its birth."""

    def rule(frame: pd.DataFrame, settings: Settings) -> Finding | None:
        if name not in frame:
            return None
        start, precision = born(frame)
        by_day = (precision == "day") | is_day(frame, name)
        early = elapsed_h(start, frame[name], settings.time_zone) < 0
        early = early.where(~by_day, frame[name].dt.normalize() < start.dt.normalize())
        at = where(early.astype(bool) & start.notna() & frame[name].notna())
        problem = BEFORE_BIRTH[name]
        return Finding(at, name, frame[name].take(at).tolist(), problem, WHICH, "set to missing")

    rule.__name__ = f"{name}_before_birth"
    return rule


def two_days_of_birth(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """The date of birth is written twice and differs."""
    if "born_at" not in frame or "born_on" not in frame:
        return None
    differ = frame["born_at"].dt.normalize() != frame["born_on"].dt.normalize()
    at = where(differ & frame["born_at"].notna() & frame["born_on"].notna())
    problem = say("the day of birth differs from the one in born_at, which was used")
    return Finding(at, "born_on", frame["born_on"].take(at).tolist(), problem, WHICH, "set to missing")


def born_outside_the_season(frame: pd.DataFrame, settings: Settings) -> Finding:
    """Born two years or more away from the year that the season is called by."""
    start, _ = born(frame)
    at = where(years_from_its_season(start, frame["season"]))
    name = "born_at" if "born_at" in frame else "born_on"
    problem = say("it was born years away from its season")
    remedy = say("look at the year of birth and at the season")
    return Finding(
        at, name, start.take(at).tolist(), problem, remedy, "set to missing", ("born_at", "born_on")
    )


def alive_after_found_dead(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Last seen alive after it was found dead."""
    alive, found = column(frame, "last_alive_at"), column(frame, "found_dead_at")
    at = where(_later(frame, "last_alive_at", alive, "found_dead_at", found))
    problem = say("it was last seen alive after it was found dead")
    return Finding(at, "last_alive_at", alive.take(at).tolist(), problem, WHICH, "set to missing")


def death_outside_its_bounds(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """The time of death does not lie between last alive and found dead."""
    died = column(frame, "died_at")
    alive, found = column(frame, "last_alive_at"), column(frame, "found_dead_at")
    outside = _later(frame, "last_alive_at", alive, "died_at", died) | _later(
        frame, "died_at", died, "found_dead_at", found
    )
    at = where(outside)
    problem = say("the time of death does not lie between last seen alive and found dead")
    return Finding(at, "died_at", died.take(at).tolist(), problem, WHICH, "set to missing")


def after_death(name: str) -> Rule:
    """The rule that a dead newborn neither leaves nor is seen alive."""

    def rule(frame: pd.DataFrame, settings: Settings) -> Finding | None:
        if name not in frame:
            return None
        death = column(frame, "died_at").fillna(column(frame, "found_dead_at"))
        at = where(_later(frame, name, frame[name], "died_at", death))
        problem = AFTER_DEATH[name]
        return Finding(at, name, frame[name].take(at).tolist(), problem, WHICH, "set to missing")

    rule.__name__ = f"{name}_after_death"
    return rule


def _later(frame: pd.DataFrame, a: str, first: pd.Series, b: str, second: pd.Series) -> pd.Series:
    """True where the first moment is after the second, by day where either is known to the day only."""
    by_day = is_day(frame, a) | is_day(frame, b)
    return (first > second).where(~by_day, first.dt.normalize() > second.dt.normalize()).astype(bool)


def slip_of_a_year(frame: pd.DataFrame, settings: Settings) -> Finding:
    """Dead a year or more after birth, and within follow-up if the year were that of the birth."""
    start, _ = born(frame)
    death = column(frame, "died_at").fillna(column(frame, "found_dead_at"))
    hours = (death - start).dt.total_seconds() / 3600
    whole_years = np.floor(hours / YEAR_H)
    slipped = (whole_years >= 1) & (hours - whole_years * YEAR_H <= settings.follow_up_h)
    at = where(slipped)
    problem = say("it died a year or more after birth, at the season's time of year: the year may be a slip")
    return Finding(
        at,
        "died_at",
        death.take(at).tolist(),
        problem,
        say("look at the year of birth and of death"),
        "set aside",
        about="not readable",
    )


def clock_change(name: str) -> Rule:
    """The rule that names local times that do not exist, or occur twice, in the night of a clock change."""

    def rule(frame: pd.DataFrame, settings: Settings) -> Finding | None:
        if name not in frame or not settings.time_zone:
            return None
        moments = frame[name].where(~is_day(frame, name))
        at, sentences = _odd_hours(moments, ZoneInfo(settings.time_zone))
        remedy = say("no action needed; look only if an hour more or less matters here")
        return Finding(at, name, moments.take(at).tolist(), sentences, remedy, "noted")

    rule.__name__ = f"{name}_in_a_clock_change"
    return rule


def _odd_hours(moments: pd.Series, zone: ZoneInfo) -> tuple[np.ndarray, list[Said]]:
    never = moments.dt.tz_localize(zone, nonexistent="NaT", ambiguous=np.ones(len(moments), dtype=bool))
    twice = moments.dt.tz_localize(zone, ambiguous="NaT", nonexistent="shift_forward")
    absent, double = (never.isna() & moments.notna()).to_numpy(), (twice.isna() & moments.notna()).to_numpy()
    at = where(absent | double)
    return at, [CLOCKS_FORWARD if gone else CLOCKS_BACK for gone in absent[at]]


RULES: tuple[Rule, ...] = (
    born_outside_the_season,
    two_days_of_birth,
    *(before_birth(name) for name in LATER),
    alive_after_found_dead,
    death_outside_its_bounds,
    slip_of_a_year,
    after_death("left_at"),
    after_death("last_seen_at"),
    *(clock_change(name) for name in ("born_at", *LATER)),
)
