"""Who belongs to whom: feeds and samples to newborns, newborns to litters."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import found_in, say
from neonatal_stats.season.following.ages import elapsed_h, moments, numbers
from neonatal_stats.season.ledger import Gathered
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.derived import DERIVED

TIME_OF = {"feeds": "fed_at", "samples": "sampled_at"}
SLACK_H = 24.0
FARMS_TO_CLUSTER = 10
Codes = NDArray[np.int64]
Flags = NDArray[np.bool_]


def join_newborns(events: Gathered, births: pd.DataFrame, settings: Settings) -> None:
    """Add ``newborn`` and ``age_h``; a row whose newborn cannot be told is set aside."""
    moment = TIME_OF[events.table]
    frame = events.frame
    newborn, candidates = newborn_of(frame, births, moment)
    nobody = frame["newborn_id"].isna() if "newborn_id" in frame else pd.Series(True, frame.index)
    for rows, problem, remedy in (
        (nobody, say("the row names no newborn"), say("write the newborn's identity in newborn_id")),
        (
            ~nobody & (candidates == 0),
            say("no birth has this identity, or it stands at two newborns"),
            say("look for a slip in the identity"),
        ),
        (
            (candidates > 0) & newborn.isna(),
            say("several births have this identity and the time does not tell which is meant"),
            say("give each newborn an identity of its own, or write the farm and the time beside it"),
        ),
    ):
        events.enter(found_in(frame, rows, "newborn_id", problem, remedy, "set aside"))
    events.frame = frame.assign(newborn=newborn, age_h=_age(frame, births, newborn, moment, settings))


def newborn_of(frame: pd.DataFrame, births: pd.DataFrame, moment: str) -> tuple[pd.Series, pd.Series]:
    """The row of births that each event belongs to (NaN where not known) and how many have its identity."""
    pairs = _pairs(frame, births, moment)
    candidates = pairs.groupby("event").size().reindex(frame.index, fill_value=0)
    pairs = pairs[~pairs["before"]] if len(pairs) else pairs
    latest = pairs.sort_values(["event", "born"], na_position="first", kind="stable")
    by_event = latest.groupby("event")
    chosen = by_event["newborn"].last().reindex(frame.index)
    tied = by_event.size().reindex(frame.index, fill_value=0)
    open_ = (tied > 1) & (latest.groupby("event")["clear"].last().reindex(frame.index) != True)  # noqa: E712
    return chosen.mask(open_), candidates


def _pairs(frame: pd.DataFrame, births: pd.DataFrame, moment: str) -> pd.DataFrame:
    """Every event beside every birth with its identity (and farm, where the event names one)."""
    keys = ["newborn_id", *(["farm"] if "farm" in frame and frame["farm"].notna().all() else [])]
    keyed = frame.reindex(columns=keys).astype(object)
    events = keyed.assign(event=frame.index, at=moments(frame, moment))
    events = events.dropna(subset=["newborn_id"])
    named = births.reindex(columns=[*keys, "newborn", "born"]).dropna(subset=["newborn_id"])
    pairs = events.merge(named.astype(dict.fromkeys(keys, object)), on=keys)
    several = pairs.duplicated("event", keep=False)
    gap_h = (pairs["at"] - pairs["born"]).dt.total_seconds() / 3600
    apart = (
        pairs.groupby("event")["born"].transform(lambda b: b.nunique() == len(b)) if several.any() else True
    )
    return pairs.assign(before=several & (gap_h < -SLACK_H), clear=gap_h.notna() & apart)


def _age(
    frame: pd.DataFrame, births: pd.DataFrame, newborn: pd.Series, moment: str, settings: Settings
) -> NDArray[np.float64]:
    """Exact hours after birth, where both are known to the time."""
    never = np.datetime64("NaT")
    timed = np.where(births["born_precision"] == "time", births["born"].to_numpy(), never)
    start = np.append(timed, never)[newborn.fillna(-1).astype(int).to_numpy()]
    at = moments(frame, moment)
    if f"{moment}|is_day" in frame:
        at = np.where(frame[f"{moment}|is_day"], never, at)
    return elapsed_h(start, at, settings.time_zone)


def settled(events: Gathered, columns: list[str]) -> pd.DataFrame:
    """The rows kept, in an order that does not depend on the files', with whole-number newborns."""
    added = [column.name for column in DERIVED[events.table]]
    frame = events.frame.loc[events.ledger.kept, [*columns, *added]]
    frame = frame.astype({name: np.int64 for name in ("newborn", "litter") if name in added})
    order = ["newborn", "age_h", *columns]
    return frame.sort_values(order, kind="stable", ignore_index=True)


def without_rows(table: str) -> pd.DataFrame:
    """A table that no sheet holds, with the columns that follow from rows."""
    kinds = {column.name: np.int64 if column.kind == "code" else float for column in DERIVED.get(table, ())}
    return pd.DataFrame({name: np.empty(0, dtype=kind) for name, kind in kinds.items()})


def codes(frame: pd.DataFrame, parts: Sequence[str | Codes], named: Flags | None = None) -> Codes:
    """Whole-number codes of groups in the order of the rows; where not ``named``, each row is its own group.

    A group is told by columns, or by codes that are known already (-1 = none).
    """
    group = np.zeros(len(frame), dtype=np.int64)
    for part in parts:
        own = _codes_of(frame[part])[0] if isinstance(part, str) else part
        if len(own) and own.min() != own.max():
            group, _ = pd.factorize(group * (own.max() + 2) + own + 1)
    if named is not None and not named.all():
        group = np.where(named, group, len(frame) + np.arange(len(frame)))
    return pd.factorize(group)[0]


def litter_codes(frame: pd.DataFrame) -> Codes:
    """Farm, season and dam make the litter, or the litter's own identity where one is given."""
    dam, litter = _names(frame, "dam_id"), _names(frame, "litter_id")
    named = (dam >= 0) | (litter >= 0)
    return codes(frame, ["farm", "season", np.where(litter < 0, dam, -1), litter], named)


def litter_is_named(frame: pd.DataFrame) -> Flags:
    """True where a row names its dam or its litter; any other newborn stands as a litter of its own."""
    return np.asarray((_names(frame, "dam_id") >= 0) | (_names(frame, "litter_id") >= 0))


def dam_codes(frame: pd.DataFrame) -> Codes:
    """Farm and dam; an unknown dam is one of its own."""
    dam = _names(frame, "dam_id")
    return codes(frame, ["farm", dam], dam >= 0)


def over_group(gather: np.ufunc, values: NDArray[Any], group: Codes) -> NDArray[Any]:
    """The largest (`np.fmax`) or the least (`np.fmin`) value of each row's group, its codes from 0.

    >>> over_group(np.fmax, np.array([1.0, np.nan, 3.0]), np.array([0, 0, 1]))
    array([1., 1., 3.])
    """
    of_group = np.empty(group.max(initial=-1) + 1, dtype=values.dtype)
    of_group[group] = values
    gather.at(of_group, group, values)
    return of_group[group]


def rows_of_group(group: Codes) -> Codes:
    """In how many rows each row's group (codes from 0) stands."""
    return np.bincount(group)[group]


def first_of_group(group: Codes) -> Flags:
    """True for the first row of each group."""
    first = np.zeros(len(group), dtype=bool)
    first[np.unique(group, return_index=True)[1]] = True
    return first


def cluster_name(frame: pd.DataFrame, settings: Settings) -> str:
    """What the intervals cluster on; see `cluster_named`."""
    return cluster_named(frame["farm"].nunique(), settings)


def cluster_named(farms: int, settings: Settings) -> str:
    """What the intervals of so many farms cluster on: as set, but for what their number settles.

    The farm where the litter is set and ten or more stand there; the litter where the farm is set and there is one
    alone, for one cluster tells nothing of how clusters differ.
    """
    if settings.cluster == "litter" and farms >= FARMS_TO_CLUSTER:
        return "farm"
    return "litter" if settings.cluster == "farm" and farms < 2 else settings.cluster


def litter_sizes(frame: pd.DataFrame) -> tuple[NDArray[np.float64], Flags]:
    """Litter size as written (by any row of the litter), else counted from the rows; and which were counted.

    A litter whose dam is unknown and that has no identity cannot be counted and stays missing.
    """
    written, litter = numbers(frame, "litter_size"), litter_codes(frame)
    spoken = np.where(np.isnan(written), over_group(np.fmax, written, litter), written)
    counted = np.isnan(spoken) & litter_is_named(frame)
    return np.where(counted, rows_of_group(litter), spoken), counted


def count_litters(frame: pd.DataFrame, counted_rows: Flags) -> pd.DataFrame:
    """Fill the litter size from the rows that count, and mark where it was counted rather than written."""
    size, counted = np.full(len(frame), np.nan), np.zeros(len(frame), dtype=bool)
    size[counted_rows], counted[counted_rows] = litter_sizes(frame[counted_rows])
    return frame.assign(litter_size=size, litter_size_counted=counted)


def _codes_of(values: pd.Series) -> tuple[Codes, NDArray[np.object_]]:
    """A code for each distinct value of a column, -1 where there is none, and those values."""
    classes = isinstance(values.dtype, pd.CategoricalDtype)
    own, distinct = pd.factorize(values.array if classes else values.to_numpy(dtype=object))
    return own, np.asarray(distinct, dtype=object)


def _names(frame: pd.DataFrame, name: str) -> Codes:
    """A code for each distinct name in a column that may be absent; -1 for none, and for an empty text."""
    if name not in frame:
        return np.full(len(frame), -1, dtype=np.int64)
    own, distinct = _codes_of(frame[name])
    empty = np.flatnonzero(distinct == "")
    return np.where(np.isin(own, empty), -1, own) if len(empty) else own
