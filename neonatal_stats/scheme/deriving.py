"""What follows from tidy births, as expressions: birth, outcome, age, windows of loss (`season.following`).

Each function takes and gives a table of the engine, one row a newborn; nothing is executed here but the years of the
records, and those only where the settings name a time zone.
"""

from __future__ import annotations

import ibis

from neonatal_stats.scheme.classes import with_classes, with_litters, with_weight_class
from neonatal_stats.scheme.moments import Clock, birth, is_day, later_of, told, whole
from neonatal_stats.season.following.ages import MOMENTS
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.derived import OF_WINDOW
from neonatal_stats.vocabulary.terms import STILLBIRTH


def followed(births: ibis.Table, settings: Settings) -> ibis.Table:
    """Tidy births with all that follows from them.

    Parameters
    ----------
    births : tidy columns of the vocabulary with their types, as `season.tidy.typed_frame` gives them; at least farm,
        season and species.

    Returns
    -------
    The same rows with the columns of `season.following.follow.follow`, but for three: litters and dams are told apart
    by columns (`classes.LITTER`), not numbered; rows have no number; the first feed is that of the births alone.
    """
    return with_weight_class(with_litters(with_classes(by_row(births, settings))))


def by_row(births: ibis.Table, settings: Settings, clock: Clock | None = None) -> ibis.Table:
    """Of what follows, all that a newborn's own row tells: it costs an engine no sorting and no join.

    ``clock`` is that of the records, where it is known already (`clock_of`).
    """
    whole, lacking = _whole(births)
    watched = _watched(_born(whole), clock or clock_of(whole, settings), settings)
    return _windows(_ended(watched, settings), settings).drop(*lacking)


TOLD = {
    **dict.fromkeys(MOMENTS, "timestamp"),
    **dict.fromkeys(("age_at_death_h", "age_at_death_d"), "float64"),
    **dict.fromkeys(("born_alive", "died"), "boolean"),
    "born_on": "date",
    "cause": "string",
    "left_reason": "string",
}
"""The columns that tell outcome and age, with their kinds."""


def _whole(births: ibis.Table) -> tuple[ibis.Table, list[str]]:
    """The births with every column of `TOLD`, missing everywhere where it was not there; which of them do not stay."""
    lacking = {name: ibis.null(kind) for name, kind in TOLD.items() if name not in births.columns}
    days = {f"{name}_is_day": ibis.literal(False) for name in lacking if name in MOMENTS}
    added = {name: value for name, value in {**lacking, **days}.items() if name not in births.columns}
    return births.mutate(**added), [name for name in added if name not in ("died", "cause")]


def clock_of(births: ibis.Table, settings: Settings) -> Clock:
    """The clock of these records: their zone in their years (one pass over the dates; none without a zone)."""
    if not settings.time_zone:
        return Clock()
    years = births.aggregate(first=birth(births).year().min(), last=birth(births).year().max()).execute()
    first, last = years.iloc[0]
    return Clock(settings.time_zone, (int(first), int(last))) if first == first and first else Clock()


def _born(births: ibis.Table) -> ibis.Table:
    timed = births.born_at.notnull() & ~is_day(births, "born_at")
    births = births.mutate(
        born=birth(births),
        born_precision=ibis.cases((timed, "time"), (birth(births).notnull(), "day"), else_="none"),
    )
    hour = births.born.hour().cast("float64")
    return births.mutate(
        born_week=births.born.truncate("W"),
        born_hour=ibis.ifelse(births.born_precision == "time", hour, None),
    )


def _watched(births: ibis.Table, clock: Clock, settings: Settings) -> ibis.Table:
    """Lost or not, and the age at the end of watching, before either is cut at the end of follow-up."""
    births = _told_dead(births)
    births = _end(births)
    timed = clock.whole_hours(births.born, births.end, (births.born_precision == "day") | births.end_is_day)
    births = births.mutate(timed_h=timed, **_told_age(births))
    by_told = births.dead & births.timed_h.isnull() & births.told_h.notnull()
    ended = ~births.dead & births.end.isnull()
    gone = births.left_reason.notnull()
    births = births.mutate(by_told=by_told, kept_whole=ended & ~gone, gone=ended & gone)
    age = ibis.ifelse(births.by_told, births.told_h, births.timed_h)
    follow_up = ibis.literal(settings.follow_up_h, "float64")
    births = births.mutate(
        by_day=ibis.ifelse(
            births.by_told, births.told_by_day, (births.born_precision == "day") | births.end_is_day
        ),
        whole_h=ibis.cases((births.stillborn | births.gone, 0.0), (births.kept_whole, follow_up), else_=age),
    )
    return births.mutate(low_h=_low(births, clock))


def _told_dead(births: ibis.Table) -> ibis.Table:
    """Born dead, and lost at any time."""
    cause, denied = births.cause, told(births, "died", False)
    still = told(births, "born_alive", False) | ((cause == STILLBIRTH).fill_null(False) & ~denied)
    given = (births.died_at, births.found_dead_at, births.age_at_death_h, births.age_at_death_d, cause)
    any_given = ibis.or_(*(value.notnull() for value in given))
    births = births.mutate(stillborn=still)
    return births.mutate(dead=told(births, "died", True) | births.stillborn | (any_given & ~denied))


def _end(births: ibis.Table) -> ibis.Table:
    """The moment at which watching ended, and whether it is known to the day only."""
    died_at, left = births.died_at, births.left_at
    seen = later_of(births.last_seen_at, births.last_alive_at)
    death_day = ibis.ifelse(died_at.notnull(), is_day(births, "died_at"), is_day(births, "found_dead_at"))
    seen_day = ibis.ifelse(
        births.last_seen_at == seen, is_day(births, "last_seen_at"), is_day(births, "last_alive_at")
    )
    alive_day = ibis.ifelse(left.notnull(), is_day(births, "left_at"), seen_day)
    death = ibis.coalesce(died_at, births.found_dead_at)
    return births.mutate(
        end=ibis.ifelse(births.dead, death, ibis.coalesce(left, seen)),
        end_is_day=ibis.ifelse(births.dead, death_day, alive_day),
    )


def _told_age(births: ibis.Table) -> dict[str, ibis.Value]:
    """The age at death as it was kept, in whole hours, and whether it is known to the day only."""
    hours = whole(births.age_at_death_h)
    days = whole(births.age_at_death_d) * 24.0
    return {"told_h": ibis.coalesce(hours, days), "told_by_day": hours.isnull() & days.notnull()}


def _low(births: ibis.Table, clock: Clock) -> ibis.Value:
    """The age at which one that was found dead had last been seen alive; of all others the age itself."""
    last_alive = births.last_alive_at
    between = births.dead & ~births.stillborn & births.died_at.isnull()
    between &= last_alive.notnull() & births.found_dead_at.notnull()
    low = clock.whole_hours(births.born, last_alive, births.by_day | is_day(births, "last_alive_at"))
    return ibis.ifelse(between & (low <= births.whole_h), low, births.whole_h)


STEPS = (
    *(
        "dead",
        "end",
        "end_is_day",
        "timed_h",
        "told_h",
        "told_by_day",
        "by_told",
        "kept_whole",
        "gone",
        "by_day",
    ),
    *("whole_h", "low_h"),
)
"""Columns on the way to the ages, which do not stay."""


def _ended(births: ibis.Table, settings: Settings) -> ibis.Table:
    """Age, outcome and cause as they are at the end of follow-up: who died later was alive then."""
    age, end_h = births.whole_h, ibis.literal(settings.follow_up_h, "float64")
    late = (age > end_h).fill_null(False)
    dated = births.stillborn | births.by_told | births.kept_whole | births.gone | births.born.notnull()
    high = ibis.ifelse(births.dead & ~late, age, float("inf"))
    precision = ibis.cases(
        (births.stillborn, "hour"),
        (age.isnull(), "none"),
        (births.by_day & ~births.kept_whole, "day"),
        else_="hour",
    )
    cause = ibis.coalesce(births.cause, ibis.ifelse(births.stillborn, STILLBIRTH, "unknown"))
    lost = births.dead & ~late
    ended = births.mutate(
        age_h=age.clip(upper=end_h),
        age_low_h=births.low_h.clip(upper=end_h),
        age_high_h=ibis.ifelse(age.notnull(), high, None),
        age_known=age.notnull() & dated,
        age_precision=precision,
        died=lost,
        lost=lost,
        outcome=ibis.ifelse(lost, "dead", "alive"),
        cause=ibis.ifelse(lost & cause.isin(settings.causes), cause, None),
    )
    return ended.drop(*STEPS)


def _windows(births: ibis.Table, settings: Settings) -> ibis.Table:
    """Lost in each window; missing where one left alive before its end, or died at an unknown time."""
    made = {}
    for name, end_h in settings.windows_h.items():
        last = end_h >= settings.follow_up_h
        before = (births.age_h <= end_h) if last else (births.age_h < end_h)
        past = (births.age_h >= end_h) | (births.died & (births.age_h > end_h))
        lost = ((births.died & before) | births.stillborn, True)
        made[f"{OF_WINDOW}{name.replace(' ', '_')}"] = ibis.cases(lost, (past, False))
    return births.mutate(**made)
