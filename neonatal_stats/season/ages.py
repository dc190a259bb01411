"""Ages: when a newborn was born, when watching it ended, and how well both are known."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

HOUR_S = 3600.0


def column(frame: pd.DataFrame, name: str) -> pd.Series:
    """A column of moments, or one without any."""
    never = pd.Series(pd.NaT, index=frame.index, dtype="datetime64[ns]")
    return frame[name] if name in frame else never


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
    """Exact hours between two local moments; clock changes are heeded where the zone is known."""
    if not zone:
        return (end - start).dt.total_seconds() / HOUR_S
    return (universal(end, zone, later=True) - universal(start, zone)).dt.total_seconds() / HOUR_S


def universal(local: pd.Series, zone: str, later: bool = False) -> pd.Series:
    """Local moments in UTC; an hour that occurs twice is its first, or with ``later`` its second occurrence."""
    first = np.full(len(local), not later)
    return local.dt.tz_localize(ZoneInfo(zone), ambiguous=first, nonexistent="shift_forward").dt.tz_convert(
        "UTC"
    )


def whole_hours(start: pd.Series, end: pd.Series, by_day: pd.Series, zone: str) -> pd.Series:
    """Whole hours from birth to a moment, rounded down; whole days of 24 hours where either is a date alone."""
    hours = np.floor(elapsed_h(start, end, zone) + 1e-9)
    days = (end.dt.normalize() - start.dt.normalize()).dt.days * 24.0
    return hours.where(~by_day, days)
