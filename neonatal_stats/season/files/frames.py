"""Frames to grids: a pandas DataFrame read as the file that it would make, cell by cell, and never altered.

What a dtype says is kept (a moment stays a moment, 14.0 beside a blank stays the number that it is); what it cannot say
is asked about rather than guessed, such as whether midnight is a time or a day without one.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import partial
from io import IOBase
from os import PathLike
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import CannotRead, printable, say
from neonatal_stats.season.grid import (
    LONGEST_CELL,
    Grid,
    RawColumn,
    Remark,
    Rows,
    as_found,
    check_cell,
    check_size,
    objects,
)
from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.derived import WRITTEN_BY_US, derived

Text = str | PathLike[str]
Frames = Mapping[str, pd.DataFrame]
Records = Text | pd.DataFrame | Frames | Iterable[Text | pd.DataFrame | Frames]
"""What a season can be read from: paths, a frame of births, frames by their table, or a list of any of these."""

EXACT = 2**53
"""Whole numbers above this lose digits as floating-point numbers, so they are read as text."""
AS_THEY_ARE = (str, datetime, date, time, timedelta)
AS_TEXT = (pd.Period, pd.Interval)
FOLLOWED, WRITTEN = frozenset(("born", "age_low_h", "age_high_h", "farm_code", "cluster")), "litter_size_used"
"""Columns of the births of a season beside what was recorded; and one that only its tidy table has."""
MANY, OFTEN = 3, 0.1
"""So many times of exactly midnight, and so large a share of a column's times, are more than births at midnight."""


def parted(records: Records) -> tuple[list[Text], tuple[tuple[str, pd.DataFrame], ...]]:
    """The paths among the records, and the frames, each with the table that it holds.

    Raises
    ------
    CannotRead
        For what is neither a path nor a frame, and for a table that there is not.
    """
    single = isinstance(records, str | PathLike | pd.DataFrame | Mapping)
    several = isinstance(records, list | tuple | set | frozenset | Iterator) and not isinstance(
        records, IOBase
    )
    if not single and not several:
        raise _neither(records)
    paths: list[Text] = []
    frames: list[tuple[str, pd.DataFrame]] = []
    for one in [records] if single else records:  # type: ignore[union-attr]
        if isinstance(one, str | PathLike):
            paths.append(one)
        elif isinstance(one, pd.DataFrame):
            frames.append(("births", one))
        elif isinstance(one, Mapping):
            frames += _by_table(one)
        else:
            raise _neither(one)
    return paths, tuple(frames)


def _by_table(tables: Frames) -> Iterator[tuple[str, pd.DataFrame]]:
    for table, frame in tables.items():
        if table not in TABLES:
            raise CannotRead(
                f'"{table}" is no table of the records; the tables are {", ".join(TABLES)}, and frames are given '
                'as {"births": frame, ...}.'
            )
        if not isinstance(frame, pd.DataFrame):
            raise _neither(frame, f"{table} frame, ")
        yield table, frame


def _neither(found: object, place: str = "") -> CannotRead:
    kind = type(found)
    named = (
        kind.__name__
        if kind.__module__ == "builtins"
        else f"{kind.__module__.partition('.')[0]} {kind.__name__}"
    )
    return CannotRead(
        f"{place}{named}: this is neither a path nor a pandas DataFrame; give file names, a folder, a DataFrame of "
        'births, or frames by their table: {"births": frame, "feeds": frame}.'
    )


def frame_grids(frames: Sequence[tuple[str, pd.DataFrame]]) -> list[Grid]:
    """The frames as grids: "births frame", or "births frame 1" and "births frame 2" where there are several."""
    tables = [table for table, _ in frames]
    grids = []
    for place, (table, frame) in enumerate(frames):
        count = f" {tables[: place + 1].count(table)}" if tables.count(table) > 1 else ""
        grids.append(frame_grid(table, frame, f"{table} frame{count}"))
    return grids


def frame_grid(table: str, frame: pd.DataFrame, name: str) -> Grid:
    """A frame as a grid whose column names are the headings and whose rows are told by the labels of the index.

    Named levels of the index are columns too, as they would be in a file. Labels that stand more than once cannot tell
    a row: then rows are told by their place, counted from 0.

    Raises
    ------
    CannotRead
        For a frame too large, with columns of several levels, or with a cell that is no text, number, date or yes/no.
    """
    if frame.columns.nlevels > 1:
        raise CannotRead(
            f"{name}: its columns have {frame.columns.nlevels} levels; give each column one name and try again."
        )
    if set(frame.columns) >= FOLLOWED and WRITTEN not in frame.columns:
        raise CannotRead(
            f"{name}: these births were read already and hold what followed from them, such as their ages; give the "
            "records themselves, or go on with the season that they come from."
        )
    whole = [
        *_named_levels(frame),
        *((str(label), frame.iloc[:, at]) for at, label in enumerate(frame.columns)),
    ]
    check_size(name, len(frame), len(whole))
    rows, labels, remarks = _rows(frame.index)
    columns: list[list[object]] = []
    sha256, settled = hashlib.sha256(), _settled(table, frame)
    for heading, series in whole:
        cells, column = _cells(series, partial(_place, name, heading, rows, labels))
        sha256.update("\x1f".join(map(repr, (heading, *cells.distinct))).encode("utf-8", "replace"))
        sha256.update(cells.codes.tobytes())
        remarks += _at_midnight(heading, series) if heading not in settled else []
        columns.append([None, *column])
    return Grid(
        name,
        "",
        columns,
        sha256.hexdigest(),
        tuple(remarks),
        headings=tuple(printable(heading) for heading, _ in whole),
        headed=True,
        meant=table,
        lines=len(frame),
        numbers=[0, *rows],
        labels=labels,
    )


def _place(name: str, heading: str, rows: Sequence[int], labels: Mapping[int, str], at: int) -> str:
    """Where a cell stands: "births frame, row label 17, column died"."""
    return f"{name}, row label {labels.get(rows[at], rows[at])}, column {heading}"


def _named_levels(frame: pd.DataFrame) -> Iterator[tuple[str, pd.Series]]:
    """The levels of the index that have a name no column has: `set_index("newborn_id")` loses no identities."""
    for level, name in enumerate(frame.index.names):
        if name is not None and name not in frame.columns:
            yield str(name), pd.Series(frame.index.get_level_values(level))


def _rows(index: pd.Index) -> tuple[list[int], dict[int, str], list[Remark]]:
    """A number for each row, the label that stands for it where labels are no whole numbers, and what is to be said."""
    places = list(range(len(index)))
    if not index.is_unique:
        problem = say(
            "labels of the index stand more than once; rows are told by their place, counted from 0"
        )
        return (
            places,
            {},
            [Remark("", problem, say("frame.reset_index(drop=True) gives each row its own label"))],
        )
    whole = index.nlevels == 1 and pd.api.types.is_integer_dtype(index.dtype) and not index.hasnans
    if whole and (not len(index) or max(abs(int(index.min())), abs(int(index.max()))) <= EXACT):
        return [int(label) for label in index], {}, []
    remarks = []
    if index.nlevels == 1 and index.name is None and len(index):
        problem = say("the index has no name, so its labels tell the rows and are read as nothing else")
        remedy = say('name it if it belongs to the records: frame.rename_axis("newborn_id")')
        remarks.append(Remark("", problem, remedy))
    return places, {place: label_of(label) for place, label in enumerate(index)}, remarks


def label_of(label: object) -> str:
    """A row's label as it is printed; those of several levels one after the other."""
    return ", ".join(map(as_found, label)) if isinstance(label, tuple) else as_found(label)


def _settled(table: str, frame: pd.DataFrame) -> set[str]:
    """The columns of a tidy table that follow from others, or say beside them which of their moments are days."""
    names = {str(name) for name in frame.columns}
    if not names >= WRITTEN_BY_US.get(table, frozenset(("",))):
        return set()
    return {name for name in names if f"{name}_is_day" in names or derived(table, name) is not None}


def _at_midnight(heading: str, series: pd.Series) -> list[Remark]:
    """Moments of which many are exactly midnight may be days whose missing time the dtype could not keep."""
    if series.dtype.kind != "M":
        return []
    known = series.dropna()
    midnight = int((known == known.dt.normalize()).sum())
    if midnight < MANY or midnight == len(known) or midnight < OFTEN * len(known):
        return []
    problem = say(
        "{n} of {m} times are exactly 00:00; they were read as midnight, and may be days without a time",
        n=f"{midnight:,}",
        m=f"{len(known):,}",
    )
    return [
        Remark(heading, problem, say("give days without a time as text, 2026-04-03, or as dates"), "asked")
    ]


def _cells(series: pd.Series, place: Callable[[int], str]) -> tuple[RawColumn, list[object]]:
    """The cells of a column as a workbook would hold them: text, numbers, moments, yes and no; None where blank.

    They are worked by their distinct values, which come first. ``place`` says where a row's cell stands, for a sentence
    that refuses it.
    """
    codes, values = _distinct(series)
    narrow = getattr(series.dtype, "numpy_dtype", series.dtype)
    is_narrow = isinstance(narrow, np.dtype) and narrow.kind == "f" and narrow.itemsize < 8
    cells = objects([_cell(narrow.type(value) if is_narrow else value) for value in values])
    for code, (cell, value) in enumerate(zip(cells, values, strict=True)):
        if cell is None or (isinstance(cell, str) and len(cell) > LONGEST_CELL):
            at = place(int(np.argmax(codes == code)))
            check_cell(at, 0 if cell is None else len(cell))
            raise CannotRead(
                f"{at}: the cell holds {type(value).__name__}; give text, a number, a date or yes and no."
            )
    column = RawColumn(codes, cells)
    return column, column.spread(cells, None).tolist()


def _distinct(series: pd.Series) -> tuple[Rows, list[Any]]:
    """For each row which of the values it holds (-1 = missing); objects of several kinds are not taken for equal.

    (True, 1 and 1.0 are equal in Python, and are not the same in a record.)
    """
    if isinstance(series.dtype, pd.SparseDtype):
        series = pd.Series(np.asarray(series))
    missing = series.isna().to_numpy(dtype=bool)
    if series.dtype != object or pd.api.types.infer_dtype(series, skipna=True) == "string":
        codes, values = pd.factorize(series)
        return np.where(missing, -1, codes).astype(np.int64), np.asarray(values, dtype=object).tolist()
    each = np.where(missing, -1, np.cumsum(~missing) - 1).astype(np.int64)
    return each, series[~missing].tolist()


def _cell(cell: Any) -> object:
    """One cell that is not missing; None where it can be no cell of records."""
    if isinstance(cell, np.floating) and cell.dtype.itemsize < 8:
        return _number(float(str(cell)))
    if isinstance(cell, np.datetime64 | np.timedelta64):
        return _cell(pd.Timestamp(cell) if isinstance(cell, np.datetime64) else pd.Timedelta(cell))
    if isinstance(cell, np.generic):
        cell = cell.item()
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, int | float):
        return _number(cell)
    if isinstance(cell, Decimal):
        return (
            _number(int(cell) if cell == cell.to_integral_value() else float(cell))
            if cell.is_finite()
            else str(cell)
        )
    if isinstance(cell, datetime) and cell.tzinfo is not None:
        return _with_zone(cell)
    if isinstance(cell, AS_TEXT):
        return str(cell)
    return cell if isinstance(cell, AS_THEY_ARE) else None


def _number(number: float) -> object:
    """A number; one that is none, or too long to be kept as one, as its text: the column says what it makes of that."""
    if isinstance(number, int):
        return number if abs(number) <= EXACT else str(number)
    return number if np.isfinite(number) else str(number)


def _with_zone(moment: datetime) -> str:
    """A moment with its zone as text, so that it is read (and remarked on) like the same moment in a file."""
    written = moment.isoformat(sep=" ")
    return written.removesuffix("+00:00") + "Z" if moment.tzname() == "UTC" else written
