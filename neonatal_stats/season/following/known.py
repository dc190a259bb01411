"""What was known of a season on one of its days: everything recorded later is taken out, as if not yet written down."""

from __future__ import annotations

from collections.abc import Hashable, Mapping

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import Said, say
from neonatal_stats.season.following.ages import (
    ELAPSED,
    Moments,
    birth,
    died,
    first_known,
    is_day,
    known,
    left_undated,
    moments,
    numbers,
    span,
    stillborn,
    told_age,
)
from neonatal_stats.season.following.mobs import EACH
from neonatal_stats.season.following.placing import NOBODY

ROW = "recorded_row"
"""The column of a cut frame that holds each newborn's row in the frame that it was cut from."""
OF_DEATH = ("died_at", "found_dead_at", "age_at_death_h", "age_at_death_d", "cause", "cause_basis")
STILL_YOUNG, FEWEST_BORN = 0.2, 20
LAST_MINUTE = pd.Timedelta(minutes=1)


def end_of(day: pd.Timestamp) -> pd.Timestamp:
    """The midnight that ends a day: what bears an earlier time was known by then."""
    return day.normalize() + pd.Timedelta(days=1)


def known_births(recorded: pd.DataFrame, day: pd.Timestamp, follow_up_h: float) -> pd.DataFrame:
    """The births of `recorded` as they were known in the evening of a day, with `ROW` at the end.

    Parameters
    ----------
    recorded : tidy births before anything follows from them, as `Season.recorded`.
    day : the last day that is known.
    follow_up_h : the end of follow-up in hours of age; older newborns are no longer watched.

    Counted
    -------
    Births up to that day; those without a date where no birth of their season is dated later. A death is known from
    the moment at which the newborn died or was found, the later of the two; one without any time stays a death. One
    that died, left or was seen later was alive on that day, and so is one that is not said to have died and whose last
    sight nobody wrote down. What has no time of its own (sex, delivery, mothering-up) is taken as known at birth.
    """
    end, born = end_of(day), birth(recorded)
    season = recorded["season"].astype(object)
    later_in_season = season.isin(season[born >= end]).to_numpy()
    kept = (born < end) | (np.isnat(born) & ~later_in_season)
    frame = recorded.assign(**{ROW: range(len(recorded))})[kept].reset_index(drop=True)
    for name in _moments(frame):
        frame[f"{name}_is_day"] = is_day(frame, name)
    frame = _without_later_deaths(frame, end)
    frame = _last_seen(frame, end, follow_up_h)
    frame = _without_later_hours(frame, end)
    return frame[[*(name for name in frame if name != ROW), ROW]]


def known_events(events: pd.DataFrame, moment: str, day: pd.Timestamp, rows: pd.Series) -> pd.DataFrame:
    """Feeds, samples or weather up to the end of a day; an event without a time is not known to lie before it.

    ``rows`` gives, by the row that a newborn had, the row that it has now; empty for weather, which names none.
    """
    kept = events[moments(events, moment) < end_of(day)]
    if "newborn" not in kept:
        return kept.reset_index(drop=True)
    placed = kept.assign(newborn=kept["newborn"].map(rows))
    placed = placed[placed["newborn"].notna()]
    return placed.assign(newborn=placed["newborn"].astype("int64")).reset_index(drop=True)


def known_further(
    events: pd.DataFrame, at: Moments, day: pd.Timestamp, rows: pd.Series, litters: pd.Series
) -> pd.DataFrame:
    """The same of a table whose rows may belong to no newborn: ``litters`` gives new numbers as ``rows`` does."""
    kept = events[at < end_of(day)] if len(events) else events
    if kept.empty or rows.empty:
        return kept.reset_index(drop=True)
    numbers = {"newborn": rows, "litter": litters}
    placed = {name: kept[name].map(new).fillna(NOBODY).astype("int64") for name, new in numbers.items()}
    return kept.assign(**placed).reset_index(drop=True)


def known_mobs(mobs: pd.DataFrame, day: pd.Timestamp) -> pd.DataFrame:
    """Counts of mobs made by a day; those without a date are taken as known."""
    cut = mobs.copy()
    for moment, counts in COUNTED_ON.items():
        if moment in cut:
            later = cut[moment] >= end_of(day)
            for name in (one for one in (moment, *counts) if one in cut):
                cut[name] = cut[name].mask(later)
    return cut


def known_open(open_births: pd.DataFrame, day: pd.Timestamp) -> pd.DataFrame:
    """Of the newborns whose outcome is open, those born by a day, and those without a date."""
    return open_births[~(moments(open_births, "born") >= end_of(day))].reset_index(drop=True)


def open_counts(undecided: pd.DataFrame, open_births: pd.DataFrame, births: pd.DataFrame) -> pd.DataFrame:
    """`Season.undecided` counted again, of these births; farms and seasons without an open outcome are left out."""
    rows = []
    for row in undecided.to_dict("records"):
        here = _of(births, row)
        mine = open_births[_of(open_births, row)]
        counts: dict[Hashable, int] = {
            name: int((mine["outcome"] == name.replace("_", " ")).sum()) for name in OPEN
        }
        rows.append({**row, "born": int(here.sum()) + len(mine), **counts})
    counted = pd.DataFrame(rows, columns=undecided.columns)
    return counted[counted[list(OPEN)].sum(axis=1) > 0].reset_index(drop=True)


OPEN = ("not_written", "not_readable")
COUNTED_ON = {
    "scanned_on": ("scanned", *EACH, "foetuses"),
    "marked_on": ("marked", "born", "born_dead"),
    "weaned_on": ("weaned", "dams_died"),
}
"""What of a mob is known at the earliest on each day."""


def _of(frame: pd.DataFrame, row: Mapping[Hashable, object]) -> pd.Series:
    """The rows of a farm and season."""
    return (frame["farm"].astype(str) == row["farm"]) & (frame["season"].astype(str) == row["season"])


def last_recorded(births: pd.DataFrame) -> pd.Timestamp:
    """The latest moment in the births: of a birth, a death, a sale, a last sight; NaT where none has a time."""
    return pd.DatetimeIndex(
        np.concatenate([moments(births, name) for name in ("born", *_moments(births))])
    ).max()


def still_young(births: pd.DataFrame, window_h: float) -> tuple[Said, Said] | None:
    """What to know of a last season that is written down only to a day on which many were very young, and what to do.

    Counted are those of whom nothing is written but that they did not die: they count as alive to the end of
    follow-up. None where fewer than `STILL_YOUNG` of the season, or under `FEWEST_BORN`, are as young.
    """
    born, season = births["born"], births["season"]
    if not born.notna().any():
        return None
    here = (season == season.iloc[int(born.argmax())]).to_numpy()
    if here.sum() < FEWEST_BORN:
        return None
    last = births if here.all() else births[here]
    day, dead = last_recorded(last), last["died"].to_numpy()
    seen = known(moments(last, "left_at")) | known(moments(last, "last_seen_at")) | left_undated(last, dead)
    young = ~dead & ~seen & (moments(last, "born") > day - pd.Timedelta(hours=window_h))
    if young.mean() < STILL_YOUNG:
        return None
    problem = say(
        "births go on to the last day that is written down, {day}: {n} of {all} newborns were then under {days} days "
        "old, and count as alive to the end since the records say that they did not die",
        day=f"{day:%Y-%m-%d}",
        n=f"{int(young.sum()):,}",
        all=f"{len(last):,}",
        days=f"{window_h / 24:g}",
    )
    return problem, say(
        "if the season was not over when this was written, review it with --as-of and that day"
    )


def _moments(frame: pd.DataFrame) -> list[str]:
    names = ("born_at", "born_on", "died_at", "last_alive_at", "found_dead_at", "left_at", "last_seen_at")
    return [name for name in names if name in frame]


def _told(frame: pd.DataFrame) -> Moments:
    """When each death was known at the earliest; NaT where nothing says.

    The moment at which it died or was found, the later; else its age at death; else when it was last alive.
    """
    told = np.fmax(moments(frame, "died_at"), moments(frame, "found_dead_at"))
    by_age = birth(frame) + span(told_age(frame)[0], 3600.0)
    return first_known(told, by_age, moments(frame, "last_alive_at"))


def _without_later_deaths(frame: pd.DataFrame, end: pd.Timestamp) -> pd.DataFrame:
    """Deaths known only later are undone; those born dead were known at birth."""
    later = (_told(frame) >= end) & ~stillborn(frame)
    for name in OF_DEATH:
        if name in frame:
            frame[name] = frame[name].where(~later)
    if "died" in frame:
        frame["died"] = frame["died"].mask(later, False)
    return frame


def _last_seen(frame: pd.DataFrame, end: pd.Timestamp, follow_up_h: float) -> pd.DataFrame:
    """Those that left, were seen, or were not said to have died later, were alive in the last minute of the day."""
    alive = ~died(frame)
    left, seen, between = (moments(frame, name) for name in ("left_at", "last_seen_at", "last_alive_at"))
    young = birth(frame) + span(np.full(len(frame), follow_up_h), 3600.0) > end
    unwritten = np.isnat(seen) & (np.isnat(left) | (left >= end)) & young & ~left_undated(frame, ~alive)
    now = alive & ((left >= end) | (seen >= end) | (between >= end) | unwritten)
    for name in ("left_at", "last_alive_at"):
        if name in frame:
            frame[name] = frame[name].where(~(frame[name] >= end))
    if "left_reason" in frame:
        frame["left_reason"] = frame["left_reason"].where(~(left >= end))
    frame["last_seen_at"] = np.where(now, (end - LAST_MINUTE).to_datetime64(), seen)
    frame["last_seen_at_is_day"] = is_day(frame, "last_seen_at") & ~now
    return frame


def _without_later_hours(frame: pd.DataFrame, end: pd.Timestamp) -> pd.DataFrame:
    """Standing, feeding and the like, where they came after the day."""
    born = birth(frame)
    for name in ELAPSED:
        for told in (name, f"{name}_not_by"):
            if told in frame:
                later = born + span(numbers(frame, told), 60.0) >= end
                frame[told] = frame[told].where(~later)
    return frame
