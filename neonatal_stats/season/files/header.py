"""Where the headings stand in a sheet, the table below them, and which of its rows are no records."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.files.blocks import one_below_another, with_columns_in_place
from neonatal_stats.season.files.merged import below_headings
from neonatal_stats.season.finding import CannotRead, Finding, Said, printable, say
from neonatal_stats.season.grid import Grid, Lines, RawColumn, RawTable, Remark, raw_column
from neonatal_stats.vocabulary.fates import TOTALS, folded

LOOKED_AT = 30
LONGEST_HEADING = 200
Known = Callable[[str], bool]


def rows_that_are_no_records(table: RawTable) -> tuple[Finding, ...]:
    """Findings for rows that repeat the headings and for rows of totals."""
    again, totals = _headings_again(table), _totals(table)
    found = []
    if again.size:
        found.append(_none(table, again, say("the headings stand here again"), say("nothing need be done")))
    if totals.size:
        found.append(
            _none(table, totals, say("a row of totals is no newborn"), say("keep totals out of the records"))
        )
    return tuple(found)


def _none(table: RawTable, at: NDArray[np.int64], problem: Said, remedy: Said) -> Finding:
    first = next(iter(table.columns.values()))
    return Finding(at, "", first.at(at), problem, remedy, "no record")


def _headings_again(table: RawTable) -> NDArray[np.int64]:
    """Rows of which two or more cells, and at least half of those filled, equal their own headings."""
    equal, filled = np.zeros(len(table.rows), dtype=int), np.zeros(len(table.rows), dtype=int)
    for heading, column in table.columns.items():
        same = np.array([str(cell).casefold() == heading.casefold() for cell in column.distinct] + [False])
        equal += same[column.codes]
        filled += column.codes >= 0
    return np.flatnonzero((equal >= 2) & (2 * equal >= filled)).astype(np.int64)


def _totals(table: RawTable) -> NDArray[np.int64]:
    """Rows that begin with a word for a total and else hold numbers alone: no date, no word, and few cells."""
    rows = len(table.rows)
    if not any(_is_total(cell) for column in table.columns.values() for cell in column.distinct):
        return np.empty(0, dtype=np.int64)
    begun, total, other = (np.zeros(rows, dtype=bool) for _ in range(3))
    filled = np.zeros(rows, dtype=np.int64)
    for column in table.columns.values():
        kinds = np.array([*(_kind(cell) for cell in column.distinct), ""], dtype=object)[column.codes]
        total |= (kinds == "total") & ~begun
        other |= kinds == "other"
        begun |= kinds != ""
        filled += kinds != ""
    if not total.any():
        return np.flatnonzero(total).astype(np.int64)
    few = (
        (filled <= 2) | (filled < np.median(filled[~total])) if (~total).any() else np.ones(rows, dtype=bool)
    )
    return np.flatnonzero(total & ~other & few).astype(np.int64)


def _is_total(cell: object) -> bool:
    short = isinstance(cell, str) and len(cell) <= 20 and not cell[-1:].isdigit()
    return short and folded(str(cell).rstrip(": ")) in TOTALS


def _kind(cell: object) -> str:
    """ "total" for a word that names one, "number", or "other" for dates and any other text."""
    if isinstance(cell, str):
        if _is_total(cell):
            return "total"
        bare = cell.replace(" ", "").rstrip("%").replace(",", ".")
        return "number" if bare.replace(".", "", 1).lstrip("+-").isdigit() else "other"
    return "number" if isinstance(cell, int | float) else "other"


def table_below(grid: Grid, known: Known) -> RawTable:
    """The sheet as named columns; the heading row is the one among the first rows with most known headings."""
    if grid.headed:
        headings, depth, below = list(grid.headings), 0, 1
    else:
        row = _heading_row(grid, known)
        (headings, depth), below = _headings(grid, row, known), row + 1
        if (stacked := one_below_another(grid, headings, below)) is not None:
            grid, (headings, depth) = stacked, _headings(stacked, row, known)
    cells, of_blocks = below_headings(grid, below)
    columns = [raw_column(column) for column in cells]
    if not grid.headed and (moved := with_columns_in_place(grid, headings, below, columns)) is not None:
        grid, (cells, of_blocks) = moved, below_headings(moved, below)
        columns = [raw_column(column) for column in cells]
    rows = np.flatnonzero(_filled(columns, max(grid.height - below, 0))).astype(np.int64)
    numbers = rows + below + (0 if grid.headed else 1)
    if len(grid.numbers):
        numbers = np.asarray(grid.numbers, dtype=np.int64)[rows + below]
    columns = [column.take(rows) for column in columns]
    named, remarks, overfull = _named(grid, headings, columns, numbers)
    table = RawTable(
        grid.file,
        grid.sheet,
        named,
        numbers,
        grid.sha256,
        grid.remarks + of_blocks + remarks,
        grid.table,
        grid.decimal_comma,
        lines=_lines(grid, depth, below, rows),
        spans=_spans(grid, numbers, rows + below),
        painted=grid.painted,
    )
    broken = _broken(grid, rows + below, columns)
    return replace(table, findings=(*broken, *overfull, *rows_that_are_no_records(table)))


def _lines(grid: Grid, depth: int, below: int, rows: NDArray[np.int64]) -> Lines:
    """What stands in the lines that are no rows of the table."""
    if grid.headed:
        total = grid.height - 1 if grid.lines < 0 else grid.lines
        blank = 0 if grid.joined or grid.unused else max(0, grid.height - 1 - len(rows))
        return Lines(total, 0, 0, blank, grid.joined, grid.unused)
    above = [place for place in range(below - depth) if any(_text(column[place]) for column in grid.columns)]
    headed = list(range(below - depth, below))
    filled = {*above, *headed, *(rows + below).tolist()}
    empty = [place for place in range(grid.height) if place not in filled]
    counts = [sum(grid.spans.get(place, 1) for place in places) for places in (above, headed, empty)]
    return Lines(grid.height if grid.lines < 0 else grid.lines, *counts)


def _spans(grid: Grid, numbers: NDArray[np.int64], places: NDArray[np.int64]) -> dict[int, int]:
    """Over how many lines a row of a number goes, where that is not one."""
    if not grid.spans:
        return {}
    spans: dict[int, int] = {}
    for number, place in zip(numbers.tolist(), places.tolist(), strict=True):
        spans[number] = spans.get(number, 0) + grid.spans.get(place, 1)
    return {number: span for number, span in spans.items() if span != 1}


def _broken(grid: Grid, places: NDArray[np.int64], columns: list[RawColumn]) -> list[Finding]:
    """Rows of which the reader of the file could make no whole row."""
    found = []
    for place, problem, remedy in grid.aside:
        at = np.flatnonzero(places == place).astype(np.int64)
        if len(at):
            cells = [str(cell) for column in columns for cell in column.at(at) if cell is not None]
            found.append(Finding(at, "", [" | ".join(cells)], problem, remedy, "set aside"))
    return found


def _heading_row(grid: Grid, known: Known) -> int:
    """The first row with most known headings; failing that the first that is at least half as wide as any."""
    rows = [
        [text for column in grid.columns if (text := _text(column[row]))] for row in range(_looked_at(grid))
    ]
    widest = max(map(len, rows), default=0)
    if not widest:
        raise CannotRead(
            f"{grid.place}: it is empty; the first row must hold headings, with one newborn a row below."
        )
    scores = [len({text for text in texts if known(text)}) for texts in rows]
    full = next(row for row, texts in enumerate(rows) if 2 * len(texts) >= widest)
    best = scores.index(max(scores))
    by_chance = scores[best] == 1 and best > full and any(re.search(r"\d", text) for text in rows[best])
    return full if scores[best] == 0 or by_chance else best


def _looked_at(grid: Grid) -> int:
    return min(LOOKED_AT, grid.height)


def _text(cell: object) -> str:
    return " ".join(printable(str(cell)[:LONGEST_HEADING]).split()) if cell is not None else ""


def _headings(grid: Grid, row: int, known: Known) -> tuple[list[str], int]:
    """The headings and over how many rows they go: joined with those over them that are merged or numbered."""
    lower = [_text(column[row]) for column in grid.columns]
    if row == 0:
        return lower, 1
    upper = _spanned([_text(column[row - 1]) for column in grid.columns], grid.merged, row - 1)
    numbered = any(re.search(r"\d", text) for text in upper) and len(set(filter(None, lower))) < len(
        list(filter(None, lower))
    )
    merged = any(top <= row - 1 <= bottom and right > left for top, left, bottom, right in grid.merged)
    if not numbered and not (merged and any(known(text) for text in upper)):
        return lower, 1
    joined = []
    for over, own in zip(upper, lower, strict=True):
        joined.append(
            f"{over} {own}"
            if (over and own and not known(f"{own}")) or (over and own and numbered)
            else own or over
        )
    return joined, 2


def _spanned(upper: list[str], merged: tuple[tuple[int, int, int, int], ...], row: int) -> list[str]:
    """Each upper heading laid over all columns of its merged block; without blocks, up to the next one."""
    blocks = [(left, right) for top, left, bottom, right in merged if top <= row <= bottom and right > left]
    spanned, last = list(upper), ""
    for place, text in enumerate(upper):
        last = text or last
        inside = any(left <= place <= right for left, right in blocks) if blocks else True
        if not text and inside and re.search(r"\d", last):
            spanned[place] = last
    return spanned


def _filled(columns: list[RawColumn], height: int) -> NDArray[np.bool_]:
    filled = np.zeros(height, dtype=bool)
    for column in columns:
        filled |= column.codes >= 0
    return filled


def _named(
    grid: Grid, headings: list[str], columns: list[RawColumn], rows: NDArray[np.int64]
) -> tuple[dict[str, RawColumn], tuple[Remark, ...], tuple[Finding, ...]]:
    named: dict[str, RawColumn] = {}
    remarks, overfull = [], []
    last = max((place for place, heading in enumerate(headings) if heading), default=-1)
    for place, (heading, column) in enumerate(zip(headings, columns, strict=True)):
        used = np.flatnonzero(column.codes >= 0)
        if not heading and len(used) and place > last and not grid.sheet:
            overfull.append(_overfull(used, column))
        elif not heading and len(used):
            remarks.append(_headless(letters(place), len(used), int(rows[used[0]])))
        elif heading in named and len(used) and _alike(named[heading], column):
            remarks.append(_again(heading, letters(place)))
        elif heading in named and len(used):
            named[_next_name(heading, named)] = column
        elif heading:
            named.setdefault(heading, column)
    return named, tuple(remarks), tuple(overfull)


def _overfull(at: NDArray[np.int64], column: RawColumn) -> Finding:
    problem = say("the row has more cells than there are headings, so its cells may have moved")
    remedy = say("look for a separator inside a text of this row and put that text in quotation marks")
    return Finding(at, "", column.at(at), problem, remedy, "set aside")


def _headless(letter: str, cells: int, row: int) -> Remark:
    problem = say(
        "column {letter} has no heading and was left out; it holds {cells} cells, the first in row {row}",
        letter=letter,
        cells=f"{cells:,}",
        row=f"{row:,}",
    )
    return Remark(letter, problem, say("give the column a heading if it belongs to the records"), "asked")


def _alike(first: RawColumn, second: RawColumn) -> bool:
    """True where the second of two columns of one name says nothing that the first does not."""
    here = np.flatnonzero(second.codes >= 0)
    return [str(cell) for cell in first.at(here)] == [str(cell) for cell in second.at(here)]


def _next_name(heading: str, named: Mapping[str, RawColumn]) -> str:
    """The name of a further column under one heading: Date [2], Date [3]."""
    return next(name for n in range(2, 9_999) if (name := f"{heading} [{n}]") not in named)


def _again(heading: str, letter: str) -> Remark:
    problem = say("the heading stands twice over the same cells; column {letter} was left out", letter=letter)
    return Remark(heading, problem, say("nothing need be done"))


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
