"""The tidy tables of a season, what follows from them, a codebook and the set-aside list as files."""

from __future__ import annotations

import io
import os
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd

from neonatal_stats.season.files.opened import needs_parquet
from neonatal_stats.season.following.ages import known, moments
from neonatal_stats.season.model import Season
from neonatal_stats.vocabulary.columns import TABLES, Column
from neonatal_stats.vocabulary.derived import (
    CODEBOOK_COLUMNS,
    DERIVED,
    OF_WINDOW,
    Derived,
    derived,
)

RISKY = ("=", "+", "-", "@", "\t", "\r")
NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")
LINE = "\n"


def write_tidy(season: Season, out: str | Path, *, parquet: bool = False) -> list[Path]:
    """Write the tables that hold rows (births, feeds, samples and so on), codebook.csv and set-aside.csv.

    The tables hold the tidy columns and, behind them, what follows from them; ``parquet`` writes them as Parquet with
    typed columns instead of CSV. Every file is made before the first is written, and takes its name only when complete.
    What is written reads back, with no map, as the same season: the derived columns are left out and derived anew.
    """
    folder = Path(out)
    if parquet:
        needs_parquet(str(out))
    tables = [table for table in TABLES if len(getattr(season, table))]
    made = {f"{table}.parquet": _parquet(typed_frame(season, table)) for table in tables if parquet}
    made |= {
        f"{table}.csv": _csv(pd.concat([tidy_frame(season, table), derived_text(season, table)], axis=1))
        for table in tables
        if not parquet
    }
    made["codebook.csv"] = _csv(codebook(season, tables))
    made["set-aside.csv"] = _csv(season.problems.astype(object))
    folder.mkdir(parents=True, exist_ok=True)
    parts = []
    for name, data in made.items():
        part = folder / f".{name}.part"
        part.write_bytes(data)
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


def derived_columns(season: Season, table: str) -> Iterator[tuple[Derived, pd.Series]]:
    """What follows from the records of one table, in the order of the vocabulary, windows behind it."""
    frame = getattr(season, table)
    if table == "births":
        frame = frame.assign(litter_size_used=frame["litter_size"])
        if "outcome" not in frame:
            frame = frame.assign(outcome=np.where(frame["lost"], "dead", "alive"))
    names = [column.name for column in DERIVED.get(table, ())]
    for name in [
        *names,
        *(str(name) for name in frame if table == "births" and str(name).startswith(OF_WINDOW)),
    ]:
        column = derived(table, name)
        if column is not None and name in frame:
            values = frame[name]
            yield column, values.where(np.isfinite(values)) if column.kind == "number" else values


def derived_text(season: Season, table: str) -> pd.DataFrame:
    """The derived columns of one table as they are written in CSV."""
    frame = getattr(season, table)
    texts = {column.name: _derived_text(column, values) for column, values in derived_columns(season, table)}
    return pd.DataFrame(texts, index=frame.index)


def _derived_text(column: Derived, values: pd.Series) -> pd.Series:
    if column.kind in ("flag", "flag or missing"):
        answers: pd.Series = values.astype(object).map({True: "yes", False: "no"})
        return answers
    if column.kind == "moment":
        return _moments(values, values.notna() & (values == values.dt.normalize()), False)
    if column.kind in ("number", "code"):
        return _numbers(values)
    return values.astype(object)


def typed_frame(season: Season, table: str) -> pd.DataFrame:
    """Tidy and derived columns of one table with their types; a column says which moments are known to the day."""
    frame = getattr(season, table)
    text = tidy_frame(season, table)
    typed: dict[str, pd.Series] = {}
    for column in TABLES[table]:
        name = column.name
        if name not in text:
            continue
        if column.kind == "date":
            typed[name] = frame[name].dt.date.where(frame[name].notna(), None)
        elif column.kind == "moment":
            typed[name] = frame[name].astype("datetime64[us]")
            if f"{name}_is_day" in frame:
                typed[f"{name}_is_day"] = frame[f"{name}_is_day"]
        elif column.kind == "elapsed":
            typed[name] = frame[name].astype(float)
            if f"{name}_not_by" in frame:
                typed[f"{name}_not_by"] = frame[f"{name}_not_by"].astype(float)
        elif column.kind in ("number", "integer"):
            numbers = pd.to_numeric(text[name], errors="coerce").astype(float)
            typed[name] = numbers.astype("Int64") if column.kind == "integer" else numbers
            if f"{name}_limit" in frame:
                typed[f"{name}_limit"] = frame[f"{name}_limit"].astype("string")
        elif column.kind == "yes_no":
            typed[name] = text[name].map({"yes": True, "no": False}).astype("boolean")
        else:
            typed[name] = text[name].astype("string")
    for derived_column, values in derived_columns(season, table):
        typed[derived_column.name] = _typed(derived_column, values)
    return pd.DataFrame(typed, index=frame.index)


def _typed(column: Derived, values: pd.Series) -> pd.Series:
    if column.kind == "moment":
        return values.astype("datetime64[us]")
    return values.astype("string") if column.kind in ("class", "text") else values


def codebook(season: Season, tables: list[str]) -> pd.DataFrame:
    """One row a column that is written: its table, kind, unit, words, meaning, and whether it was derived."""
    rows = []
    for table in tables:
        written = tidy_frame(season, table)
        rows += [
            (table, c.name, c.kind.replace("_", " "), c.unit, "; ".join(c.words), c.meaning, "no")
            for c in TABLES[table]
            if c.name in written
        ]
        rows += [
            (table, c.name, c.kind, c.unit, "; ".join(c.words), c.meaning, "yes")
            for c, _ in derived_columns(season, table)
        ]
    return pd.DataFrame(rows, columns=list(CODEBOOK_COLUMNS), dtype=object)


def _written(column: Column, frame: pd.DataFrame) -> pd.Series:
    values = frame[column.name]
    if column.name == "litter_size" and "litter_size_counted" in frame:
        rows = frame["litter"].groupby(frame["litter"]).transform("size")
        values = values.where(~frame["litter_size_counted"] | (rows != values))
    if column.name == "died":
        values = values | known(moments(frame, "died_at")) | known(moments(frame, "found_dead_at"))
    if column.kind in ("moment", "date"):
        return _moments(values, frame.get(f"{column.name}_is_day"), column.kind == "date")
    if column.kind == "elapsed":
        return _elapsed(_numbers(values), frame.get(f"{column.name}_not_by"))
    if f"{column.name}_limit" in frame:
        limit = frame[f"{column.name}_limit"]
        return _numbers(values).astype(object).where(limit.isna(), limit)
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
    by_day = is_day if is_day is not None else pd.Series(False, index=values.index)
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


def _parquet(frame: pd.DataFrame) -> bytes:
    data = io.BytesIO()
    frame.to_parquet(data, index=False, engine="pyarrow")
    return data.getvalue()


def _csv(frame: pd.DataFrame) -> bytes:
    """A frame as CSV text in which no cell is taken for a formula."""
    safe = pd.DataFrame(
        {name: frame[name].map(harmless, na_action="ignore") for name in frame}, index=frame.index
    )
    return safe.to_csv(index=False, lineterminator=LINE).encode("utf-8")


def harmless(cell: object) -> object:
    """A text that a spreadsheet would take for a formula gets an apostrophe before it; reading takes it off again."""
    if isinstance(cell, str) and cell.startswith(RISKY) and not NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell
