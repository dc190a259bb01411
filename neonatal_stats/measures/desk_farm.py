"""What an adviser's desk keeps of one farm: its own numbers, and of its newborns no more than a comparison needs.

It is kept as JSON, so that a farm whose files have not changed need not be read again; no animal is named in it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from neonatal_stats.measures.plan_measures import seen
from neonatal_stats.measures.rates import rates
from neonatal_stats.measures.windows import Window, watched_through, window_columns
from neonatal_stats.season.model import Season, in_focus
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.plan import DONE_FOR_THEM

WITHOUT: Mapping[str, Any] = {"plan": (), "action": (), "targets": {}}
"""Settings of a farm that may speak of windows that the desk does not have."""
PLAIN = ("litter", "died", "stillborn", "age_h", "age_known")


@dataclass(frozen=True, eq=False)
class FarmMeasures:
    """One farm as its desk sees it.

    ``newborns`` one row a newborn of the season under review: litter, born, died, stillborn, age_h, age_known, the
    yes-no column of each window of the desk, and the columns of the mix; ``windows`` those that the farm was watched
    through. ``process`` one row a measure of what was done: name, events, n, asked, share, low, high (no newborns where
    nothing is known). ``records`` counts: rows, used, used_with_missing, set_aside, no_record of births; born,
    not_written, not_readable of the season under review; lost after birth, lost_dated of them; doubts, how many
    sentences touch outcomes.
    """

    season: str
    seasons: tuple[str, ...]
    species: str
    newborns: pd.DataFrame
    windows: tuple[str, ...]
    process: pd.DataFrame
    records: Mapping[str, int]


def farm_measures(season: Season, focus: str, desk: Settings) -> FarmMeasures:
    """Count one farm for the desk.

    Parameters
    ----------
    season : the farm's records, under its own settings.
    focus : its season under review.
    desk : the settings of the desk, whose windows and mix are those of the comparison.

    Counted: process measures as `plan_measures` counts them, at the farm's own marks; newborns as the desk's windows
    and follow-up have it.
    """
    this = in_focus(season, focus)
    shape: dict[str, Any] = {
        "windows_h": desk.windows_h,
        "follow_up_d": desk.follow_up_d,
        "cluster": "litter",
    }
    compared = in_focus(season.with_settings(**WITHOUT, **shape), focus).births
    return FarmMeasures(
        season=focus,
        seasons=season.seasons,
        species=season.species,
        newborns=_newborns(compared, desk),
        windows=_windows(compared, desk),
        process=_process(this),
        records=_records(season, this, focus),
    )


def _newborns(births: pd.DataFrame, desk: Settings) -> pd.DataFrame:
    """The columns that a comparison needs, as JSON can hold them."""
    mix = {name: births[name].astype(object) for name in desk.standard_mix if name in births}
    lost = {name: births[name].astype(object) for name in window_columns(desk).values()}
    kept = {name: births[name].astype(object) for name in PLAIN}
    born = births["born"].dt.strftime("%Y-%m-%dT%H:%M:%S")
    frame = pd.DataFrame({**kept, "born": born.astype(object), **lost, **mix}).reset_index(drop=True)
    return frame.astype(object).where(frame.notna(), None)


def _windows(births: pd.DataFrame, desk: Settings) -> tuple[str, ...]:
    """The windows in which the farm can be compared."""
    ends = {**desk.windows_h}
    return tuple(
        name
        for name, column in window_columns(desk).items()
        if watched_through(births, Window(name, column, ends.get(name, desk.follow_up_h), False))
    )


def _process(season: Season) -> pd.DataFrame:
    """Every measure of what was done, with the interval that litters deserve."""
    rows = []
    for measure in DONE_FOR_THEM:
        found = seen(season, measure)
        asked = sum(found.asked.values())
        row: dict[str, Any] = {"name": measure.name, "events": 0, "n": 0, "asked": asked}
        row |= dict.fromkeys(("share", "low", "high"), math.nan)
        if not found.why:
            counted = rates(found.newborns, (), "event", level=season.settings.level).iloc[0]
            row |= {name: int(counted[name]) for name in ("events", "n")}
            row |= {name: float(counted[name]) for name in ("share", "low", "high")}
        rows.append(row)
    return pd.DataFrame(rows)


def _records(season: Season, this: Season, focus: str) -> dict[str, int]:
    """Where the rows of births ended, and how much is known of the outcomes of the season under review."""
    births = [balance for balance in season.balances if balance.table == "births"]
    ended = {
        name: sum(getattr(one, name) for one in births)
        for name in ("used", "used_with_missing", "set_aside", "no_record")
    }
    open_ones = season.undecided[season.undecided["season"].astype(str) == focus]
    unwritten, unread = (int(open_ones[name].sum()) for name in ("not_written", "not_readable"))
    lost = this.births[this.births["died"] & ~this.births["stillborn"]]
    return {
        "rows": sum(ended.values()),
        **ended,
        "born": len(this.births) + unwritten + unread,
        "not_written": unwritten,
        "not_readable": unread,
        "lost": len(lost),
        "lost_dated": int(lost["age_known"].sum()),
        "doubts": len(season.outcome_remarks),
    }


def as_json(farm: FarmMeasures) -> dict[str, Any]:
    """A farm as JSON holds it; `from_json` makes the same of it again."""
    process = farm.process.astype(object).where(farm.process.notna(), None)
    return {
        "season": farm.season,
        "seasons": list(farm.seasons),
        "species": farm.species,
        "newborns": {str(name): farm.newborns[name].tolist() for name in farm.newborns},
        "windows": list(farm.windows),
        "process": process.to_dict("records"),
        "records": dict(farm.records),
    }


def from_json(told: Mapping[str, Any]) -> FarmMeasures:
    """A farm from what `as_json` made of it."""
    process = pd.DataFrame(told["process"])
    numbers = {name: process[name].astype(float) for name in ("share", "low", "high")}
    return FarmMeasures(
        told["season"],
        tuple(told["seasons"]),
        told["species"],
        pd.DataFrame(told["newborns"], dtype=object),
        tuple(told["windows"]),
        process.assign(**numbers),
        told["records"],
    )


def pooled(farms: Mapping[str, FarmMeasures], desk: Settings) -> pd.DataFrame:
    """The newborns of several farms as one frame of births, the columns typed as `following` types them.

    Returns
    -------
    What `farm_measures` kept, with farm (the keys), and litter and cluster numbered over all farms.
    """
    parts, before = [], 0
    for name, farm in farms.items():
        litter = farm.newborns["litter"].astype(int) + before
        before = int(litter.max()) + 1 if len(litter) else before
        parts.append(farm.newborns.assign(farm=name, litter=litter, cluster=litter))
    births = pd.concat(parts, ignore_index=True)
    order = pd.CategoricalDtype(sorted(farms), ordered=True)
    return births.assign(
        farm=births["farm"].astype(order),
        born=pd.to_datetime(births["born"]),
        age_h=births["age_h"].astype(float),
        **{name: births[name].astype(bool) for name in ("died", "stillborn", "age_known")},
        **{name: births[name].astype("boolean") for name in window_columns(desk).values()},
        **_of_the_mix(births, desk.standard_mix),
    )


def _of_the_mix(births: pd.DataFrame, names: Sequence[str]) -> dict[str, pd.Series]:
    """The columns of the mix that any farm recorded, as words in order."""
    return {name: births[name].astype("string").astype("category") for name in names if name in births}
