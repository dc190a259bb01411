"""When a newborn was born, when it died, how long it was watched, and how that ended.

Clock times are joined to their dates, and "not by" is turned into hours of watching.
"""

from __future__ import annotations

from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import CannotRead, Finding, say, where
from neonatal_stats.season.ledger import Gathered
from neonatal_stats.season.settings import Settings

HOUR_S = 3600.0
ELAPSED = ("stood_after_min", "fed_after_min", "meconium_after_min")
MOMENTS = ("born_at", "died_at", "last_alive_at", "found_dead_at", "left_at", "last_seen_at")
FEW, SHORT_MIN, OFTEN = 3, 360, 0.3
NEEDS_BIRTH = say("a clock time needs the time of birth beside it")


def column(frame: pd.DataFrame, name: str) -> pd.Series:
    """A column of moments, or one without any."""
    if name in frame:
        return frame[name]
    return pd.Series(pd.NaT, index=frame.index, dtype="datetime64[ns]")


def is_day(frame: pd.DataFrame, name: str) -> pd.Series:
    """True where a moment is known to the day only: said by the reader, else where all stand at midnight."""
    if f"{name}_is_day" in frame:
        return frame[f"{name}_is_day"]
    moments = column(frame, name)
    midnight = (moments == moments.dt.normalize()) | moments.isna()
    return moments.notna() & bool(midnight.all())


def answered(frame: pd.DataFrame, name: str, answer: bool) -> pd.Series:
    """True where a yes-no column gives this answer; not known is False."""
    if name not in frame:
        return pd.Series(False, index=frame.index)
    return (frame[name].astype("boolean") == answer).fillna(False).astype(bool)


def birth(frame: pd.DataFrame) -> pd.Series:
    """The moment of birth, or its day where no time was kept."""
    return column(frame, "born_at").fillna(column(frame, "born_on").dt.normalize())


def born(frame: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """The moment of birth and its precision: "time", "day" or "none"."""
    moment = birth(frame)
    timed = column(frame, "born_at").notna() & ~is_day(frame, "born_at")
    precision = np.select([timed, moment.notna()], ["time", "day"], "none")
    return moment, pd.Series(precision, index=frame.index, dtype=object)


def span(values: pd.Series, seconds: float = 1.0) -> pd.Series:
    """Lengths of time from numbers of a unit that lasts so many seconds; missing stays missing."""
    known = values.notna().to_numpy()
    whole = np.where(known, values.to_numpy(dtype=float) * seconds, 0.0)
    spans = np.round(whole).astype("timedelta64[s]").astype("timedelta64[ns]")
    spans[~known] = np.timedelta64("NaT")
    return pd.Series(spans, index=values.index)


def elapsed_h(start: pd.Series, end: pd.Series, zone: str) -> pd.Series:
    """Exact hours between two local moments; clock changes are heeded where the zone is known.

    An end that occurs twice is its first occurrence, or its second where the first would come before the start.
    """
    if zone:
        first, second = (universal(end, zone, later) - universal(start, zone) for later in (False, True))
        apart = first.where(first >= pd.Timedelta(0), second)
    else:
        apart = end - start
    hours: pd.Series = apart.dt.total_seconds() / HOUR_S
    return hours


def universal(local: pd.Series, zone: str, later: bool = False) -> pd.Series:
    """Local moments in UTC; an hour that occurs twice is its first, or with ``later`` its second occurrence."""
    first = np.full(len(local), not later)
    there = local.dt.tz_localize(ZoneInfo(zone), ambiguous=first, nonexistent="shift_forward")
    utc: pd.Series = there.dt.tz_convert("UTC")
    return utc


def whole_hours(start: pd.Series, end: pd.Series, by_day: pd.Series, zone: str) -> pd.Series:
    """Whole hours from birth to a moment, rounded down; whole days of 24 hours where either is a date alone."""
    hours = elapsed_h(start, end, zone).add(1e-9).floordiv(1.0)
    days: pd.Series = (end.dt.normalize() - start.dt.normalize()).dt.days * 24.0
    return hours.where(~by_day, days)


def stillborn(frame: pd.DataFrame) -> pd.Series:
    """Born dead: said so, or the cause of its loss is stillbirth."""
    by_cause = _cause(frame) == "stillbirth"
    return answered(frame, "born_alive", False) | (by_cause & ~answered(frame, "died", False))


def died(frame: pd.DataFrame) -> pd.Series:
    """Lost at any time: born dead, said to have died, or a time or cause of death is given."""
    told = answered(frame, "died", True) | stillborn(frame)
    timed = (
        column(frame, "died_at").notna() | column(frame, "found_dead_at").notna() | told_age(frame)[0].notna()
    )
    return told | ((timed | _cause(frame).notna()) & ~answered(frame, "died", False))


def _cause(frame: pd.DataFrame) -> pd.Series:
    return frame["cause"].astype(object) if "cause" in frame else pd.Series(None, frame.index, dtype=object)


def causes(frame: pd.DataFrame, settings: Settings) -> pd.Series:
    """The cause of each loss: "stillbirth" for the stillborn and "unknown" for others where none is given.

    What is none of the settings' causes is missing.
    """
    cause = _cause(frame)
    given = cause.where(cause.notna(), np.where(frame["stillborn"], "stillbirth", "unknown"))
    lost = given.where(frame["died"] & given.isin(settings.causes))
    return pd.Series(pd.Categorical(lost, categories=list(settings.causes), ordered=True), index=frame.index)


def told_age(frame: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """The age at death as it was kept, in whole hours, and whether it is known to the day only."""
    nothing = pd.Series(np.nan, index=frame.index)
    hours = frame.get("age_at_death_h", nothing).astype(float).add(1e-9).floordiv(1.0)
    days = frame.get("age_at_death_d", nothing).astype(float).add(1e-9).floordiv(1.0) * 24.0
    return hours.fillna(days), hours.isna() & days.notna()


def watched(frame: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Age at the end of watching, its bounds and its precision.

    ``age_h`` is in whole hours, rounded down (whole days of 24 hours where a date has no time). The bounds
    differ from it only where a death is known to lie between last alive and found dead; for a survivor the
    upper bound is infinite. An age at death that was kept as such is used where no time of death gives one. One that is
    said not to have died, and of which no more is written, lived to the end of follow-up, dated birth or not; one that
    is said to have left alive, nobody knows when, was alive at birth and is not watched from then on.
    """
    start, start_precision = born(frame)
    dead, still = frame["died"], frame["stillborn"]
    end, end_is_day = _end(frame, dead)
    by_day = (start_precision == "day") | end_is_day
    age = whole_hours(start, end, by_day, settings.time_zone).clip(lower=0)
    told, told_by_day = told_age(frame)
    by_told = dead & age.isna() & told.notna()
    age, by_day = age.where(~by_told, told), by_day.where(~by_told, told_by_day)
    gone = left_undated(frame, dead)
    kept_whole = ~dead & end.isna() & ~gone
    age = age.where(~gone, 0.0)
    age = age.where(~kept_whole, settings.follow_up_h).where(~still, 0.0)
    low, high = _bounds(frame, age, start, by_day, settings)
    late = age > settings.follow_up_h
    precision = np.select([still, age.isna(), by_day & ~kept_whole], ["hour", "none", "day"], "hour")
    return pd.DataFrame(
        {
            "age_h": age.clip(upper=settings.follow_up_h),
            "age_low_h": low.clip(upper=settings.follow_up_h),
            "age_high_h": high.where(dead & ~late, np.inf).where(age.notna()),
            "age_known": age.notna() & (still | by_told | kept_whole | gone | start.notna()),
            "age_precision": pd.Series(precision, index=frame.index, dtype=object),
            "outlived": late & dead,
        }
    )


def left_undated(frame: pd.DataFrame, dead: pd.Series) -> pd.Series:
    """Those that left alive for a reason that is written, and without any date that says when."""
    if "left_reason" not in frame:
        return pd.Series(False, index=frame.index)
    dated = pd.concat([column(frame, name) for name in ("left_at", "last_seen_at", "last_alive_at")], axis=1)
    return frame["left_reason"].notna() & dated.isna().all(axis=1) & ~dead


def _end(frame: pd.DataFrame, dead: pd.Series) -> tuple[pd.Series, pd.Series]:
    """The moment at which watching ended, and whether it is known to the day only."""
    death = column(frame, "died_at").fillna(column(frame, "found_dead_at"))
    death_day = is_day(frame, "died_at").where(
        column(frame, "died_at").notna(), is_day(frame, "found_dead_at")
    )
    seen = pd.concat([column(frame, "last_seen_at"), column(frame, "last_alive_at")], axis=1).max(axis=1)
    seen_day = is_day(frame, "last_seen_at").where(
        column(frame, "last_seen_at") == seen, is_day(frame, "last_alive_at")
    )
    left = column(frame, "left_at")
    alive, alive_day = left.fillna(seen), is_day(frame, "left_at").where(left.notna(), seen_day)
    return death.where(dead, alive), death_day.where(dead, alive_day)


def _bounds(
    frame: pd.DataFrame, age: pd.Series, start: pd.Series, by_day: pd.Series, settings: Settings
) -> tuple[pd.Series, pd.Series]:
    """(last alive, found dead] in hours where no time of death is given; else the age itself twice."""
    between = (
        frame["died"] & ~frame["stillborn"] & column(frame, "died_at").isna()
        & column(frame, "last_alive_at").notna() & column(frame, "found_dead_at").notna()
    )  # fmt: skip
    day = by_day | is_day(frame, "last_alive_at")
    low = whole_hours(start, column(frame, "last_alive_at"), day, settings.time_zone).clip(lower=0)
    return low.where(between & (low <= age), age), age


def lost_by(frame: pd.DataFrame, end_h: float, last: bool = False) -> pd.Series:
    """Lost in a window: True if dead before its end (at the latest at its end in the last one), False if watched past.

    Missing where the newborn left alive before the end, or died at an unknown time.
    """
    dead_in = frame["died"] & ((frame["age_h"] <= end_h) if last else (frame["age_h"] < end_h))
    past = (frame["age_h"] >= end_h) | (frame["died"] & (frame["age_h"] > end_h))
    lost = pd.Series(pd.NA, index=frame.index, dtype="boolean")
    return lost.mask(past, False).mask(dead_in | frame["stillborn"], True)


def join_clocks(births: Gathered) -> None:
    """Give every clock time its date; what cannot be given one is set to missing and named."""
    _birth_clock(births)
    for column in ELAPSED:
        if column in births.frame:
            _elapsed_clock(births, column)
    for column in MOMENTS:
        if column in births.frame:
            births.frame[f"{column}_is_day"] = births.frame.pop(f"{column}|is_day")
    helpers = [column for column in births.frame if "|" in str(column)]
    births.frame = births.frame.drop(columns=helpers)


def _birth_clock(births: Gathered) -> None:
    """A time of birth without its date takes the date in born_on."""
    frame = births.frame
    if "born_at" not in frame:
        return
    clock = frame["born_at|clock_s"]
    day = frame["born_on"] if "born_on" in frame else pd.Series(pd.NaT, index=frame.index)
    joined = day.dt.normalize() + span(clock)
    frame["born_at"] = frame["born_at"].fillna(joined)
    alone = where(clock.notna() & joined.isna())
    values = [_clock(seconds) for seconds in clock.take(alone)]
    remedy = say("write the date before the time, or keep the date in born_on")
    births.enter(
        Finding(alone, "born_at", values, say("a clock time without its date"), remedy, "set to missing")
    )


def _elapsed_clock(births: Gathered, column: str) -> None:
    frame = births.frame
    clock, moment = frame[f"{column}|clock_s"], frame[f"{column}|moment"]
    timed = (
        frame["born_at"].where(~frame["born_at|is_day"])
        if "born_at" in frame
        else pd.Series(pd.NaT, index=frame.index, dtype="datetime64[ns]")
    )
    after_midnight = (timed - timed.dt.normalize()).dt.total_seconds()
    minutes = ((clock - after_midnight) % 86_400) / 60
    _ask_about_lengths(births, column, minutes, clock / 60)
    minutes = minutes.fillna((moment - timed).dt.total_seconds() / 60)
    lost = where((clock.notna() | moment.notna()) & timed.isna())
    births.enter(_lost_clock(column, lost, clock, moment))
    before, remedy = where(minutes < 0), say("look which of the two times is wrong")
    values = moment.take(before).tolist()
    births.enter(Finding(before, column, values, say("it is before the birth"), remedy, "set to missing"))
    minutes = minutes.where(~(minutes < 0))
    frame[column] = frame[column].fillna(minutes)
    not_by = frame[f"{column}|not_by"]
    frame[f"{column}_not_by"] = frame[column].where(not_by)
    frame[column] = frame[column].where(~not_by)


def _ask_about_lengths(births: Gathered, column: str, by_clock: pd.Series, by_length: pd.Series) -> None:
    """Ask where what looks like clock times seem to be hours and minutes after birth."""
    asked = by_clock.notna()
    if (
        asked.sum() < FEW
        or by_length[asked].max() > SHORT_MIN
        or (by_clock[asked] > SHORT_MIN).mean() < OFTEN
    ):
        return
    first = int(np.flatnonzero(asked)[0])
    place = births.origin["file"].iloc[first]
    raise CannotRead(
        f"{place}, column {column}: its clock times, such as {_clock(by_length.iloc[first] * 60)}, would often lie "
        "many hours after birth and seem to be hours and minutes after birth; write minutes after birth (45) instead."
    )


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 3600:02d}:{int(seconds) // 60 % 60:02d}"


def _lost_clock(column: str, at: np.ndarray, clock: pd.Series, moment: pd.Series) -> Finding:
    told = zip(clock.take(at), moment.take(at), strict=True)
    values = [when if np.isnan(seconds) else _clock(seconds) for seconds, when in told]
    remedy = say("write the time of birth in born_at, or the minutes after birth here")
    return Finding(at, column, values, NEEDS_BIRTH, remedy, "set to missing")
