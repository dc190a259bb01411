"""When a newborn was born, when it died, how long it was watched, and how that ended.

Clock times are joined to their dates, and "not by" is turned into hours of watching. What is asked of a column here is
answered as an array, row by row: rules ask it many times of each file, and of a small one a Series costs more to make
than the answer.
"""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import CannotRead, Finding, say, where
from neonatal_stats.season.grid import Mask
from neonatal_stats.season.ledger import Gathered
from neonatal_stats.season.settings import Settings

Moments = NDArray[np.datetime64]
Hours = NDArray[np.float64]
HOUR_S = 3600.0
ELAPSED = ("stood_after_min", "fed_after_min", "meconium_after_min")
MOMENTS = ("born_at", "died_at", "last_alive_at", "found_dead_at", "left_at", "last_seen_at")
FEW, SHORT_MIN, OFTEN = 3, 360, 0.3
NEEDS_BIRTH = say("a clock time needs the time of birth beside it")


def moments(frame: pd.DataFrame, name: str) -> Moments:
    """A column of moments, NaT where there is none; without the column, nowhere any."""
    if name in frame:
        return frame[name].to_numpy()
    return np.full(len(frame), np.datetime64("NaT"), dtype="datetime64[ns]")


def known(moment: Moments) -> Mask:
    """True where there is a moment."""
    return np.asarray(~np.isnat(moment))


def day_of(moment: Moments) -> Moments:
    """The day of each moment."""
    return moment.astype("datetime64[D]")


def first_known(first: Moments, *others: Moments) -> Moments:
    """Row by row the first of several moments that is known."""
    for other in others:
        first = np.where(np.isnat(first), other, first)
    return first


def words(frame: pd.DataFrame, name: str) -> NDArray[np.object_]:
    """A column of words, None where there is none; without the column, nowhere any."""
    if name in frame:
        found = frame[name].to_numpy(dtype=object)
        return np.where(pd.isna(found), np.array(None), found)
    return np.full(len(frame), None, dtype=object)


def is_day(frame: pd.DataFrame, name: str) -> Mask:
    """True where a moment is known to the day only: said by the reader, else where all stand at midnight."""
    if f"{name}_is_day" in frame:
        return frame[f"{name}_is_day"].to_numpy(dtype=bool)
    moment = moments(frame, name)
    there = known(moment)
    return np.asarray(there & ((moment == day_of(moment)) | ~there).all())


def answered(frame: pd.DataFrame, name: str, answer: bool) -> Mask:
    """True where a yes-no column gives this answer; not known is False."""
    if name not in frame:
        return np.zeros(len(frame), dtype=bool)
    return np.asarray(frame[name].to_numpy(dtype=bool, na_value=not answer) == answer)


def birth(frame: pd.DataFrame) -> Moments:
    """The moment of birth, or its day where no time was kept."""
    return first_known(moments(frame, "born_at"), day_of(moments(frame, "born_on")))


def born(frame: pd.DataFrame) -> tuple[Moments, NDArray[np.object_]]:
    """The moment of birth and its precision: "time", "day" or "none"."""
    moment = birth(frame)
    timed = known(moments(frame, "born_at")) & ~is_day(frame, "born_at")
    return moment, np.select([timed, known(moment)], ["time", "day"], "none").astype(object)


def span(values: NDArray[np.float64], seconds: float = 1.0) -> NDArray[np.timedelta64]:
    """Lengths of time from numbers of a unit that lasts so many seconds; missing stays missing."""
    there = ~np.isnan(values)
    spans = (
        np.round(np.where(there, values * seconds, 0.0)).astype("timedelta64[s]").astype("timedelta64[ns]")
    )
    spans[~there] = np.timedelta64("NaT")
    return spans


def elapsed_h(start: Moments, end: Moments, zone: str) -> Hours:
    """Exact hours between two local moments; clock changes are heeded where the zone is known.

    An end that occurs twice is its first occurrence, or its second where the first would come before the start.
    """
    if zone:
        first, second = (universal(end, zone, later) - universal(start, zone) for later in (False, True))
        apart = np.where(first >= np.timedelta64(0), first, second)
    else:
        apart = end - start
    return apart / np.timedelta64(1, "s") / HOUR_S


def universal(local: Moments, zone: str, later: bool = False) -> Moments:
    """Local moments in UTC; an hour that occurs twice is its first, or with ``later`` its second occurrence."""
    first = np.full(len(local), not later)
    there = pd.DatetimeIndex(local).tz_localize(ZoneInfo(zone), ambiguous=first, nonexistent="shift_forward")
    return there.tz_convert("UTC").tz_localize(None).to_numpy()


def whole_hours(start: Moments, end: Moments, by_day: Mask, zone: str) -> Hours:
    """Whole hours from birth to a moment, rounded down; whole days of 24 hours where either is a date alone."""
    hours = np.floor(elapsed_h(start, end, zone) + 1e-9)
    days = (day_of(end) - day_of(start)) / np.timedelta64(1, "D") * 24.0
    return np.where(by_day, days, hours)


def stillborn(frame: pd.DataFrame) -> Mask:
    """Born dead: said so, or the cause of its loss is stillbirth."""
    by_cause = words(frame, "cause") == "stillbirth"
    return np.asarray(answered(frame, "born_alive", False) | (by_cause & ~answered(frame, "died", False)))


def died(frame: pd.DataFrame) -> Mask:
    """Lost at any time: born dead, said to have died, or a time or cause of death is given."""
    told = answered(frame, "died", True) | stillborn(frame)
    timed = known(moments(frame, "died_at")) | known(moments(frame, "found_dead_at"))
    given = timed | ~np.isnan(told_age(frame)[0]) | pd.notna(words(frame, "cause"))
    return told | (given & ~answered(frame, "died", False))


def causes(frame: pd.DataFrame, lost: Mask, still: Mask) -> NDArray[np.object_]:
    """The cause of each loss: "stillbirth" for the stillborn and "unknown" for others where none is given."""
    cause, ungiven = words(frame, "cause"), np.where(still, "stillbirth", "unknown")
    return np.where(lost, np.where(pd.isna(cause), ungiven, cause), np.array(None))


def numbers(frame: pd.DataFrame, name: str) -> NDArray[np.float64]:
    """A column of numbers, NaN where there is none; without the column, nowhere any."""
    if name in frame:
        return frame[name].to_numpy(dtype=float, na_value=np.nan)
    return np.full(len(frame), np.nan)


def told_age(frame: pd.DataFrame) -> tuple[Hours, Mask]:
    """The age at death as it was kept, in whole hours, and whether it is known to the day only."""
    hours = np.floor(numbers(frame, "age_at_death_h") + 1e-9)
    days = np.floor(numbers(frame, "age_at_death_d") + 1e-9) * 24.0
    by_day = np.isnan(hours) & ~np.isnan(days)
    return np.where(by_day, days, hours), by_day


def watched(frame: pd.DataFrame, dead: Mask, still: Mask, settings: Settings) -> dict[str, NDArray[Any]]:
    """Age at the end of watching, its bounds and its precision, by the names of their columns; and who outlived it.

    ``dead`` are those that `died`, and ``still`` the `stillborn` among them.

    ``age_h`` is in whole hours, rounded down (whole days of 24 hours where a date has no time). The bounds
    differ from it only where a death is known to lie between last alive and found dead; for a survivor the
    upper bound is infinite. An age at death that was kept as such is used where no time of death gives one. One that is
    said not to have died, and of which no more is written, lived to the end of follow-up, dated birth or not; one that
    is said to have left alive, nobody knows when, was alive at birth and is not watched from then on.
    """
    start, start_precision = born(frame)
    end, end_is_day = _end(frame, dead)
    by_day = (start_precision == "day") | end_is_day
    age = np.maximum(whole_hours(start, end, by_day, settings.time_zone), 0)
    told, told_by_day = told_age(frame)
    by_told = dead & np.isnan(age) & ~np.isnan(told)
    age, by_day = np.where(by_told, told, age), np.where(by_told, told_by_day, by_day)
    gone = left_undated(frame, dead)
    kept_whole = ~dead & np.isnat(end) & ~gone
    age = np.select([still, kept_whole, gone], [0.0, settings.follow_up_h, 0.0], age)
    low = _last_alive_h(frame, dead & ~still, age, start, by_day, settings)
    late, aged = age > settings.follow_up_h, ~np.isnan(age)
    precision = np.select([still, ~aged, by_day & ~kept_whole], ["hour", "none", "day"], "hour")
    return {
        "age_h": np.minimum(age, settings.follow_up_h),
        "age_low_h": np.minimum(low, settings.follow_up_h),
        "age_high_h": np.where(aged & ~(dead & ~late), np.inf, age),
        "age_known": aged & (still | by_told | kept_whole | gone | known(start)),
        "age_precision": precision.astype(object),
        "outlived": late & dead,
    }


def left_undated(frame: pd.DataFrame, dead: Mask | pd.Series) -> Mask:
    """Those that left alive for a reason that is written, and without any date that says when."""
    if "left_reason" not in frame:
        return np.zeros(len(frame), dtype=bool)
    dated = [known(moments(frame, name)) for name in ("left_at", "last_seen_at", "last_alive_at")]
    return np.asarray(frame["left_reason"].notna() & ~np.logical_or.reduce(dated) & ~dead)


def _end(frame: pd.DataFrame, dead: Mask) -> tuple[Moments, Mask]:
    """The moment at which watching ended, and whether it is known to the day only."""
    died_at, left, last_seen = (moments(frame, name) for name in ("died_at", "left_at", "last_seen_at"))
    seen = np.fmax(last_seen, moments(frame, "last_alive_at"))
    seen_day = np.where(last_seen == seen, is_day(frame, "last_seen_at"), is_day(frame, "last_alive_at"))
    death = first_known(died_at, moments(frame, "found_dead_at"))
    death_day = np.where(known(died_at), is_day(frame, "died_at"), is_day(frame, "found_dead_at"))
    alive_day = np.where(known(left), is_day(frame, "left_at"), seen_day)
    return np.where(dead, death, first_known(left, seen)), np.where(dead, death_day, alive_day)


def _last_alive_h(
    frame: pd.DataFrame, dead: Mask, age: Hours, start: Moments, by_day: Mask, settings: Settings
) -> Hours:
    """The lower end of (last alive, found dead] in hours where no time of death is given; else the age itself."""
    last_alive = moments(frame, "last_alive_at")
    found = known(last_alive) & known(moments(frame, "found_dead_at"))
    day = by_day | is_day(frame, "last_alive_at")
    low = np.maximum(whole_hours(start, last_alive, day, settings.time_zone), 0)
    return np.where(dead & found & ~known(moments(frame, "died_at")) & (low <= age), low, age)


def lost_by(frame: pd.DataFrame, end_h: float, last: bool = False) -> pd.arrays.BooleanArray:
    """Lost in a window: True if dead before its end (at the latest at its end in the last one), False if watched past.

    Missing where the newborn left alive before the end, or died at an unknown time.
    """
    dead, age = frame["died"].to_numpy(dtype=bool), numbers(frame, "age_h")
    lost = (dead & ((age <= end_h) if last else (age < end_h))) | frame["stillborn"].to_numpy(dtype=bool)
    past = (age >= end_h) | (dead & (age > end_h))
    return pd.arrays.BooleanArray(lost, ~lost & ~past)


def join_clocks(births: Gathered) -> None:
    """Give every clock time its date; what cannot be given one is set to missing and named."""
    _birth_clock(births)
    for column in ELAPSED:
        if column in births.frame:
            _elapsed_clock(births, column)
    tidy = [name for name in births.frame if "|" not in str(name)]
    days = {f"{name}|is_day": f"{name}_is_day" for name in MOMENTS if name in births.frame}
    births.frame = births.frame.reindex(columns=[*tidy, *days])
    births.frame.columns = pd.Index([*tidy, *days.values()])


def _birth_clock(births: Gathered) -> None:
    """A time of birth without its date takes the date in born_on."""
    frame = births.frame
    if "born_at" not in frame or frame["born_at|clock_s"].isna().all():
        return
    clock = numbers(frame, "born_at|clock_s")
    joined = day_of(moments(frame, "born_on")) + span(clock)
    frame["born_at"] = first_known(moments(frame, "born_at"), joined)
    alone = where(~np.isnan(clock) & np.isnat(joined))
    values = [_clock(seconds) for seconds in clock[alone]]
    remedy = say("write the date before the time, or keep the date in born_on")
    births.enter(
        Finding(alone, "born_at", values, say("a clock time without its date"), remedy, "set to missing")
    )


def _elapsed_clock(births: Gathered, column: str) -> None:
    """Minutes from birth to a clock time or a moment; "not by" apart from the rest."""
    frame = births.frame
    clock, moment = numbers(frame, f"{column}|clock_s"), moments(frame, f"{column}|moment")
    told = np.full(len(frame), np.nan)
    if (~np.isnan(clock) | known(moment)).any():
        told = _after_birth_min(births, column, clock, moment)
    minutes, not_by = numbers(frame, column), frame[f"{column}|not_by"].to_numpy(dtype=bool)
    minutes = np.where(np.isnan(minutes), told, minutes)
    frame[column] = np.where(not_by, np.nan, minutes)
    frame[f"{column}_not_by"] = np.where(not_by, minutes, np.nan)


def _after_birth_min(
    births: Gathered, column: str, clock: NDArray[np.float64], moment: Moments
) -> NDArray[np.float64]:
    """Minutes after birth of clock times and moments; those that cannot be are found."""
    frame = births.frame
    timed = moments(frame, "born_at")
    if "born_at" in frame:
        timed = np.where(frame["born_at|is_day"].to_numpy(dtype=bool), np.datetime64("NaT"), timed)
    after_midnight = (timed - day_of(timed)) / np.timedelta64(1, "s")
    by_clock = ((clock - after_midnight) % 86_400) / 60
    _ask_about_lengths(births, column, by_clock, clock / 60)
    minutes = np.where(np.isnan(by_clock), (moment - timed) / np.timedelta64(1, "s") / 60, by_clock)
    lost = where((~np.isnan(clock) | known(moment)) & np.isnat(timed))
    births.enter(_lost_clock(column, lost, clock, moment))
    before, remedy = where(minutes < 0), say("look which of the two times is wrong")
    values = list(pd.DatetimeIndex(moment[before]))
    births.enter(Finding(before, column, values, say("it is before the birth"), remedy, "set to missing"))
    return np.where(minutes < 0, np.nan, minutes)


def _ask_about_lengths(
    births: Gathered, column: str, by_clock: NDArray[np.float64], by_length: NDArray[np.float64]
) -> None:
    """Ask where what looks like clock times seem to be hours and minutes after birth."""
    asked = ~np.isnan(by_clock)
    if (
        asked.sum() < FEW
        or by_length[asked].max() > SHORT_MIN
        or (by_clock[asked] > SHORT_MIN).mean() < OFTEN
    ):
        return
    first = int(np.flatnonzero(asked)[0])
    place = births.origin["file"].iloc[first]
    raise CannotRead(
        f"{place}, column {column}: its clock times, such as {_clock(by_length[first] * 60)}, would often lie "
        "many hours after birth and seem to be hours and minutes after birth; write minutes after birth (45) instead."
    )


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 3600:02d}:{int(seconds) // 60 % 60:02d}"


def _lost_clock(column: str, at: NDArray[np.int64], clock: NDArray[np.float64], moment: Moments) -> Finding:
    told = zip(clock[at], pd.DatetimeIndex(moment[at]), strict=True)
    values = [when if np.isnan(seconds) else _clock(seconds) for seconds, when in told]
    remedy = say("write the time of birth in born_at, or the minutes after birth here")
    return Finding(at, column, values, NEEDS_BIRTH, remedy, "set to missing")
