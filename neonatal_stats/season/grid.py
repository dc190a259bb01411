"""A sheet as it stands: cells by column, before anyone knows which row holds the headings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import About, CannotRead, Ended, Finding, Said, printable

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
class Grid:
    """One sheet: ``columns`` of cells (text, number, date or None), every one as long as the sheet.

    ``headed`` is True where the file itself says which names its columns have (Parquet), given in ``headings``;
    else a heading row is looked for. ``merged`` holds merged blocks as (top, left, bottom, right) from 0, ``painted``
    the rows (from 1) that are struck out or red, with the words for it.
    ``lines`` is how many lines the file has where that is known apart from its rows, ``spans`` over how many lines a
    row goes where that is not one, ``numbers`` what the rows are called where they are not counted from 1, and
    ``aside`` the rows of which no whole row can be made, by place, with what is wrong and how to mend it. ``joined``
    and ``unused`` count the messages of an exchange file that add to births told elsewhere, and those not used.
    """

    file: str
    sheet: str
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

    @property
    def height(self) -> int:
        """The number of rows, title and heading rows included."""
        return len(self.columns[0]) if self.columns else 0

    @property
    def place(self) -> str:
        """File and sheet as they are named in a sentence."""
        return f"{self.file}, sheet {self.sheet}" if self.sheet else self.file


@dataclass(frozen=True, eq=False)
class RawColumn:
    """A column's distinct cells and, for each row, which of them it holds (-1 = blank)."""

    codes: NDArray[np.int64]
    distinct: NDArray[np.object_]

    def at(self, positions: NDArray[np.int64]) -> list[object]:
        """The cells as found at these rows."""
        return [None if code < 0 else self.distinct[code] for code in self.codes[positions]]

    def take(self, rows: NDArray[np.int64]) -> RawColumn:
        """The same distinct cells at a choice of rows."""
        return RawColumn(self.codes[rows], self.distinct)


@dataclass(frozen=True, eq=False)
class RawTable:
    """A sheet below its headings: named columns of cells as found, blank rows left out.

    ``lines`` counts the lines above and between the rows; ``spans`` over how many lines a row of that number goes.
    """

    file: str
    sheet: str
    columns: dict[str, RawColumn]
    rows: NDArray[np.int64]
    sha256: str
    remarks: tuple[Remark, ...] = ()
    table: str = ""
    decimal_comma: bool = False
    findings: tuple[Finding, ...] = ()
    lines: Lines = Lines()
    spans: Mapping[int, int] = field(default_factory=dict)
    painted: Mapping[int, str] = field(default_factory=dict)

    @property
    def place(self) -> str:
        """File and sheet as they are named in a sentence."""
        return f"{self.file}, sheet {self.sheet}" if self.sheet else self.file


def raw_column(cells: Sequence[object]) -> RawColumn:
    """Distinct cells, spaces at their ends removed; what is then empty is blank."""
    array = np.empty(len(cells), dtype=object)
    array[:] = cells
    codes, distinct = pd.factorize(array)
    trimmed = np.empty(len(distinct), dtype=object)
    trimmed[:] = [_trimmed(cell) for cell in distinct]
    blank = np.array([cell is None for cell in trimmed], dtype=bool)
    if blank.any():
        codes = np.where((codes >= 0) & blank[codes], -1, codes)
    return RawColumn(np.asarray(codes, dtype=np.int64), trimmed)


def _trimmed(cell: object) -> object:
    if isinstance(cell, str):
        return printable(cell).replace("\u00a0", " ").strip() or None
    if isinstance(cell, bool | np.bool_):
        return "yes" if cell else "no"
    return None if cell is pd.NaT or cell is pd.NA else cell


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
