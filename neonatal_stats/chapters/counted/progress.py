"""A season in progress, counted: the windows so far, last season on the same date, the last days, the alarm.

A newborn that is a day old has not been watched through a week: counted as living through it, it would hide losses;
left out, the dead of its age would weigh double. So every share is the curve's, and no window is read before enough
newborns were watched through it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.recent_losses import (
    AgainstCurve,
    in_last_days,
    last_days_against_before,
    losses_against_curve,
)
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS
from neonatal_stats.measures.curves import as_lost, before_ages, survival
from neonatal_stats.measures.rates import Counted
from neonatal_stats.measures.windows import (
    END,
    LEFT_EARLY,
    UNKNOWN_AGES,
    deaths_without_age,
    fewest_drawn,
    not_watched,
)
from neonatal_stats.season.following.known import end_of, last_recorded
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

DAYS = 7
ALARM_P = 0.004
"""The alarm sounds below this p: looked at every day, in at most `FALSE_ALARMS` of seasons in which nothing happens."""
SIX_WEEKS_D, FALSE_ALARMS, FALSE_ALARMS_OF_A_YEAR = 63, (1, 20), (1, 4)
"""Found by tests/simulations/season_in_progress.py, of 40 to 1000 dams: births over six weeks; births over a year."""
FEWEST_BORN = 20
"""Of fewer newborns no share is given."""
NEXT_SEASON_D = 60
"""The births of last season began within so many days of the same date."""

Alarm = Literal["off", "silent", "sounding"]


@dataclass(frozen=True, eq=False)
class Progress(Shown):
    """A season as it was known in the evening of ``day``.

    ``windows`` as of `windows_so_far`; ``last_windows`` the same of ``last_season`` on the same date (""
    and an empty frame where there is none). ``curve`` and ``last_curve`` are ``curve`` frames of losses. ``first_born``
    is the day of the first birth. ``lost`` counts all known losses, ``undated`` those of them at an unknown age, which
    are in no curve.
    """

    name: str
    day: pd.Timestamp
    windows: pd.DataFrame
    curve: pd.DataFrame
    last_season: str
    last_windows: pd.DataFrame
    last_curve: pd.DataFrame
    last_days: LastDays
    first_born: pd.Timestamp
    born: int
    lost: int
    undated: int
    counted: Counted
    settings: Settings
    species: str

    @property
    def shown(self) -> pd.DataFrame:
        """The windows that enough were watched through."""
        return self.windows[self.windows["enough"]]


def answer(season: Season, name: str) -> Progress:
    """The season of that name, of records that were cut by `Season.known_by`."""
    day, settings = season.known_until, season.settings
    assert day is not None
    births = season.births[season.births["season"].astype(str) == name].reset_index(drop=True)
    other, before = same_date_before(season, name, day) or ("", births.head(0))
    undated = deaths_without_age(births)
    return Progress(
        name=name,
        day=day,
        windows=windows_so_far(births, settings, day),
        curve=lost_so_far(births, settings.level),
        last_season=other,
        last_windows=windows_so_far(before, settings, day) if other else pd.DataFrame(),
        last_curve=lost_so_far(before, settings.level) if other else pd.DataFrame(),
        last_days=last_days(births, before if other else None, day, settings),
        first_born=births["born"].min().normalize(),
        born=len(births),
        lost=int(births["died"].sum()),
        undated=undated,
        counted=Counted(
            len(births) - undated, left_out=(("lost at an unknown age", undated),) if undated else ()
        ),
        settings=settings,
        species=season.species,
    )


def under_watch(births: pd.DataFrame, day: pd.Timestamp, settings: Settings) -> pd.Series:
    """Alive and still followed on the evening of a day: yes-no, one per newborn, of births known by that day."""
    seen = births["last_seen_at"] >= day.normalize() + pd.Timedelta(hours=23)
    return ~births["died"] & seen & (births["age_h"] < settings.follow_up_h)


def season_in_progress(season: Season, only: str | None = None) -> str:
    """The latest season of which newborns were still watched on `Season.known_until`; "" where there is none.

    ``only`` names the one season that is asked about.
    """
    if season.known_until is None:
        return ""
    watched = under_watch(season.births, season.known_until, season.settings)
    names = season.births["season"].astype(str)[watched]
    asked = reversed(season.named) if only is None else [only]
    return next((name for name in asked if (names == name).any()), "")


def stops_early(season: Season, name: str) -> pd.Timestamp | None:
    """The day on which the records of a season stop, where they plainly stop early; None elsewhere.

    Plainly: more than half of those born were not watched to the end of the last early window, and most of these were
    seen alive within a day of the last entry: it is the records that stop, not the newborns that were lost sight of.
    """
    births = season.births[season.births["season"].astype(str) == name]
    last = last_recorded(births)
    if pd.isna(last) or "last_seen_at" not in births:
        return None
    gone = not_watched(births, max(season.settings.windows_h.values()))
    to_the_end = births["last_seen_at"] >= last - pd.Timedelta(days=1)
    if gone.mean() <= LEFT_EARLY or (gone & to_the_end).sum() <= gone.sum() / 2:
        return None
    return last.normalize()


def lost_so_far(births: pd.DataFrame, level: float) -> pd.DataFrame:
    """The ``curve`` of losses of all born, counted up from none at birth."""
    return as_lost(survival(births, level=level))


def windows_so_far(births: pd.DataFrame, settings: Settings, day: pd.Timestamp) -> pd.DataFrame:
    """What the curve says of each window so far, and from when it can be read.

    Returns
    -------
    One row a window and one for the end of follow-up: window, end_h, born, lost (known to be lost by its end), watched
    (lived and were watched through it), needed, enough (yes-no), since (the day on which so many were, or will be if
    all live), share, low, high (missing where not enough).

    Counted
    -------
    All born, the stillborn at age 0; those whose age at loss is not known are in no curve. Enough is ten and a tenth of
    those born (`fewest_drawn`), of at least `FEWEST_BORN` born; never where over a tenth of the losses have no age.
    """
    ends = {name: hour for name, hour in settings.windows_h.items() if hour < settings.follow_up_h}
    ends[END] = settings.follow_up_h
    dated = deaths_without_age(births) <= UNKNOWN_AGES * int(births["died"].sum())
    needed, known = fewest_drawn(len(births)), births[births["age_known"]]
    rows = []
    for name, end_h in ends.items():
        watched = known["age_h"] >= end_h
        enough = dated and watched.sum() >= needed and len(births) >= FEWEST_BORN
        reach = (known["born"] + pd.Timedelta(hours=end_h))[watched | under_watch(known, day, settings)]
        since = reach.sort_values().iloc[needed - 1].normalize() if len(reach) >= needed else pd.NaT
        lost = known["died"] & ((known["age_h"] <= end_h) if name == END else (known["age_h"] < end_h))
        rows.append((name, end_h, len(births), int(lost.sum()), int(watched.sum()), needed, enough, since))
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    frame["since"] = pd.to_datetime(frame["since"])
    return frame.assign(**_read(births, list(ends.values()), settings, frame["enough"]))


COLUMNS = ("window", "end_h", "born", "lost", "watched", "needed", "enough", "since")


def _read(
    births: pd.DataFrame, ends_h: Sequence[float], settings: Settings, enough: pd.Series
) -> dict[str, pd.Series]:
    """The curve read at each window's end, where enough were watched."""
    names = ("share", "low", "high")
    if not enough.any():
        return {name: pd.Series(np.nan, index=enough.index) for name in names}
    curve = lost_so_far(births, settings.level)
    read = before_ages(curve, (), ends_h, end_h=settings.follow_up_h, start=0.0)
    return {name: read[name].where(enough) for name in names}


def same_date_before(season: Season, name: str, day: pd.Timestamp) -> tuple[str, pd.DataFrame] | None:
    """The season before, as it stood on the same date: its name and births; None where none began about then.

    Years apart are whole; a season of another time of the year is passed over. Ages and losses are those known by the
    evening of that date.
    """
    births = season.births.assign(of=season.births["season"].astype(str))
    first = births.groupby("of")["born"].min()
    for other in reversed(season.named[: season.named.index(name)]):
        apart = (first[name] - first[other]).days if pd.notna(first[other]) else 0
        years = round(apart / 365.25)
        if years >= 1 and abs(apart - 365.25 * years) <= NEXT_SEASON_D:
            end = end_of(day) - pd.DateOffset(years=years)
            cut = _cut(births[births["of"] == other], end)
            return (other, cut) if len(cut) else None
    return None


def _cut(births: pd.DataFrame, end: pd.Timestamp) -> pd.DataFrame:
    """Births before a moment, none older than it was then."""
    born = births[births["born"] < end]
    oldest = np.floor((end - born["born"]).dt.total_seconds() / 3600 - 1 / 60)
    later = born["age_h"] > oldest
    return born.assign(age_h=born["age_h"].mask(later, oldest), died=born["died"] & ~later)


@dataclass(frozen=True, eq=False)
class LastDays:
    """The last `DAYS` days: newborns ``born`` and ``watched`` in them, and the losses against each reference.

    ``before`` holds them against this season's earlier days (None where fewer than a group were born before), ``last``
    against last season up to the same date. ``alarm`` is off, silent or sounding.
    """

    born: int
    watched: int
    lost: int
    before: AgainstCurve | None
    last: AgainstCurve | None
    alarm: Alarm


def last_days(
    births: pd.DataFrame, other: pd.DataFrame | None, day: pd.Timestamp, settings: Settings
) -> LastDays:
    """The losses of the last days beside those expected at the same ages.

    Counted: newborns with a date of birth and a known age; a loss falls on the day of its birth and its age.
    """
    known = births[births["age_known"] & births["born"].notna()]
    since = (end_of(day) - known["born"]).dt.total_seconds().to_numpy() / 3600
    age, died = known["age_h"].to_numpy(float), known["died"].to_numpy(bool)
    recent, from_h = in_last_days(since, age, DAYS)
    born_before = int((since > 24 * DAYS).sum())
    before, last = None, None
    if born_before >= settings.minimum_group:
        litters = known["cluster"].to_numpy()
        before = last_days_against_before(since, age, died, cluster=litters, days=DAYS, level=settings.level)
    if other is not None and len(other) >= settings.minimum_group:
        dated = other[other["age_known"]]
        last = losses_against_curve(
            from_h[recent],
            age[recent],
            died[recent].astype(int),
            dated["age_h"].to_numpy(float),
            dated["died"].to_numpy(int),
            cluster=known["cluster"].to_numpy()[recent],
            reference_cluster=dated["cluster"].to_numpy(),
            level=settings.level,
        )
    watched, lost = int(recent.sum()), int(died[recent].sum())
    return LastDays(len(since) - born_before, watched, lost, before, last, _alarm(before, int(died.sum())))


def _alarm(before: AgainstCurve | None, lost: int) -> Alarm:
    """Off until there is something to hold the last days against, and until losses are enough to judge."""
    if before is None or lost < MINIMUM_EVENTS:
        return "off"
    return "sounding" if before.excess_p < ALARM_P else "silent"
