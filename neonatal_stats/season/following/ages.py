"""Ages: when a newborn was born, when watching it ended, and how well both are known."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

HOUR_S = 3600.0


def column(frame: pd.DataFrame, name: str) -> pd.Series:
    """A column of moments, or one without any."""
    never = pd.Series(pd.NaT, index=frame.index, dtype="datetime64[ns]")
    return frame.get(name, never)


def is_day(frame: pd.DataFrame, name: str) -> pd.Series:
    """True where a moment is known to the day only: said by the reader, else where all stand at midnight."""
    if f"{name}_is_day" in frame:
        return frame[f"{name}_is_day"].fillna(False).astype(bool)
    moments = column(frame, name)
    midnight = (moments == moments.dt.normalize()) | moments.isna()
    return moments.notna() & bool(midnight.all())


def answered(frame: pd.DataFrame, name: str, answer: bool) -> pd.Series:
    """True where a yes-no column gives this answer; not known is False."""
    if name not in frame:
        return pd.Series(False, index=frame.index)
    return (frame[name].astype("boolean") == answer).fillna(False).astype(bool)


def born(frame: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """The moment of birth and its precision: "time", "day" or "none"."""
    at, on = column(frame, "born_at"), column(frame, "born_on").dt.normalize()
    moment = at.fillna(on)
    timed = at.notna() & ~is_day(frame, "born_at")
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
