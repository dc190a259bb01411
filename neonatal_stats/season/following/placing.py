"""Where the rows of further tables belong: to a newborn among the births, to a dam's litter, or to nobody there.

Colostrum, examinations and treatments are read beside births and without them. A row that belongs to no birth is kept
as long as it is known in which season it stands; samples beside births must name their newborn (`following.links`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import found_in, say
from neonatal_stats.season.following.ages import (
    Hours,
    Moments,
    day_of,
    elapsed_h,
    first_known,
    known,
    moments,
    numbers,
)
from neonatal_stats.season.following.links import codes, newborn_of
from neonatal_stats.season.following.seasons import NOT_RECORDED, run_labels
from neonatal_stats.season.grid import Mask
from neonatal_stats.season.ledger import Gathered
from neonatal_stats.season.settings import Settings

NOBODY = -1
"""In ``newborn`` and ``litter`` of a row that belongs to none of the births."""
WHEN: dict[str, tuple[str, ...]] = {
    "samples": ("sampled_at",),
    "colostrum": ("milked_at", "born_at"),
    "examinations": ("examined_at", "died_at", "born_at", "born_on"),
    "treatments": ("given_at",),
}
"""The moments by which a row is placed in time, the first that it has."""
AGE_OF = {
    "samples": ("age_at_sampling_h", "age_at_sampling_d", "sampled_at"),
    "colostrum": ("milked_after_h", "", "milked_at"),
    "examinations": ("age_at_death_h", "age_at_death_d", "died_at"),
    "treatments": ("", "", "given_at"),
}
"""What tells the age in hours, in whole days, or by a moment after birth."""
DAY_H = 24.0
FAR_D = 240.0
AROUND = pd.Timedelta(days=45)


def when(table: str, frame: pd.DataFrame) -> Moments:
    """The moment by which each row is placed in time; NaT where it has none."""
    return first_known(*(moments(frame, name) for name in WHEN[table]))


def place_alone(events: Gathered, settings: Settings) -> None:
    """Number the newborns and the litters of a table that stands without births, and add the ages that it tells."""
    frame = events.frame
    nobody = pd.Series(None, index=frame.index, dtype=object)
    named = frame.reindex(columns=["farm"]).assign(
        newborn_id=frame.get("newborn_id", nobody), dam_id=frame.get("dam_id", nobody)
    )
    by_newborn, by_dam = (named[name].notna().to_numpy() for name in ("newborn_id", "dam_id"))
    newborn = codes(named, ["farm", "newborn_id"], by_newborn)
    if events.table == "colostrum":
        newborn = np.where(by_newborn, newborn, NOBODY)
    litter = codes(named, ["farm", "dam_id"], by_dam)
    farm = pd.factorize(named["farm"].astype(object))[0]
    seasons = _by_run(when(events.table, frame), farm, len(events.ledger.kept))
    events.frame = frame.assign(newborn=newborn, litter=litter, season=seasons)
    _with_ages(events, None, settings)


def in_one_season(tables: Sequence[Gathered]) -> None:
    """Put the undated rows of tables without births into their only season; with several they are asked about."""
    held = [table for table in tables if "season" in table.frame and len(table.origin)]
    named = {name for table in held for name in table.frame["season"].unique()} - {NOT_RECORDED}
    for table in held:
        undated = (table.frame["season"] == NOT_RECORDED).to_numpy()
        if len(named) == 1:
            table.frame["season"] = table.frame["season"].mask(undated, next(iter(named)))
        elif named:
            problem = say("no date tells the season that it belongs to, so it stands in no season's review")
            remedy = say("write its date; or ask for those without one with --season")
            table.enter(found_in(table.frame, undated, WHEN[table.table][0], problem, remedy, "asked"))


def _by_run(at: Moments, farm: NDArray[np.int64], rows: int) -> NDArray[np.object_]:
    """The season of each row, as births are given theirs: runs of dates, named by the year in which most lie."""
    season = np.full(len(at), NOT_RECORDED, dtype=object)
    dated = known(at)
    if not rows or not dated.any():
        return season
    runs = run_labels(day_of(at[dated]).astype(np.int64), farm[dated])
    year = pd.Series(pd.DatetimeIndex(at[dated]).year)
    years = year.groupby(runs).agg(lambda of_run: of_run.mode().iloc[-1])
    season[dated] = years.reindex(runs).astype(str).to_numpy(dtype=object)
    names = pd.unique(season[dated])
    return np.where(dated, season, names[0]) if len(names) == 1 else season


def place_among(events: Gathered, births: pd.DataFrame, settings: Settings) -> None:
    """Add ``newborn``, ``litter`` and ``season`` by the births, and the ages; what no season holds is set aside."""
    frame = events.frame
    at = when(events.table, frame)
    newborn, candidates = newborn_of(frame.assign(when=at), births, "when")
    newborn = newborn.astype(float)
    litter = newborn.map(births["litter"]).fillna(_litter(frame, births, at))
    if events.table == "examinations":
        newborn = _only_loss(events, births, newborn, litter)
    names = pd.Series(births["season"].astype(str).to_numpy(), index=births.index)
    by_litter = names.groupby(births["litter"].to_numpy()).first()
    season = _first(newborn.map(names), litter.map(by_litter), pd.Series(_by_date(at, births), frame.index))
    named = frame["newborn_id"].notna() if "newborn_id" in frame else pd.Series(False, index=frame.index)
    for rows, problem, remedy, ended in (
        (
            season.isna(),
            say("no birth has this identity, and no date tells the season that it belongs to"),
            say("write the newborn's or the dam's identity as it stands in the births, or the date"),
            "set aside",
        ),
        (
            named & newborn.isna() & season.notna() & (candidates < 2),
            say("no birth has this identity; the row is counted, and stands beside no birth"),
            say("look for a slip in the identity"),
            "asked",
        ),
        (
            named & newborn.isna() & season.notna() & (candidates > 1),
            say("several births have this identity; the row is counted, and stands beside no birth"),
            say("give each newborn an identity of its own, or write the farm and the time beside it"),
            "asked",
        ),
    ):
        events.enter(found_in(frame, rows, "newborn_id", problem, remedy, ended))  # type: ignore[arg-type]
    events.frame = frame.assign(
        newborn=newborn.fillna(NOBODY).astype(np.int64),
        litter=litter.fillna(NOBODY).astype(np.int64),
        season=season.astype(object).where(season.notna(), ""),
    )
    _with_ages(events, births, settings)


def _first(*several: pd.Series) -> pd.Series:
    """Row by row the first of several columns of words that says anything; None where none does."""
    found = np.full(len(several[0]), None, dtype=object)
    for column_ in reversed(several):
        found = np.where(column_.notna(), column_.astype(object), found)
    return pd.Series(found, index=several[0].index, dtype=object)


def _litter(frame: pd.DataFrame, births: pd.DataFrame, at: Moments) -> pd.Series:
    """The litter of the dam that a row names: the one born nearest to it in time, or her only one."""
    nothing = pd.Series(np.nan, index=frame.index)
    if "dam_id" not in frame or "dam_id" not in births:
        return nothing
    keys = ["dam_id", *(["farm"] if "farm" in frame and frame["farm"].notna().all() else [])]
    rows = frame.reindex(columns=keys).astype(object).assign(event=frame.index, at=at).dropna(subset=keys)
    litters = births.drop_duplicates("litter").reindex(columns=[*keys, "litter", "born"])
    pairs = rows.merge(litters.astype(dict.fromkeys(keys, object)).dropna(subset=keys), on=keys)
    gap = (pairs["at"] - pairs["born"]).abs().dt.total_seconds() / 86_400
    alone = ~pairs.duplicated("event", keep=False)
    pairs = pairs.assign(gap=gap.fillna(FAR_D + 1))[(gap <= FAR_D) | (alone & gap.isna())]
    nearest = pairs.sort_values(["event", "gap", "litter"]).drop_duplicates("event").set_index("event")
    return nearest["litter"].astype(float).reindex(frame.index)


def _only_loss(events: Gathered, births: pd.DataFrame, newborn: pd.Series, litter: pd.Series) -> pd.Series:
    """The newborn of an examination that names the dam alone: the only one that her litter lost and no other row has.

    The examination is then entered as joined by its dam, so that somebody can look.
    """
    frame = events.frame
    named = frame["newborn_id"].notna() if "newborn_id" in frame else pd.Series(False, index=frame.index)
    lost = births[births["lost"] & ~births["newborn"].isin(newborn.dropna())]
    one = lost.drop_duplicates("litter", keep=False).set_index("litter")["newborn"]
    by_dam = litter.map(one).where(newborn.isna() & ~named)
    by_dam = by_dam.mask(by_dam.duplicated(keep=False))
    problem = say("it names no newborn; it is taken for the only one that its dam lost")
    events.enter(
        found_in(frame, by_dam.notna(), "dam_id", problem, say("nothing need be done if that is so"), "noted")
    )
    return newborn.fillna(by_dam)


def _by_date(at: Moments, births: pd.DataFrame) -> NDArray[np.object_]:
    """The one season about whose births a moment lies; the only season where there is one alone."""
    spans = births.groupby(births["season"].astype(str).to_numpy())["born"].agg(["min", "max"])
    found = np.full(len(at), None, dtype=object)
    if len(spans) == 1:
        found[:] = str(spans.index[0])
        return found
    held = np.zeros(len(at), dtype=int)
    for name, ends in spans.iterrows():
        inside = (at >= ends["min"] - AROUND) & (at <= ends["max"] + AROUND)
        held += inside
        found[inside] = str(name)
    found[held != 1] = None
    return found


def beside_births(samples: Gathered, births: pd.DataFrame, settings: Settings) -> None:
    """Add to samples joined to their newborns the litter, the season, and the ages between which they were drawn."""
    frame = samples.frame
    season = frame["newborn"].map(births["season"].astype(object)).astype(object)
    samples.frame = frame.assign(
        litter=frame["newborn"].map(births["litter"]), season=season.where(season.notna(), "")
    )
    low, high = ages_between(samples, births, settings)
    timed = numbers(samples.frame, "age_h")
    low, high = (np.where(np.isnan(timed), end, timed) for end in (low, high))
    samples.frame = samples.frame.assign(age_low_h=low, age_high_h=high)


def _with_ages(events: Gathered, births: pd.DataFrame | None, settings: Settings) -> None:
    """Add ``age_h`` where it is known to the hour, and the bounds between which it lies where it is not."""
    low, high = ages_between(events, births, settings)
    exact = np.where(low == high, low, np.nan)
    if events.table == "examinations" and births is not None:
        aged = births[["age_h", "age_low_h", "age_high_h"]].where(births["died"] & births["age_known"])
        of = [events.frame["newborn"].map(aged[name]).to_numpy() for name in aged]
        exact, low, high = (
            np.where(np.isnan(mine), own, mine) for mine, own in zip(of, (exact, low, high), strict=True)
        )
    events.frame = events.frame.assign(age_h=exact, age_low_h=low, age_high_h=high)


def ages_between(events: Gathered, births: pd.DataFrame | None, settings: Settings) -> tuple[Hours, Hours]:
    """The least and the greatest age in hours that the records allow; equal where it is known to the hour.

    A birth or a moment known to the day alone may lie anywhere in it; a whole number of days is a day long.
    """
    frame, (hours, days, moment) = events.frame, AGE_OF[events.table]
    born_at = moments(frame, "born_at")
    born = first_known(born_at, moments(frame, "born_on"))
    by_day = _to_the_day(frame, "born_at") | np.isnat(born_at)
    if births is not None and len(births):
        theirs = _born_of(frame, births, "born").to_numpy(dtype="datetime64[ns]")
        timed = (_born_of(frame, births, "born_precision") == "time").to_numpy()
        born, by_day = first_known(theirs, born), np.where(known(theirs), ~timed, by_day)
    at, at_day, a_day = moments(frame, moment), _to_the_day(frame, moment), np.timedelta64(1, "D")
    low = elapsed_h(np.where(by_day, day_of(born) + a_day, born), at, settings.time_zone)
    high = elapsed_h(born, np.where(at_day, day_of(at) + a_day, at), settings.time_zone)
    same_day = (day_of(at) == day_of(born)) & (by_day | at_day)
    low = np.where((low >= 0) | same_day | (high > 0), np.maximum(low, 0.0), np.nan)
    high = np.where(np.isnan(low), np.nan, high)
    for name, length in ((days, DAY_H), (hours, 0.0)):
        if name and name in frame:
            told = numbers(frame, name) * (DAY_H if length else 1.0)
            low, high = np.where(np.isnan(told), low, told), np.where(np.isnan(told), high, told + length)
    return low, high


def _to_the_day(frame: pd.DataFrame, name: str) -> Mask:
    """True where the reader found a date without a time."""
    if f"{name}|is_day" not in frame:
        return np.zeros(len(frame), dtype=bool)
    return frame[f"{name}|is_day"].to_numpy(dtype=bool)


def _born_of(frame: pd.DataFrame, births: pd.DataFrame, name: str) -> pd.Series:
    """A column of the births beside the rows: of the newborn, else of its litter."""
    newborn = frame["newborn"].map(births[name])
    if "litter" not in frame:
        return newborn
    first = births.drop_duplicates("litter").set_index("litter")[name]
    litter = frame["litter"].map(first)
    return newborn.where(newborn.notna(), litter)
