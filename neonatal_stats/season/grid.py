"""A sheet as it stands: cells by column, before anyone knows which row holds the headings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import About, CannotRead, Ended, Finding, Said, printable

Rows = NDArray[np.int64]
Mask = NDArray[np.bool_]
MOST_COLUMNS = 2_000
MOST_ROWS = 2_000_000
MOST_CELLS = 100_000_000
LONGEST_CELL = 100_000


@dataclass(frozen=True)
class File:
    """A file and the name by which it is printed: its own, with as much of its folder as tells it apart."""

    path: Path
    name: str


@dataclass(frozen=True, eq=False)
class Remark:
    """Something about a file or sheet as a whole that a reader should know; "asked" where all is not well with it."""

    column: str
    problem: Said
    remedy: Said
    ended: Ended = "noted"
    about: About = ""


@dataclass(frozen=True)
class Lines:
    """The lines of a text file (or the rows of a sheet) by what stands in them, those of the table not counted here."""

    total: int = 0
    titles: int = 0
    headings: int = 0
    blank: int = 0
    joined: int = 0
    unused: int = 0


@dataclass(frozen=True, eq=False)
class Placed:
    """What stands in one sheet of one file."""

    file: str
    sheet: str

    @property
    def place(self) -> str:
        """File and sheet as they are named in a sentence."""
        return f"{self.file}, sheet {self.sheet}" if self.sheet else self.file


@dataclass(frozen=True, eq=False)
class Grid(Placed):
    """One sheet: ``columns`` of cells (text, number, date or None), every one as long as the sheet.

    ``headed`` is True where the file itself says which names its columns have (Parquet), given in ``headings``;
    else a heading row is looked for. ``merged`` holds merged blocks as (top, left, bottom, right) from 0, ``painted``
    the rows (from 1) that are struck out or red, with the words for it.
    ``lines`` is how many lines the file has where that is known apart from its rows, ``spans`` over how many lines a
    row goes where that is not one, ``numbers`` what the rows are called where they are not counted from 1, and
    ``aside`` the rows of which no whole row can be made, by place, with what is wrong and how to mend it. ``joined``
    and ``unused`` count the messages of an exchange file that add to births told elsewhere, and those not used.
    ``meant`` is the table that whoever gave the grid says it holds, and ``labels`` the labels of rows that have more
    than a number, by that number: both of a frame.
    """

    columns: Sequence[Sequence[object]]
    sha256: str
    remarks: tuple[Remark, ...] = ()
    headings: tuple[str, ...] = ()
    headed: bool = False
    table: str = ""
    merged: tuple[tuple[int, int, int, int], ...] = ()
    decimal_comma: bool = False
    lines: int = -1
    spans: Mapping[int, int] = field(default_factory=dict)
    numbers: Sequence[int] = ()
    aside: tuple[tuple[int, Said, Said], ...] = ()
    joined: int = 0
    unused: int = 0
    painted: Mapping[int, str] = field(default_factory=dict)
    meant: str = ""
    labels: Mapping[int, str] = field(default_factory=dict)

    @property
    def height(self) -> int:
        """The number of rows, title and heading rows included."""
        return len(self.columns[0]) if self.columns else 0


@dataclass(frozen=True, eq=False)
class RawColumn:
    """A column's distinct cells and, for each row, which of them it holds (-1 = blank)."""

    codes: Rows
    distinct: NDArray[np.object_]

    @property
    def filled(self) -> Mask:
        """The rows that hold anything."""
        return np.asarray(self.codes >= 0)

    @property
    def uses(self) -> Rows:
        """In how many rows each of the distinct cells stands."""
        return np.bincount(self.codes[self.filled], minlength=len(self.distinct))

    def at(self, positions: Rows) -> list[object]:
        """The cells as found at these rows."""
        return [None if code < 0 else self.distinct[code] for code in self.codes[positions]]

    def take(self, rows: Rows) -> RawColumn:
        """The same distinct cells at a choice of rows."""
        return RawColumn(self.codes[rows], self.distinct)

    def rows_of(self, said: Callable[[Any], bool] | Iterable[bool]) -> Mask:
        """The rows whose cell is one of those, as a function or an answer for each of the distinct cells says."""
        answers = map(said, self.distinct) if callable(said) else said
        return np.array([*answers, False], dtype=bool)[self.codes]

    def by_row(self, said: Callable[[Any], object], blank: object, kind: type = object) -> NDArray[Any]:
        """What a function says of each row's cell; it is asked once for each of the distinct cells."""
        answers: NDArray[Any] = np.empty(len(self.distinct), dtype=kind)
        answers[:] = [said(cell) for cell in self.distinct]
        return self.spread(answers, blank)

    def spread(self, values: NDArray[Any], blank: object) -> NDArray[Any]:
        """A value for each of the distinct cells laid out over the rows."""
        padded = np.empty(len(values) + 1, dtype=values.dtype)
        padded[:-1] = values
        padded[-1] = blank
        return padded[self.codes]


@dataclass(frozen=True, eq=False)
class RawTable(Placed):
    """A sheet below its headings: named columns of cells as found, blank rows left out.

    ``lines`` counts the lines above and between the rows; ``spans`` over how many lines a row of that number goes.
    ``form`` is "litters" or "slips" for a sheet for the shed, whose blank outcomes stay open; ``meant`` and ``labels``
    are those of the `Grid`. ``titles`` is the text above the headings.
    """

    columns: dict[str, RawColumn]
    rows: Rows
    sha256: str
    remarks: tuple[Remark, ...] = ()
    table: str = ""
    decimal_comma: bool = False
    findings: tuple[Finding, ...] = ()
    lines: Lines = Lines()
    spans: Mapping[int, int] = field(default_factory=dict)
    painted: Mapping[int, str] = field(default_factory=dict)
    form: str = ""
    meant: str = ""
    labels: Mapping[int, str] = field(default_factory=dict)
    titles: str = ""

    @property
    def found(self) -> Mask:
        """The rows of which something was found, such as that they are no records."""
        found = np.zeros(len(self.rows), dtype=bool)
        for finding in self.findings:
            found[finding.at] = True
        return found

    def remarked(self, *remarks: Remark, **changes: Any) -> RawTable:
        """The table with further remarks, and with other changes if need be."""
        return replace(self, remarks=(*self.remarks, *remarks), **changes)


def raw_column(cells: Sequence[object]) -> RawColumn:
    """Distinct cells, spaces at their ends removed; what is then empty is blank."""
    codes, distinct = pd.factorize(objects(cells))
    return recoded(codes, map(_trimmed, distinct))


def recoded(codes: NDArray[np.integer[Any]], cells: Iterable[object]) -> RawColumn:
    """A column of these distinct cells; None among them is blank."""
    distinct = objects(list(cells))
    blank = np.array([*(cell is None for cell in distinct), True])
    return RawColumn(np.where(blank[codes], -1, codes).astype(np.int64), distinct)


def paired(first: RawColumn, second: RawColumn, said: Callable[[Any, Any], object]) -> RawColumn:
    """Two columns said as one, by their distinct pairs; a blank is None."""
    width = len(second.distinct) + 1
    pairs, codes = np.unique((first.codes + 1) * width + second.codes + 1, return_inverse=True)
    left, right = [None, *first.distinct], [None, *second.distinct]
    return recoded(codes, (said(left[pair // width], right[pair % width]) for pair in pairs))


def in_order_of(columns: Iterable[NDArray[Any]], rows: int) -> Rows:
    """The rows in the order of several columns, the first of them first, what is missing last.

    A further column is looked at only where rows are still alike, so that long lists of columns cost little; rows that
    are alike in all stay as they stand.

    >>> in_order_of([np.array([2.0, 1.0, np.nan, 1.0]), np.array([None, "b", "a", "a"], dtype=object)], 4)
    array([3, 1, 0, 2])
    """
    place, tied = np.zeros(rows, dtype=np.int64), np.arange(rows)
    for values in columns:
        if not len(tied):
            break
        place[tied], alone = _placed(place[tied], values[tied])
        tied = tied[~alone]
    return np.argsort(place, kind="stable")


def _placed(place: Rows, values: NDArray[Any]) -> tuple[Rows, Mask]:
    """Places (the number of rows before it) of rows that share theirs with others, told apart by a further column; and
    which rows now have a place of their own.
    """
    codes, _ = pd.factorize(values, sort=True)
    several = len(values) + 1
    keys, key, rows = np.unique(
        place * several + np.where(codes < 0, len(values), codes), return_inverse=True, return_counts=True
    )
    shared, before = keys // several, np.cumsum(rows) - rows
    moved = before - before[np.searchsorted(shared, shared)]
    return (shared + moved)[key], (rows == 1)[key]


def numbers(column: RawColumn) -> NDArray[np.float64]:
    """The number in each cell, NaN where there is none."""
    return column.by_row(_number, np.nan, float)


def _number(cell: object) -> float:
    try:
        number = float(str(cell))
    except ValueError:
        return np.nan
    return number if np.isfinite(number) else np.nan


def objects(values: Sequence[object]) -> NDArray[np.object_]:
    """Any values as an array of objects."""
    array = np.empty(len(values), dtype=object)
    array[:] = values
    return array


def _trimmed(cell: object) -> object:
    if isinstance(cell, str):
        shown = cell if cell.isprintable() else printable(cell).replace("\u00a0", " ")
        return shown.strip() or None
    if isinstance(cell, bool | np.bool_):
        return "yes" if cell else "no"
    return None if cell is pd.NaT or cell is pd.NA else cell


def as_found(value: object) -> str:
    """A cell as it is printed in the problem list: shortened, on one line, whole numbers without ".0"."""
    if value is None or value is pd.NaT or value is pd.NA:
        return ""
    if isinstance(value, float):
        return "" if np.isnan(value) else f"{value:.15g}"
    if isinstance(value, pd.Timestamp):
        return f"{value:%Y-%m-%d}" if value == value.normalize() else f"{value:%Y-%m-%d %H:%M}"
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    text = " ".join(str(value).split())
    return text if len(text) <= 120 else text[:117] + "..."


def check_size(place: str, rows: int, columns: int) -> None:
    """Refuse a sheet that is no season of records, before any memory goes into it."""
    if columns > MOST_COLUMNS:
        raise CannotRead(
            f"{place}: it has {columns:,} columns and at most {MOST_COLUMNS:,} are accepted; "
            "keep only the columns of the records and save it again."
        )
    if rows > MOST_ROWS or rows * columns > MOST_CELLS:
        raise CannotRead(
            f"{place}: it has {rows:,} rows of {columns:,} columns and at most {MOST_ROWS:,} rows and "
            f"{MOST_CELLS:,} cells are accepted; remove what lies outside the records and save it again."
        )


def check_cell(place: str, length: int) -> None:
    """Refuse a cell longer than any cell is."""
    if length > LONGEST_CELL:
        raise CannotRead(
            f"{place}: one cell is longer than {LONGEST_CELL:,} characters; shorten it and save it again."
        )
