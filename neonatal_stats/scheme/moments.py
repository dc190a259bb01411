"""Moments of a newborn's records and the hours between them, as expressions: `season.following.ages`, on an engine.

Moments are local and have no zone of their own. Where the settings name one, the changes of its clock in the years of
the records are written into the expression, so that no engine needs to know the zone. Milestones of the first hours, as
the births' own columns tell them (`measures.milestones`), stand here too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import reduce
from zoneinfo import ZoneInfo

import ibis

from neonatal_stats.measures.milestones import FEEDING, MECONIUM, SLACK_H, STANDING
from neonatal_stats.scheme.classes import column
from neonatal_stats.season.settings import Settings

MICROSECONDS, HOUR_S = 1e6, 3600.0
JUST_UNDER = 1e-9
"""Hours that are added before hours are rounded down, since 24 h may be told as 23.9999999999."""
DAY = timedelta(days=1)


def is_day(births: ibis.Table, name: str) -> ibis.Value:
    """True where a moment is known to the day only: said by its ``_is_day``, else where all stand at midnight.

    Tidy tables say it; to find it out costs the engine a look at all rows.
    """
    if f"{name}_is_day" in births.columns:
        return births[f"{name}_is_day"].fill_null(False)
    midnight = births[name].isnull() | (births[name] == births[name].truncate("D"))
    return births[name].notnull() & midnight.all().over(ibis.window())


def told(births: ibis.Table, name: str, answer: bool) -> ibis.Value:
    """True where a yes-no column gives this answer; not known is False."""
    return (births[name] == answer).fill_null(False)


def birth(births: ibis.Table) -> ibis.Value:
    """The moment of birth, or its day where no time was kept."""
    return ibis.coalesce(births.born_at, births.born_on.cast("timestamp").truncate("D"))


def later_of(one: ibis.Value, other: ibis.Value) -> ibis.Value:
    """The later of two moments, or the one that is known."""
    return ibis.greatest(ibis.coalesce(one, other), ibis.coalesce(other, one))


@dataclass(frozen=True)
class Clock:
    """The clock by which moments were written: the changes of a zone in some years; none without a zone."""

    zone: str = ""
    years: tuple[int, int] = (0, 0)

    def elapsed_h(self, start: ibis.Value, end: ibis.Value) -> ibis.Value:
        """Exact hours between two moments.

        An end that occurs twice is its first occurrence, or its second where the first would come before the start.
        """
        apart = end.delta(start, unit="microsecond").cast("float64")
        if self.zone:
            first, second = (apart - self._ahead(end, later) + self._ahead(start) for later in (False, True))
            apart = ibis.ifelse(first >= 0, first, second)
        return apart / MICROSECONDS / HOUR_S

    def whole_hours(self, start: ibis.Value, end: ibis.Value, by_day: ibis.Value) -> ibis.Value:
        """Whole hours from birth to a moment, rounded down, at least 0; whole days of 24 hours where ``by_day``."""
        hours = whole(self.elapsed_h(start, end))
        days = end.date().delta(start.date(), unit="day").cast("float64") * 24.0
        return ibis.ifelse(by_day, days, hours).clip(lower=0.0)

    def _ahead(self, local: ibis.Value, later: bool = False) -> ibis.Value:
        """Microseconds by which a local moment is ahead of universal time.

        One in an hour that the clock leaves out stands for the end of that hour, as the clock shows it.
        """
        branches: list[tuple[datetime, ibis.Value]] = []
        for change, before, after in _changes(self.zone, *self.years):
            if after > before:
                gone, ends = change + timedelta(seconds=before), change + timedelta(seconds=after)
                within = local.delta(ibis.timestamp(gone), unit="microsecond").cast("float64")
                branches += [(gone, within + before * MICROSECONDS), (ends, _micro(after))]
            else:
                branches.append((change + timedelta(seconds=after if later else before), _micro(after)))
        first = _micro(_offset(self.zone, datetime(self.years[0] - 1, 1, 2, tzinfo=UTC)))
        latest_first = [(local >= ibis.timestamp(start), value) for start, value in reversed(branches)]
        return ibis.cases(*latest_first, else_=first) if latest_first else first


def whole(hours: ibis.Value) -> ibis.Value:
    """Hours (or days) rounded down to whole ones."""
    return (hours.cast("float64") + JUST_UNDER).floor().cast("float64")


def _micro(seconds: float) -> ibis.Value:
    return ibis.literal(seconds * MICROSECONDS, "float64")


def _offset(zone: str, when: datetime) -> float:
    ahead = when.astimezone(ZoneInfo(zone)).utcoffset()
    return ahead.total_seconds() if ahead else 0.0


def _changes(zone: str, first: int, last: int) -> Iterator[tuple[datetime, float, float]]:
    """Each change of a zone's clock from the year before the first to the year after the last: the universal moment
    without its zone, and how many seconds the clock is ahead before it and after it."""
    day = datetime(first - 1, 1, 2, tzinfo=UTC)
    while day.year <= last + 1:
        before, after = _offset(zone, day), _offset(zone, day + DAY)
        if before != after:
            low, high = 0, int(DAY.total_seconds())
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (
                    (middle, high)
                    if _offset(zone, day + timedelta(seconds=middle)) == before
                    else (low, middle)
                )
            yield (day + timedelta(seconds=high)).replace(tzinfo=None), before, after
        day += DAY


FED = "fed_in_time"
"""Found the teat and fed by the mark of the settings; missing where nobody can tell, and of those born dead."""
MILESTONES = (FED,)


def with_milestones(births: ibis.Table, settings: Settings) -> ibis.Table:
    """Add `FED`: met, not met, or missing, as `measures.milestones.met` has it of the state when the mark is due."""
    due_h = settings.marks.fed_h
    fed, not_by = (_hours(births, name) for name in FEEDING)
    seen_to = due_h + SLACK_H
    late = _surely(fed > seen_to) | (~_gone(births, due_h) & _surely(not_by >= due_h - SLACK_H))
    met = ibis.cases((births.stillborn, None), (_surely(fed <= seen_to), True), (late, False))
    return births.mutate(**{FED: met})


def _surely(told: ibis.Value) -> ibis.Value:
    return told.fill_null(False)


def _hours(births: ibis.Table, name: str) -> ibis.Value:
    hours = column(births, name, "float64")
    return ibis.ifelse(hours >= 0, hours, ibis.null("float64"))


def _gone(births: ibis.Table, due_h: float) -> ibis.Value:
    """Dead before the mark, or not surely seen alive any more: not `measures.milestones.alive_at`."""
    dead = births.died & births.age_known
    seen = [births.age_low_h, *(_hours(births, after) for after, _ in (STANDING, FEEDING, MECONIUM))]
    last = reduce(later_of, seen)
    before = _surely(births.age_h < float(due_h // 1))
    unseen = _surely((last < births.age_h) & (last < due_h - SLACK_H))
    return births.stillborn | (dead & (before | unseen))
