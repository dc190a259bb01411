"""What follows from tidy births, as expressions: birth, outcome, age, windows of loss, litters and the classes that
newborns are grouped by (`season.following`, on an engine).

Each function takes and gives a table of the engine, one row a newborn; nothing is executed here but the years of the
records, and those only where the settings name a time zone. Moments are local and have no zone of their own: the
changes of the clock in those years are written into the expression, so that no engine needs to know the zone.

Levels are the vocabulary's own words, as text; their order stands in `vocabulary.factors`. Milestones of the first
hours, as the births' own columns tell them (`measures.milestones`), stand here too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import reduce
from zoneinfo import ZoneInfo

import ibis

from neonatal_stats.measures.milestones import FEEDING, MECONIUM, SLACK_H, STANDING
from neonatal_stats.season.following.ages import MOMENTS
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.derived import OF_WINDOW
from neonatal_stats.vocabulary.terms import STILLBIRTH

LITTER = ("farm", "season", "litter_of_dam", "litter_named")
"""The columns that tell litters apart, where ``litter_known``; where not, each newborn is a litter of its own."""
DAM = ("farm", "dam_named")
"""The same of dams over all seasons, where ``dam_named`` is not blank."""
LOWEST, HIGHEST = 0.2, 0.8
MICROSECONDS, HOUR_S = 1e6, 3600.0
JUST_UNDER = 1e-9
"""Hours that are added before hours are rounded down, since 24 h may be told as 23.9999999999."""
DAY = timedelta(days=1)


def followed(births: ibis.Table, settings: Settings) -> ibis.Table:
    """Tidy births with all that follows from them.

    Parameters
    ----------
    births : tidy columns of the vocabulary with their types, as `season.tidy.typed_frame` gives them; at least farm,
        season and species.

    Returns
    -------
    The same rows with the columns of `season.following.follow.follow`, but for three: litters and dams are told apart
    by columns (`LITTER`), not numbered; rows have no number; the first feed is that of the births alone.
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


def column(births: ibis.Table, name: str, kind: str) -> ibis.Value:
    """A column, or one of that kind that is missing everywhere; to be compared with nothing, which would be asked
    whether it is missing."""
    return births[name] if name in births.columns else ibis.null(kind)


def with_classes(births: ibis.Table) -> ibis.Table:
    """Add the classes that a row's own columns tell, and who its litter and dam are."""
    made = {name: make(births) for name, (of, make) in OF_ROW.items() if of in births.columns}
    made |= {
        f"{stem}_{end}_h": column(births, f"{stem}_after_min{of}", "float64") / 60
        for stem in ("stood", "fed", "meconium")
        for end, of in (("after", ""), ("not_by", "_not_by"))
        if f"{stem}_after_min" in births.columns
    }
    dam, litter = (column(births, name, "string").fill_null("") for name in ("dam_id", "litter_id"))
    return births.mutate(
        **made,
        dam_named=dam,
        litter_of_dam=ibis.ifelse(litter == "", dam, ""),
        litter_named=litter,
        litter_known=(dam != "") | (litter != ""),
    )


def with_litters(births: ibis.Table) -> ibis.Table:
    """Add what littermates tell together: the litter size where none was written, birth type, sexes of the litter.

    Costs the engine a sort of all rows by litter.
    """
    mates = ibis.window(group_by=list(LITTER))
    if "litter_size" not in births.columns:
        births = births.mutate(litter_size=ibis.null("float64"))
    written, known = births.litter_size.cast("float64"), births.litter_known
    spoken = ibis.coalesce(written, ibis.ifelse(known, written.max().over(mates), None))
    counted = spoken.isnull() & known
    rows = births.count().over(mates).cast("float64")
    sexes = {"sex_mix": _sexes(births, mates)} if "sex" in births.columns else {}
    births = births.mutate(
        litter_size=ibis.ifelse(counted, rows, spoken), litter_size_counted=counted, **sexes
    )
    size = births.litter_size
    singles, twins, triplets, more = terms.BIRTH_TYPES
    return births.mutate(
        birth_type=ibis.cases(
            (size == 1, singles), (size == 2, twins), (size == 3, triplets), (size >= 4, more)
        )
    )


def _sexes(births: ibis.Table, mates: object) -> ibis.Value:
    """Missing where the sex of any of a litter is not known."""
    sex = births.sex
    female, male = (sex == "female").fill_null(False), sex.isin(["male", "castrated male"]).fill_null(False)

    def of_all(own: ibis.Value) -> ibis.Value:
        return ibis.ifelse(births.litter_known, own.all().over(mates), own)

    return ibis.cases(
        (~of_all(female | male), None),
        (of_all(female), "all female"),
        (of_all(male), "all male"),
        else_="mixed",
    )


def with_weight_class(births: ibis.Table) -> ibis.Table:
    """Add the classes of birth weight within each species; costs the engine one more pass, for their limits."""
    if "birth_weight_kg" not in births.columns:
        return births
    weight = births.birth_weight_kg
    limits = births.group_by(weighed="species").aggregate(
        low_kg=weight.quantile(LOWEST), high_kg=weight.quantile(HIGHEST)
    )
    births = births.left_join(limits, births.species == limits.weighed)
    weight = births.birth_weight_kg
    lowest, middle, highest = terms.WEIGHT_CLASSES
    classed = ibis.cases(
        (weight.isnull(), None),
        ((weight <= births.low_kg) & (weight < births.high_kg), lowest),
        (weight > births.high_kg, highest),
        else_=middle,
    )
    return births.mutate(weight_class=classed).drop("weighed", "low_kg", "high_kg")


def _born_by(births: ibis.Table) -> ibis.Value:
    named = [(births.delivery == one, by) for one, by in terms.BORN_BY.items()]
    return ibis.cases((births.delivery.isnull(), None), *named, else_="born vaginally")


def _difficulty(births: ibis.Table) -> ibis.Value:
    hard = births.delivery.isin(terms.DIFFICULT_DELIVERIES)
    return ibis.cases((births.delivery.isnull(), None), (hard, "difficult"), else_="easy")


def _parity(births: ibis.Table) -> ibis.Value:
    first, second, later = terms.PARITY_CLASSES
    parity = births.dam_parity
    return ibis.cases((parity == 1, first), (parity.between(2, 3), second), (parity >= 4, later))


def _suck(births: ibis.Table) -> ibis.Value:
    weak = births.suck_reflex.isin(["weak", "absent"])
    return ibis.cases((births.suck_reflex == "strong", "strong"), (weak, "weak or absent"))


def _failed(births: ibis.Table) -> ibis.Value:
    return ibis.cases((births.mothered_up == "no", True), (births.mothered_up == "yes", False))


OF_ROW: Mapping[str, tuple[str, Callable[[ibis.Table], ibis.Value]]] = {
    "born_by": ("delivery", _born_by),
    "difficulty": ("delivery", _difficulty),
    "parity_class": ("dam_parity", _parity),
    "suck_class": ("suck_reflex", _suck),
    "failed_mothering": ("mothered_up", _failed),
}
"""Columns that follow from one column of the same row, each with it."""


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
