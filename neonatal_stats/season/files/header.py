"""Where the headings stand in a sheet, the table below them, and which of its rows are no records.

Of a tidy table that this package wrote, what was derived is left out again, so that it reads back the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime

import numpy as np

from neonatal_stats.season.files.in_the_way import (
    below_headings,
    beside_a_gap,
    one_below_another,
    said_of_the_gap,
    with_columns_in_place,
    with_day_and_month,
    with_days_of_lines,
)
from neonatal_stats.season.files.lines import TOO_MANY
from neonatal_stats.season.finding import NO_NEED, PROBLEM_COLUMNS, CannotRead, Finding, printable, say, where
from neonatal_stats.season.grid import (
    Grid,
    Lines,
    Mask,
    RawColumn,
    RawTable,
    Remark,
    Rows,
    paired,
    raw_column,
)
from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.derived import CODEBOOK_COLUMNS, WRITTEN_BY_US, derived
from neonatal_stats.vocabulary.fates import MONTHS, TOTALS
from neonatal_stats.vocabulary.named import LONGEST, TOTAL, total_named
from neonatal_stats.vocabulary.spelling import folded

LOOKED_AT = 30
OF_THE_FOLDER = (frozenset(PROBLEM_COLUMNS), frozenset(CODEBOOK_COLUMNS))
LONGEST_HEADING = 200
COUNTED = re.compile(r"\d{1,4}\s*(?:x\s*)?([^\W\d_]{2,15})\.?")
"""A count with what it counts, as a line of totals writes it: "4 dead"."""
WORDY = re.compile(r"[^\W\d_]{3}|[cb]\s?/\s?f", re.IGNORECASE)
NO_NEWBORN = say("a row of totals is no newborn")
Known = Callable[[str], bool]


def rows_that_are_no_records(table: RawTable) -> tuple[Finding, ...]:
    """Findings for rows that repeat the headings and for rows of totals."""
    kinds = (
        (_headings_again(table), say("the headings stand here again"), NO_NEED),
        (_totals(table), NO_NEWBORN, say("keep totals out of the records")),
    )
    first = next(iter(table.columns.values()), None)
    return tuple(
        Finding(where(rows), "", first.at(where(rows)), problem, remedy, "no record")
        for rows, problem, remedy in kinds
        if first is not None and rows.any()
    )


def _headings_again(table: RawTable) -> Mask:
    """Rows of which two or more cells, and at least half of those filled, equal their own headings."""
    equal, filled = np.zeros(len(table.rows), dtype=int), np.zeros(len(table.rows), dtype=int)
    for heading, column in table.columns.items():
        own = heading.casefold()
        equal += column.rows_of(str(cell).casefold() == own for cell in column.distinct)
        filled += column.filled
    return (equal >= 2) & (2 * equal >= filled)


def _totals(table: RawTable) -> Mask:
    """Rows that begin with a word for a total and else hold numbers or counts alone: no date, and few cells."""
    begun, total, other = (np.zeros(len(table.rows), dtype=bool) for _ in range(3))
    if not any(_is_total(cell) for column in table.columns.values() for cell in column.distinct):
        return total
    filled = np.zeros(len(table.rows), dtype=np.int64)
    for column in table.columns.values():
        kinds = column.by_row(_kind, "")
        total |= (kinds == "total") & ~begun
        other |= kinds == "other"
        begun |= column.filled
        filled += column.filled
    if total.all() or not total.any():
        return total & ~other
    return total & ~other & ((filled <= 2) | (filled < np.median(filled[~total])))


def _is_total(cell: object) -> bool:
    """A word for a total, alone or with that of which it is one: "Subtotal week 1", "carried forward"."""
    if not isinstance(cell, str) or len(cell) > LONGEST or cell[:1].isdigit():
        return False
    if not WORDY.search(cell):
        return False
    return folded(cell.rstrip(": ")) in TOTALS or total_named(cell) == TOTAL


def _kind(cell: object) -> str:
    """ "total" for a word that names one, "number", or "other" for dates and any other text."""
    if isinstance(cell, str):
        if _is_total(cell):
            return "total"
        if (counted := COUNTED.fullmatch(cell.strip())) and folded(counted[1]) not in MONTHS:
            return "number"
        bare = cell.replace(" ", "").rstrip("%").replace(",", ".")
        return "number" if bare.replace(".", "", 1).lstrip("+-").isdigit() else "other"
    return "number" if isinstance(cell, int | float) else "other"


def table_below(grid: Grid, known: Known) -> RawTable:
    """The sheet as named columns; the heading row is the one among the first rows with most known headings."""
    if grid.headed:
        headings, depth, below = list(grid.headings), 0, 1
    else:
        row = _lower_row(grid, _heading_row(grid, known), known)
        (headings, depth), below = _headings(grid, row, known), row + 1
        if (stacked := one_below_another(grid, headings, below)) is not None:
            grid, (headings, depth) = stacked, _headings(stacked, row, known)
    cells, of_blocks = below_headings(grid, below)
    columns = [raw_column(column) for column in cells]
    if not grid.headed and (moved := with_columns_in_place(grid, headings, below, columns)) is not None:
        grid, (cells, of_blocks) = moved, below_headings(moved, below)
        columns = [raw_column(column) for column in cells]
    filled = np.zeros(max(grid.height - below, 0), dtype=bool)
    rows = where(np.logical_or.reduce([filled, *(column.filled for column in columns)]))
    numbers = rows + below + (0 if grid.headed else 1)
    if len(grid.numbers):
        numbers = np.asarray(grid.numbers, dtype=np.int64)[rows + below]
    columns = [column.take(rows) for column in columns]
    if aside := beside_a_gap(headings, columns):
        of_blocks = (*of_blocks, said_of_the_gap(headings, columns, aside))
        headings = [("" if place in aside else heading) for place, heading in enumerate(headings)]
        nothing = np.full(len(rows), -1, dtype=np.int64)
        columns = [RawColumn(nothing, c.distinct) if place in aside else c for place, c in enumerate(columns)]
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
        meant=grid.meant,
        labels=grid.labels,
        titles="" if grid.headed else _titles(grid, below - depth),
    )
    broken = _broken(grid, rows + below, columns)
    table = replace(table, findings=(*broken, *overfull, *rows_that_are_no_records(table)))
    return without_derived(table if grid.headed else with_days_of_lines(with_day_and_month(table)))


def _titles(grid: Grid, above: int) -> str:
    """The cells above the headings."""
    return " ".join(text for row in range(above) for cells in grid.columns if (text := _text(cells[row])))


def _lines(grid: Grid, depth: int, below: int, rows: Rows) -> Lines:
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


def _spans(grid: Grid, numbers: Rows, places: Rows) -> dict[int, int]:
    """Over how many lines a row of a number goes, where that is not one."""
    if not grid.spans:
        return {}
    spans: dict[int, int] = {}
    for number, place in zip(numbers.tolist(), places.tolist(), strict=True):
        spans[number] = spans.get(number, 0) + grid.spans.get(place, 1)
    return {number: span for number, span in spans.items() if span != 1}


def _broken(grid: Grid, places: Rows, columns: list[RawColumn]) -> list[Finding]:
    """Rows of which the reader of the file could make no whole row."""
    found = []
    for place, problem, remedy in grid.aside:
        at = where(places == place)
        if len(at):
            cells = [str(cell) for column in columns for cell in column.at(at) if cell is not None]
            found.append(Finding(at, "", [" | ".join(cells)], problem, remedy, "set aside"))
    return found


def _heading_row(grid: Grid, known: Known) -> int:
    """The first row with most known headings; failing that the first that is at least half as wide as any."""
    looked_at = range(min(LOOKED_AT, grid.height))
    rows = [[text for column in grid.columns if (text := _text(column[row]))] for row in looked_at]
    widest = max(map(len, rows), default=0)
    if not widest:
        raise CannotRead(
            f"{grid.place}: it is empty; the first row must hold headings, with one newborn a row below."
        )
    best, most = 0, 0
    for row, texts in enumerate(map(set, rows)):
        if len(texts) > most and (score := sum(map(known, texts))) > most:
            best, most = row, score
    full = next(row for row, texts in enumerate(rows) if 2 * len(texts) >= widest)
    by_chance = most == 1 and best > full and any(re.search(r"\d", text) for text in rows[best])
    return full if most == 0 or by_chance else best


def _lower_row(grid: Grid, row: int, known: Known) -> int:
    """The next row where it holds the headings of merged blocks that number newborns: the same words under each."""
    blocks = [block for block in grid.merged if block[0] <= row <= block[2] and block[3] > block[1]]
    if len(blocks) < 2 or row + 1 >= grid.height:
        return row
    if not all(re.search(r"\d", _text(grid.columns[left][top])) for top, left, _, _ in blocks):
        return row
    under = [
        [_text(grid.columns[place][row + 1]) for place in range(left, right + 1)]
        for _, left, _, right in blocks
    ]
    alike = all(texts == under[0] for texts in under) and all(under[0])
    words = not any(re.search(r"\d", text) for text in under[0]) and any(known(text) for text in under[0])
    return row + 1 if alike and words else row


def _text(cell: object) -> str:
    return " ".join(printable(str(cell)[:LONGEST_HEADING]).split()) if cell is not None else ""


def _headings(grid: Grid, row: int, known: Known) -> tuple[list[str], int]:
    """The headings and over how many rows they go: joined with those over them that are merged or numbered."""
    lower = [_text(column[row]) for column in grid.columns]
    if row == 0:
        return lower, 1
    upper = _spanned([_text(column[row - 1]) for column in grid.columns], grid.merged, row - 1)
    held = list(filter(None, lower))
    numbered = any(re.search(r"\d", text) for text in upper) and len(set(held)) < len(held)
    merged = any(top <= row - 1 <= bottom and right > left for top, left, bottom, right in grid.merged)
    if not numbered and not (merged and any(known(text) for text in upper)):
        return lower, 1
    both = zip(upper, lower, strict=True)
    return [
        f"{over} {own}" if over and own and (numbered or not known(own)) else own or over
        for over, own in both
    ], 2


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


def _named(
    grid: Grid, headings: list[str], columns: list[RawColumn], rows: Rows
) -> tuple[dict[str, RawColumn], tuple[Remark, ...], tuple[Finding, ...]]:
    named: dict[str, RawColumn] = {}
    remarks, overfull = [], []
    last = max((place for place, heading in enumerate(headings) if heading), default=-1)
    for place, (heading, column) in enumerate(zip(headings, columns, strict=True)):
        used = where(column.filled)
        if not heading and len(used) and place > last and not grid.sheet:
            overfull.append(Finding(used, "", column.at(used), *TOO_MANY, "set aside"))
        elif not heading and len(used):
            remarks.append(_headless(letters(place), len(used), int(rows[used[0]])))
        elif heading in named and len(used) and _alike(named[heading], column):
            remarks.append(_again(heading, letters(place)))
        elif heading in named and len(used):
            named[_next_name(heading, named)] = column
        elif heading:
            named.setdefault(heading, column)
    return named, tuple(remarks), tuple(overfull)


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
    here = where(second.filled)
    return [str(cell) for cell in first.at(here)] == [str(cell) for cell in second.at(here)]


def _next_name(heading: str, named: Mapping[str, RawColumn]) -> str:
    """The name of a further column under one heading: Date [2], Date [3]."""
    return next(name for n in range(2, 9_999) if (name := f"{heading} [{n}]") not in named)


def _again(heading: str, letter: str) -> Remark:
    problem = say("the heading stands twice over the same cells; column {letter} was left out", letter=letter)
    return Remark(heading, problem, NO_NEED)


def is_no_table(grid: Grid) -> bool:
    """True for the set-aside list and the codebook, which lie in the folder of tidy tables."""
    return frozenset(str(cells[0]) for cells in grid.columns if len(cells)) in OF_THE_FOLDER


def without_derived(table: RawTable) -> RawTable:
    """A tidy table without its derived columns; any other sheet as it is."""
    held = set(table.columns)
    ours = [name for name, headings in WRITTEN_BY_US.items() if headings <= held]
    name = max(ours, key=lambda name: len(held & {column.name for column in TABLES[name]}), default="")
    if not name:
        return table
    columns = {h: cells for h, cells in table.columns.items() if derived(name, h) is None}
    for column in TABLES[name]:
        by_day, not_by = f"{column.name}_is_day", f"{column.name}_not_by"
        if by_day in columns and column.name in columns:
            columns[column.name] = paired(columns[column.name], columns.pop(by_day), _day_where_yes)
        if not_by in columns:
            elapsed = columns.get(column.name, columns[not_by])
            columns[column.name] = paired(elapsed, columns.pop(not_by), _number_or_not_by)
    return replace(table, columns=columns)


def _day_where_yes(cell: object, by_day: object) -> object:
    return cell.date() if by_day == "yes" and isinstance(cell, datetime) else cell


def _number_or_not_by(cell: object, not_by: object) -> object:
    return f"not by {float(str(not_by)):.12g}" if not_by is not None else cell


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
