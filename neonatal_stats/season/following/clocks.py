"""Clock times joined to their dates, and "not by" turned into hours of watching."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import CannotRead, Finding, say, where
from neonatal_stats.season.following.ages import span
from neonatal_stats.season.gathering.gathered import Gathered

ELAPSED = ("stood_after_min", "fed_after_min", "meconium_after_min")
MOMENTS = ("born_at", "died_at", "last_alive_at", "found_dead_at", "left_at", "last_seen_at")
FEW, SHORT_MIN, OFTEN = 3, 360, 0.3
NEEDS_BIRTH = say("a clock time needs the time of birth beside it")


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
