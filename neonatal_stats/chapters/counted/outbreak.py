"""Outbreaks, counted: deaths after birth by day, place and cause, and whether they came together more than is usual.

A death stands on the day on which it was found; where it was last seen alive on a day before, the verdict is the weaker
of the two readings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.change_point import rise
from neonatal_stats.estimates.scan import Scan
from neonatal_stats.estimates.verdict import LEANING_P
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.on_the_calendar import (
    EVERY_CAUSE,
    EVERYWHERE,
    OnCalendar,
    on_the_calendar,
    scanned,
)
from neonatal_stats.measures.rates import Counted, rates
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

LITTERS = 3  # that must have lost: in fewer it may be bad luck in one
MOST_ROWS = 150  # of deaths by day, place and cause
HELD_TO = 2.0
"""How firmly a place is thought to lose on its other days what the others lose: the shape of a gamma distribution."""
KEY = "outbreak/calendar"


@dataclass(frozen=True, eq=False)
class Cluster:
    """The days and the place in which deaths came together most, whether or not by more than chance.

    ``place`` (`EVERYWHERE` for all) and ``cause`` (`EVERY_CAUSE`); ``first`` to ``last`` the days of the window;
    ``onset``, ``onset_low`` and ``onset_high`` the day on which deaths began to rise; ``deaths`` in the window, from
    ``litters``, among the ``n`` newborns there; ``expected`` as on all other days and in all other places; ``of`` the
    deaths of the place and cause over the season. ``p`` and ``p_time`` and ``in_time`` as in `estimates.scan.Scan`,
    ``weakest`` the largest p over where deaths between two checks fall, NaN where none does.
    """

    place: str
    cause: str
    first: pd.Timestamp
    last: pd.Timestamp
    onset: pd.Timestamp
    onset_low: pd.Timestamp
    onset_high: pd.Timestamp
    deaths: int
    litters: int
    n: int
    expected: float
    of: int
    p: float
    p_time: float
    in_time: bool
    weakest: float


@dataclass(frozen=True, eq=False)
class Outbreak(Shown):
    """Deaths after birth on the calendar.

    ``deaths`` one row a day, place and cause that had any: day, place, cause, events; in large seasons one row a day
    and place, or a week and place, of `EVERY_CAUSE`. ``days`` one row a day and place, all of them (`EVERYWHERE`)
    first: day, place, events of the cluster's cause, others, expected. ``by_place`` a ``rates`` frame of all deaths by
    place over the season, and expected, missing in places too small to be looked at; ``in_days`` the same for deaths of
    the cluster's cause among those there in its days; ``against`` of the cluster's place and all others ("here",
    "elsewhere"), empty where it is everywhere. ``by_cause`` deaths in the days and the place of the cluster: cause,
    events. ``cluster`` is None where fewer than five died or no days had more than expected; ``deals`` how often
    litters were dealt anew; ``column`` of the place, "" where none was kept.
    """

    deaths: pd.DataFrame
    days: pd.DataFrame
    by_place: pd.DataFrame
    in_days: pd.DataFrame
    against: pd.DataFrame
    by_cause: pd.DataFrame
    cluster: Cluster | None
    deals: int
    column: str
    died: int
    period: tuple[str, ...]
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> Outbreak:
    """Look for deaths that came together.

    Counted: newborns born alive on a known day whose age at death, or at the end of watching, is known.
    """
    settings = season.settings
    calendar = on_the_calendar(season.births, settings)
    scan = scanned(calendar, settings)
    cluster = _cluster(calendar, scan, settings) if scan.deaths else None
    return Outbreak(
        deaths=_deaths(calendar),
        days=_days(calendar, scan, cluster),
        by_place=_by_place(calendar, scan, None, settings),
        in_days=_by_place(calendar, scan, cluster, settings),
        against=_against(calendar, scan, cluster, settings),
        by_cause=_by_cause(calendar, scan, cluster),
        cluster=cluster,
        deals=scan.deals,
        column=calendar.column,
        died=int(calendar.newborns["died"].sum()),
        period=season.seasons,
        counted=Counted(len(calendar.newborns), left_out=calendar.left_out),
        settings=settings,
        species=season.species,
    )


def claims(result: Outbreak) -> tuple[Claim, ...]:
    """Whether deaths came together in time by more than the season's usual swing: one claim, alone in its family."""
    found = result.cluster
    if found is None:
        return ()
    dates = ("first", "last", "onset", "onset_low", "onset_high")
    about = {"place": found.place, "cause": found.cause, "expected": f"{found.expected:.1f}"}
    about |= {"in_time": str(found.in_time)}
    about |= {name: str(getattr(found, name).date()) for name in dates}
    return (
        Claim(
            key=KEY,
            chapter="outbreak",
            family="outbreak",
            line="calendar",
            measure="test",
            estimate=math.nan,
            low=math.nan,
            high=math.nan,
            p=found.p,
            events=found.deaths,
            n=found.n,
            events_versus=result.died - found.deaths,
            n_versus=result.counted.n,
            excess=found.deaths - found.expected,
            period=result.period,
            sayable=found.litters >= LITTERS and found.n >= result.settings.minimum_group,
            weakest=found.weakest,
            about=(*about.items(), ("versus", "the rest")),
        ),
    )


def _cluster(calendar: OnCalendar, scan: Scan, settings: Settings) -> Cluster:
    """The window of a scan in the words and days of the calendar."""
    place, cause = _names(calendar, scan)
    there = calendar.of_place(place) & calendar.alive_between(scan.first_day, scan.last_day)
    onset, low, high = (calendar.day(day) for day in _onset(calendar, scan, settings))
    return Cluster(
        place=place,
        cause=cause,
        first=calendar.day(scan.first_day),
        last=calendar.day(scan.last_day),
        onset=onset,
        onset_low=low,
        onset_high=high,
        deaths=scan.deaths,
        litters=scan.litters,
        n=int(there.sum()),
        expected=scan.expected,
        of=scan.of,
        p=scan.p,
        p_time=scan.p_time,
        in_time=scan.in_time,
        weakest=_weakest(calendar, scan, settings),
    )


def _names(calendar: OnCalendar, scan: Scan) -> tuple[str, str]:
    """The place and the cause of a scan's window."""
    place = calendar.places[scan.place] if scan.place >= 0 else EVERYWHERE
    return place, calendar.causes[scan.cause] if scan.cause >= 0 else EVERY_CAUSE


def _onset(calendar: OnCalendar, scan: Scan, settings: Settings) -> tuple[int, int, int]:
    """The day on which deaths began to rise, and its interval; a place is held to what the others lose."""
    place, cause = _names(calendar, scan)
    row, at = scan.cause + 1, scan.place + 1
    lost = calendar.newborns.loc[calendar.of_place(place) & calendar.died_of(cause), "litter"].value_counts()
    expected = scan.expected_by_day[row, at]
    if at:
        others = scan.by_day[row, 0].sum() - scan.by_day[row, at].sum()
        expected = expected * (others + 0.5) / (scan.expected_by_day[row, 0].sum() - expected.sum())
    spread, held_to = float((lost**2).sum() / lost.sum()), HELD_TO if at else 0.0
    found = rise(scan.by_day[row, at], expected, level=settings.level, spread=spread, held_to=held_to)
    return scan.day_0 + found.day, scan.day_0 + found.low, scan.day_0 + found.high


def _weakest(calendar: OnCalendar, scan: Scan, settings: Settings) -> float:
    """The larger p of deaths on the day found and on the day last seen alive; 1 where these name another place."""
    newborns = calendar.newborns
    moved = newborns["died"] & (newborns["alive_day"] < newborns["end_day"])
    if not scan.p < LEANING_P or not moved.any():
        return math.nan
    other = scanned(calendar, settings, last_alive=True)
    return max(scan.p, other.p) if other.place == scan.place else 1.0


def _deaths(calendar: OnCalendar) -> pd.DataFrame:
    """Deaths by day, place and cause; in large seasons by day and place, or by week and place."""
    died = calendar.newborns[calendar.newborns["died"]]
    for days, cause in ((1, died["cause"]), (1, EVERY_CAUSE), (7, EVERY_CAUSE)):
        grouped = died.assign(cause=cause, start=died["end_day"] // days * days)
        counted = grouped.groupby(["start", "place", "cause"]).size().rename("events").reset_index()
        if len(counted) <= MOST_ROWS:
            break
    starts = pd.Series([calendar.day(int(day)) for day in counted["start"]], dtype="datetime64[ns]")
    return counted.assign(day=starts)[["day", "place", "cause", "events"]]


def _row(scan: Scan, cluster: Cluster | None) -> int:
    return scan.cause + 1 if cluster else 0


def _usual(scan: Scan, cluster: Cluster | None) -> float:
    """By how much what the deals give is too much for what all other days and places lost."""
    if cluster is None:
        return 1.0
    row, at = _row(scan, cluster), scan.place + 1
    start = scan.first_day - scan.day_0
    inside = slice(start, scan.last_day - scan.day_0 + 1)
    of, within = scan.by_day[row, 0].sum(), scan.expected_by_day[row, at, inside].sum()
    return float((of - cluster.deaths) / (of - within))


def _days(calendar: OnCalendar, scan: Scan, cluster: Cluster | None) -> pd.DataFrame:
    """Deaths and expected deaths by day and place, from the first birth to the last death."""
    row, usual = _row(scan, cluster), _usual(scan, cluster)
    last = int(scan.by_day[0, 0].nonzero()[0].max(initial=-1)) + 1
    days = [calendar.day(scan.day_0 + day) for day in range(last)]
    parts = []
    for at, place in enumerate((EVERYWHERE, *calendar.places)):
        events = scan.by_day[row, at, :last]
        counted = {"events": events, "others": scan.by_day[0, at, :last] - events}
        expected = scan.expected_by_day[row, at, :last] * usual
        parts.append(pd.DataFrame({"day": days, "place": place, **counted, "expected": expected}))
    return pd.concat(parts, ignore_index=True)


def _there(calendar: OnCalendar, scan: Scan, cluster: Cluster | None) -> pd.DataFrame:
    """The newborns alive on any of the cluster's days (of the season, where there is none); ``event``: died in them."""
    last = scan.last_day if cluster else int(calendar.newborns["end_day"].max())
    there = calendar.newborns[calendar.alive_between(scan.first_day if cluster else 0, last)]
    of_cause = calendar.died_of(cluster.cause if cluster else EVERY_CAUSE)
    return there.assign(event=of_cause.loc[there.index] & (there["end_day"] <= last))


def _by_place(calendar: OnCalendar, scan: Scan, cluster: Cluster | None, settings: Settings) -> pd.DataFrame:
    """Deaths among the newborns of each place in the days of the cluster, and what was to be expected."""
    found = rates(_there(calendar, scan, cluster), ("place",), "event", level=settings.level)
    row, usual = _row(scan, cluster), _usual(scan, cluster)
    by_day = scan.expected_by_day[row] * usual
    if cluster is not None:
        by_day = by_day[:, scan.first_day - scan.day_0 : scan.last_day - scan.day_0 + 1]
    expected = dict(zip((EVERYWHERE, *calendar.places), by_day.sum(axis=1).tolist(), strict=True))
    return found.assign(expected=[expected.get(place, math.nan) for place in found["place"]])


def _against(calendar: OnCalendar, scan: Scan, cluster: Cluster | None, settings: Settings) -> pd.DataFrame:
    """The place of the cluster against all others together; empty where it is everywhere."""
    there = _there(calendar, scan, cluster)
    here = there["place"].eq(cluster.place if cluster else EVERYWHERE)
    compared = there.assign(side=here.map({True: "here", False: "elsewhere"}))
    return rates(
        compared if here.any() and not here.all() else compared.head(0),
        ("side",),
        "event",
        level=settings.level,
    )


def _by_cause(calendar: OnCalendar, scan: Scan, cluster: Cluster | None) -> pd.DataFrame:
    """Deaths of each cause in the days and the place of the cluster, the most first."""
    newborns = calendar.newborns
    inside = newborns["died"]
    if cluster is not None:
        inside = inside & calendar.of_place(cluster.place)
        inside &= newborns["end_day"].between(scan.first_day, scan.last_day)
    counted = newborns.loc[inside, "cause"].value_counts(sort=False).sort_index()
    counted = counted.sort_values(ascending=False, kind="stable")
    return pd.DataFrame({"cause": counted.index.astype(object), "events": counted.to_numpy(int)})
