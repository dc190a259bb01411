"""Small seasons for the chapters' tests, built from lists of dicts the way the readers build them from files.

``season([{"dam_id": "A", "born_alive": "yes", "died_after_h": 6}])`` is a whole season: cells may be missing,
hours after birth stand for moments, and everything passes through `follow` as records from a file do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import pandas as pd

from neonatal_stats.season.finding import PROBLEM_COLUMNS
from neonatal_stats.season.following.follow import follow, in_order
from neonatal_stats.season.ledger import Balance, Source
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import TABLES

BORN_AT = "2026-03-02 06:00"  # a Monday
AFTER_BIRTH = {
    "died_after_h": "died_at",
    "left_after_h": "left_at",
    "seen_after_h": "last_seen_at",
    "alive_after_h": "last_alive_at",
    "found_after_h": "found_dead_at",
    "fed_after_h": "fed_at",
    "sampled_after_h": "sampled_at",
}

Row = Mapping[str, Any]


def season(
    rows: Sequence[Row],
    *,
    feeds: Sequence[Row] = (),
    samples: Sequence[Row] = (),
    weather: Sequence[Row] = (),
    **settings: Any,
) -> Season:
    """A season of these newborns.

    Every birth gets ``newborn_id`` 1, 2, ..., season 2026 and a birth on `BORN_AT` unless its row says so
    (``born_at=None`` leaves it out). Keys that end in ``_after_h`` are hours after birth, in feeds and
    samples too. Settings are those of `Settings`, by name.
    """
    chosen = Settings(**settings)
    births = tidy("births", [_placed(row, place) for place, row in enumerate(rows, start=1)])
    followed = follow(births, chosen)
    given = {"feeds": feeds, "samples": samples}
    tables = {
        name: _joined(tidy(name, _moments(of, births)), followed, name) if of else _no_rows(name).copy()
        for name, of in given.items()
    }
    balances = (Balance("births", len(rows), len(rows), 0, 0),)
    sources = (Source("births.csv", "", "births", len(rows), "0" * 64),)
    no_problems = pd.DataFrame(columns=list(PROBLEM_COLUMNS))
    return Season(
        followed,
        tables["feeds"],
        tables["samples"],
        tidy("weather", weather),
        no_problems,
        balances,
        sources,
        chosen,
        recorded=in_order(births),
    )


def tidy(table: str, rows: Sequence[Row]) -> pd.DataFrame:
    """Rows as the tidy frame of a table, with the types that the readers give."""
    frame = pd.DataFrame(list(rows))
    kinds = {column.name: column.kind for column in TABLES[table]}
    kinds |= {
        f"{name}_not_by": kind for name, kind in kinds.items() if kind == "elapsed"
    }  # as "not by" is read
    unknown = {str(name) for name in frame} - set(kinds)
    assert not unknown, f"{table} has no column {sorted(unknown)}"
    for name in map(str, frame.columns):
        frame[name] = _typed(frame[name], kinds[name])
    return frame if len(frame.columns) else pd.DataFrame(columns=list(kinds))


def _placed(row: Row, place: int) -> dict[str, Any]:
    filled: dict[str, Any] = {
        "farm": "home",
        "season": "2026",
        "species": "sheep",
        "newborn_id": str(place),
        "born_at": BORN_AT,
    }
    filled |= {key: value for key, value in row.items() if key not in AFTER_BIRTH}
    born = filled["born_at"] or filled.get("born_on")
    for key, moment in AFTER_BIRTH.items():
        if row.get(key) is not None:
            filled[moment] = pd.Timestamp(str(born)) + pd.Timedelta(hours=row[key])
    return filled


def _moments(rows: Sequence[Row], births: pd.DataFrame) -> list[dict[str, Any]]:
    born = births.set_index("newborn_id")["born_at"] if len(births) else pd.Series(dtype="datetime64[ns]")
    return [_after(row, born[row["newborn_id"]]) for row in rows]


def _after(row: Row, born: pd.Timestamp) -> dict[str, Any]:
    moments = {AFTER_BIRTH[k]: born + pd.Timedelta(hours=v) for k, v in row.items() if k in AFTER_BIRTH}
    return {key: value for key, value in row.items() if key not in AFTER_BIRTH} | moments


def _joined(frame: pd.DataFrame, births: pd.DataFrame, table: str) -> pd.DataFrame:
    """Rows of feeds or samples with the number of their newborn and its age in hours."""
    at = "fed_at" if table == "feeds" else "sampled_at"
    whose = births[["newborn_id", "newborn", "born", "litter", "season"]].astype({"season": str})
    joined = frame.merge(whose, on="newborn_id", how="inner")
    since_birth = pd.to_datetime(joined[at]) - joined["born"]
    age_h = since_birth.dt.total_seconds() / 3600
    if table == "feeds":
        return joined.assign(age_h=age_h).drop(columns=["born", "litter", "season"])
    return joined.assign(age_h=age_h, age_low_h=age_h, age_high_h=age_h).drop(columns="born")


@cache
def _no_rows(table: str) -> pd.DataFrame:
    """A table of feeds or samples that was not kept."""
    one = follow(tidy("births", [_placed({}, 1)]), Settings())
    return _joined(tidy(table, []), one, table)


def _typed(cells: pd.Series, kind: str) -> pd.Series:
    if kind in ("moment", "date"):
        return pd.to_datetime(cells)
    if kind in ("number", "integer", "elapsed"):
        return cells.astype("float64")
    if kind == "yes_no":
        return cells.map({"yes": True, "no": False, True: True, False: False}).astype("boolean")
    return cells.astype(object).where(cells.notna(), None)
