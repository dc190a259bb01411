"""Where the headings stand in a sheet, and the table below them."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.grid import Grid, RawColumn, RawTable, Remark, raw_column
from neonatal_stats.season.trouble import CannotRead

LOOKED_AT = 30


def table_below(grid: Grid, known: Callable[[str], bool]) -> RawTable:
    """The sheet as named columns; the heading row is the one among the first rows with most known headings."""
    if grid.headed:
        headings, below = list(grid.headings), 1
    else:
        row = _heading_row(grid, known)
        headings, below = [_text(column[row]) for column in grid.columns], row + 1
    columns = [raw_column(column[below:]) for column in grid.columns]
    filled = _filled(columns, max(grid.height - below, 0))
    numbers = np.flatnonzero(filled).astype(np.int64)
    first = below + (0 if grid.headed else 1)
    taken = [column.take(numbers) for column in columns]
    named, remarks = _named(grid, headings, taken, numbers + first)
    return RawTable(
        grid.file,
        grid.sheet,
        named,
        numbers + first,
        grid.sha256,
        grid.remarks + remarks,
        grid.table,
        grid.decimal_comma,
    )


def _heading_row(grid: Grid, known: Callable[[str], bool]) -> int:
    best, most, widest = -1, 0, 0
    for row in range(min(LOOKED_AT, grid.height)):
        texts = [text for column in grid.columns if (text := _text(column[row]))]
        score = len({text for text in texts if known(text)})
        if score > most or (most == 0 and score == 0 and len(texts) > widest and best < 0):
            best, most, widest = row, score, len(texts)
    if best < 0:
        raise CannotRead(
            f"{grid.place}: it is empty; the first row must hold headings, with one newborn a row below."
        )
    return best


def _text(cell: object) -> str:
    return " ".join(str(cell).split()) if cell is not None else ""


def _filled(columns: list[RawColumn], height: int) -> NDArray[np.bool_]:
    filled = np.zeros(height, dtype=bool)
    for column in columns:
        filled |= column.codes >= 0
    return filled


def _named(
    grid: Grid, headings: list[str], columns: list[RawColumn], rows: NDArray[np.int64]
) -> tuple[dict[str, RawColumn], tuple[Remark, ...]]:
    named: dict[str, RawColumn] = {}
    remarks = []
    for place, (heading, column) in enumerate(zip(headings, columns, strict=True)):
        used = np.flatnonzero(column.codes >= 0)
        if not heading and len(used):
            remarks.append(_headless(letters(place), len(used), int(rows[used[0]])))
        elif heading in named and len(used):
            remarks.append(_again(heading, letters(place)))
        elif heading:
            named.setdefault(heading, column)
    return named, tuple(remarks)


def _headless(letter: str, cells: int, row: int) -> Remark:
    problem = (
        f"column {letter} has no heading and was left out; it holds {cells:,} cells, the first in row {row:,}"
    )
    return Remark(letter, problem, "give the column a heading if it belongs to the records")


def _again(heading: str, letter: str) -> Remark:
    problem = f"the heading stands twice; column {letter} was left out"
    return Remark(heading, problem, "give each column a heading of its own")


def letters(place: int) -> str:
    """The spreadsheet's letters of a column counted from 0.

    >>> letters(0), letters(25), letters(26)
    ('A', 'Z', 'AA')
    """
    text = ""
    place += 1
    while place:
        place, letter = divmod(place - 1, 26)
        text = chr(65 + letter) + text
    return text
