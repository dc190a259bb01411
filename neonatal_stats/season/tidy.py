"""The tidy tables of a season and its set-aside list as files."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pandas as pd

from neonatal_stats.season.following.ages import column as column_of_moments
from neonatal_stats.season.model import Season
from neonatal_stats.vocabulary.columns import TABLES, Column

RISKY = ("=", "+", "-", "@", "\t", "\r")
NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")
LINE = "\n"


def write_tidy(season: Season, out: str | Path) -> list[Path]:
    """Write births.csv, feeds.csv, samples.csv and weather.csv (those that hold rows) and set-aside.csv.

    Every text is made before the first file is written, and each file takes its name only when it is complete.
    What it writes reads back, with no map, as the same season.
    """
    folder = Path(out)
    texts = {
        f"{table}.csv": _csv(tidy_frame(season, table)) for table in TABLES if len(getattr(season, table))
    }
    texts["set-aside.csv"] = _csv(season.problems.astype(object))
    folder.mkdir(parents=True, exist_ok=True)
    parts = []
    for name, text in texts.items():
        part = folder / f".{name}.part"
        part.write_text(text, encoding="utf-8", newline="")
        parts.append((part, folder / name))
    for part, whole in parts:
        os.replace(part, whole)
    return [whole for _, whole in parts]


def tidy_frame(season: Season, table: str) -> pd.DataFrame:
    """The tidy columns of one table as they are written: text, in the vocabulary's order, nothing that was derived."""
    frame = getattr(season, table)
    tidy = {}
    for column in TABLES[table]:
        if column.name in frame or f"{column.name}_not_by" in frame:
            tidy[column.name] = _written(column, frame)
    return pd.DataFrame(tidy, index=frame.index).dropna(axis="columns", how="all")


def _written(column: Column, frame: pd.DataFrame) -> pd.Series:
    values = frame[column.name]
    if column.name == "litter_size" and "litter_size_counted" in frame:
        rows = frame["litter"].groupby(frame["litter"]).transform("size")
        values = values.where(~frame["litter_size_counted"] | (rows != values))
    if column.name == "died":
        values = (
            values
            | column_of_moments(frame, "died_at").notna()
            | column_of_moments(frame, "found_dead_at").notna()
        )
    if column.kind in ("moment", "date"):
        return _moments(values, frame.get(f"{column.name}_is_day"), column.kind == "date")
    if column.kind == "elapsed":
        return _elapsed(_numbers(values), frame.get(f"{column.name}_not_by"))
    if column.kind in ("number", "integer"):
        return _numbers(values)
    if column.kind == "yes_no":
        answers: pd.Series = values.astype(object).map({True: "yes", False: "no"})
        return answers
    return values.astype(object)


def _moments(values: pd.Series, is_day: pd.Series | None, only_days: bool) -> pd.Series:
    days: pd.Series = values.dt.strftime("%Y-%m-%d").astype(object)
    if only_days:
        return days
    whole = values == values.dt.floor("min")
    times = (
        values.dt.strftime("%Y-%m-%d %H:%M")
        .where(whole, values.dt.strftime("%Y-%m-%d %H:%M:%S"))
        .astype(object)
    )
    by_day = is_day.fillna(False).astype(bool) if is_day is not None else pd.Series(False, index=values.index)
    written: pd.Series = times.where(~by_day, days)
    return written


def _numbers(values: pd.Series) -> pd.Series:
    numbers: pd.Series = values.astype(object).map(lambda v: f"{v:.12g}", na_action="ignore")
    return numbers


def _elapsed(minutes: pd.Series, not_by: pd.Series | None) -> pd.Series:
    if not_by is None:
        return minutes
    said = not_by.astype(object).map(lambda v: f"not by {v:.12g}", na_action="ignore")
    return minutes.where(minutes.notna(), said)


def _csv(frame: pd.DataFrame) -> str:
    """A frame as CSV text in which no cell is taken for a formula."""
    safe = pd.DataFrame(
        {name: frame[name].map(harmless, na_action="ignore") for name in frame}, index=frame.index
    )
    return safe.to_csv(index=False, lineterminator=LINE)


def harmless(cell: object) -> object:
    """A text that a spreadsheet would take for a formula gets an apostrophe before it; reading takes it off again."""
    if isinstance(cell, str) and cell.startswith(RISKY) and not NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell
