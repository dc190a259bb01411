"""What stands in the way of one table a sheet, and how it is taken out of it.

Tables side by side, or below one another with their columns moved; cells merged downwards; a small table behind a blank
column; lines that hold a date alone; a day and a month in two columns; headings that run down the first column.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.dates import take_apart
from neonatal_stats.season.finding import NO_NEED, Finding, say, where
from neonatal_stats.season.grid import Grid, RawColumn, RawTable, Remark, paired, raw_column
from neonatal_stats.vocabulary.farm_words import months, weekdays
from neonatal_stats.vocabulary.spelling import bare_words

FEWEST = 3
NOTHING_TO_DO = say("nothing need be done; keep one table a sheet next season")
PART_OF_THE_RECORDS = 0.5
"""A table beside the records that is longer than this share of them may belong to them."""
FEWEST_DAYS, FEWEST_CELLS = 2, 3
DATE_OF_LINES = "born on"
DAY = frozenset(("day", "tag", "jour", "dia", "dag", "giorno", "dzien"))
MONTH = frozenset(("month", "monat", "mois", "mes", "maand", "maned", "mese", "miesiac", "manad"))
FEWEST_COUNTS, MOST_OF_THEM = 3, 0.6


def one_below_another(grid: Grid, headings: Sequence[str], below: int) -> Grid | None:
    """Tables side by side under the same headings, put one below another; None for any other sheet.

    The headings must be those of one table, all of them, said again: columns that number newborns are no tables.
    """
    blocks = _blocks(headings)
    if len(blocks) < 2:
        return None
    first, *others = blocks
    columns = [list(column) for column in grid.columns]
    spans, numbers = dict(grid.spans), list(grid.numbers) or list(range(1, grid.height + 1))
    height = grid.height
    for block in others:
        for place, column in enumerate(columns):
            source = block[first.index(place)] if place in first else None
            column.extend([None] * (height - below) if source is None else grid.columns[source][below:])
        start = len(numbers)
        numbers += numbers[below:height]
        spans |= dict.fromkeys(range(start, len(numbers)), 0)
    for place, column in enumerate(columns):
        if any(place in block for block in others):
            column[below - 1 : height] = [None] * (height - below + 1)
    problem = say(
        "{n} tables stand side by side under the same headings; they were read one below another",
        n=len(blocks),
    )
    return replace(
        grid,
        columns=columns,
        spans=spans,
        numbers=numbers,
        lines=height if grid.lines < 0 else grid.lines,
        remarks=(*grid.remarks, Remark("", problem, NOTHING_TO_DO)),
    )


def _blocks(headings: Sequence[str]) -> list[list[int]]:
    """The columns of each table; one block where the headings are not one list said several times."""
    places = [place for place, heading in enumerate(headings) if heading]
    spoken = [headings[place].casefold() for place in places]
    for size in range(FEWEST, len(spoken) // 2 + 1):
        own = spoken[:size]
        if len(set(own)) == size and spoken == own * (len(spoken) // size):
            return [places[start : start + size] for start in range(0, len(places), size)]
    return [places]


def with_columns_in_place(
    grid: Grid, headings: Sequence[str], below: int, columns: Sequence[RawColumn]
) -> Grid | None:
    """Rows below headings that stand again in another order, their cells put under the first headings again.

    ``columns`` are the grid's below its headings. None where no headings stand again in another order.
    """
    moved = _moved_headings(headings, columns)
    if not moved:
        return None
    mended = [list(column) for column in grid.columns]
    ends = [*(row for row, _ in moved[1:]), grid.height - below]
    for (row, sources), end in zip(moved, ends, strict=True):
        for place, heading in enumerate(headings):
            source = sources.get(heading.casefold()) if heading else place
            cells = (
                [None] * (end - row) if source is None else grid.columns[source][below + row : below + end]
            )
            mended[place][below + row : below + end] = cells
    problem = say(
        "the headings stand again in row {row} in another order; the cells below were put under their own headings",
        row=f"{below + moved[0][0] + 1:,}",
    )
    return replace(grid, columns=mended, remarks=(*grid.remarks, Remark("", problem, NOTHING_TO_DO)))


def _moved_headings(
    headings: Sequence[str], columns: Sequence[RawColumn]
) -> list[tuple[int, dict[str, int]]]:
    """Rows that hold the headings, all or most of them, and not all in their own columns: heading to column."""
    own = {heading.casefold(): place for place, heading in enumerate(headings) if heading}
    if len(own) < FEWEST or not columns:
        return []
    rows = len(columns[0].codes)
    said, in_place = np.zeros(rows, dtype=np.int64), np.zeros(rows, dtype=np.int64)
    meant: list[NDArray[np.int64]] = []
    for place, column in enumerate(columns):
        here = column.by_row(
            lambda cell: own.get(cell.casefold(), -1) if isinstance(cell, str) else -1, -1, int
        )
        said += here >= 0
        in_place += here == place
        meant.append(here)
    stands = said >= max(FEWEST, 0.6 * len(own))
    if not (stands & (in_place < said)).any():
        return []
    return [
        (row, {headings[here[row]].casefold(): place for place, here in enumerate(meant) if here[row] >= 0})
        if in_place[row] < said[row]
        else (row, own)
        for row in np.flatnonzero(stands).tolist()
    ]


def below_headings(grid: Grid, below: int) -> tuple[list[Sequence[object]], tuple[Remark, ...]]:
    """The columns from that row on; blocks merged downwards fill those of their rows that hold anything else."""
    blocks = [block for block in grid.merged if block[0] >= below and block[2] > block[0]]
    columns: list[Sequence[object]] = [column[below:] for column in grid.columns]
    filled = 0
    if blocks:
        lists = [list(column) for column in columns]
        holds = [any(cell not in (None, "") for cell in cells) for cells in zip(*lists, strict=True)]
        for top, left, bottom, _ in blocks:
            own = lists[left]
            for row in range(top + 1 - below, min(bottom + 1 - below, len(own))):
                if own[row] in (None, "") and holds[row]:
                    own[row] = own[top - below]
                    filled += 1
        columns = [*lists]
    if not filled:
        return columns, ()
    problem = say(
        "{n} cells that are merged over several rows were read for each of their rows", n=f"{filled:,}"
    )
    return columns, (Remark("", problem, NO_NEED),)


def beside_a_gap(headings: Sequence[str], columns: Sequence[RawColumn]) -> range:
    """The places of a small table to the right of a blank column: it fills the first rows throughout and no others."""
    filled = [column.filled.any() for column in columns]
    gaps = [place for place, heading in enumerate(headings) if not heading and not filled[place]]
    for gap in gaps:
        left, right = range(gap), range(gap + 1, len(headings))
        named = [place for place in right if headings[place]]
        if (
            not any(headings[place] for place in left)
            or not named
            or not all(headings[p] for p in right if filled[p])
        ):
            continue
        rows = np.any([columns[place].filled for place in left], axis=0)
        theirs = np.any([columns[place].filled for place in named], axis=0)
        many = int(theirs.sum())
        if 0 < many <= PART_OF_THE_RECORDS * rows.sum() and theirs[:many].all():
            return right
    return range(0)


def said_of_the_gap(headings: Sequence[str], columns: Sequence[RawColumn], places: range) -> Remark:
    """That a table beside the records was left out, and which."""
    named = [headings[place] for place in places if headings[place]]
    rows = np.any([columns[place].filled for place in places], axis=0)
    problem = say(
        "a blank column parts off another table beside the records ({headings}; {n} rows); it was left out",
        headings=", ".join(f'"{heading}"' for heading in named),
        n=f"{int(rows.sum()):,}",
    )
    return Remark(named[0], problem, say("put it on a sheet of its own, or remove the blank column"), "asked")


def with_days_of_lines(table: RawTable) -> RawTable:
    """Lines that hold a date alone, between records without any, are the day of the rows below them."""
    if len(table.columns) < FEWEST_CELLS or not len(table.rows):
        return table
    cells = list(table.columns.values())
    filled = np.sum([column.filled for column in cells], axis=0)
    days = np.full(len(table.rows), None, dtype=object)
    for column in cells:
        alone = (filled == 1) & column.filled & ~table.found
        for row in np.flatnonzero(alone):
            days[row] = _day(column.distinct[column.codes[row]])
    lines = np.array([day is not None for day in days], dtype=bool)
    if lines.sum() < FEWEST_DAYS or np.median(filled[~lines]) < FEWEST_CELLS or lines[:-1].all():
        return table
    if any(_are_dates(column, ~lines) for column in cells):
        return table
    last = np.maximum.accumulate(np.where(lines, np.arange(len(lines)), -1))
    below = [
        days[place] if place >= 0 and not line else None for place, line in zip(last, lines, strict=True)
    ]
    at = where(lines)
    first = next(iter(table.columns.values()))
    problem = say("the line holds a date alone; it was taken as the day of the rows below it")
    finding = Finding(at, "", first.at(at), problem, say("write the date in each row"), "no record")
    told = say(
        "{n} lines hold a date alone, and the rows below them have none; each was read as their day",
        n=len(at),
    )
    name = DATE_OF_LINES if DATE_OF_LINES not in table.columns else f"{DATE_OF_LINES} [2]"
    return table.remarked(
        Remark(name, told, say("write the date in each row")),
        columns={**table.columns, name: raw_column(below)},
        findings=(*table.findings, finding),
    )


def _day(cell: object) -> object:
    """The date that a line says, without its day of the week; None for any other."""
    if not isinstance(cell, str):
        return cell if take_apart(cell, {}) is not None else None
    words = [word for word in re.split(r"[\s,]+", cell.strip()) if bare_words(word) not in weekdays()]
    bare = " ".join(words)
    return bare if any(map(str.isdigit, bare)) and take_apart(bare, {}) is not None else None


def _are_dates(column: RawColumn, rows: np.ndarray) -> bool:
    """True where a column holds a date of its own for most records; a few may be of deaths."""
    dated = column.rows_of(lambda cell: take_apart(cell, {}) is not None)
    return bool(rows.any() and dated[rows].mean() > PART_OF_THE_RECORDS)


def with_day_and_month(table: RawTable) -> RawTable:
    """Two columns, one of days and one of months, as one of dates without a year, under the heading of the day."""
    days = [h for h in table.columns if bare_words(h) in DAY and _all_within(table.columns[h], 31)]
    named = [h for h in table.columns if bare_words(h) in MONTH and _are_months(table.columns[h])]
    if len(days) != 1 or len(named) != 1:
        return table
    joined = paired(table.columns[days[0]], table.columns[named[0]], _day_of_month)
    columns = {h: joined if h == days[0] else c for h, c in table.columns.items() if h != named[0]}
    problem = say("{day} and {month} were read as one date", day=f'"{days[0]}"', month=f'"{named[0]}"')
    return table.remarked(Remark(days[0], problem, NO_NEED), columns=columns)


def _all_within(cells: RawColumn, most: int) -> bool:
    used = [str(cell).removesuffix(".0") for cell, n in zip(cells.distinct, cells.uses, strict=True) if n]
    return bool(used) and all(text.isdigit() and 1 <= int(text) <= most for text in used)


def _are_months(cells: RawColumn) -> bool:
    used = [bare_words(str(cell)) for cell, n in zip(cells.distinct, cells.uses, strict=True) if n]
    return _all_within(cells, 12) or (bool(used) and all(text in months() for text in used))


def _day_of_month(day: object, month: object) -> object:
    if day is None or month is None:
        return None
    number = str(month).removesuffix(".0")
    name = next(n for n, of in months().items() if of == int(number)) if number.isdigit() else number
    return f"{str(day).removesuffix('.0')} {name}"


def turned(grid: Grid, counts: Callable[[object], bool], known: Callable[[object], bool]) -> Grid:
    """The sheet with rows for columns, where its first column names counts of mobs and its first row knows none.

    ``counts`` says of a cell whether it names such a count, ``known`` whether it is any heading.
    """
    if (
        grid.headed
        or len(grid.columns) < 2
        or grid.merged
        or any(known(cells[0]) for cells in grid.columns[1:])
    ):
        return grid
    counted = [counts(cell) for cell in grid.columns[0]]
    told = [cell for cell in grid.columns[0] if cell not in (None, "")]
    if sum(counted) < max(FEWEST_COUNTS, MOST_OF_THEM * len(told)):
        return grid
    below = next(place for place, is_count in enumerate(counted) if is_count)
    if below != 1:
        return grid
    rows = [[None, *cells] for cells in zip(*grid.columns, strict=True)]
    rows[0][:2] = [rows[0][1], "mob"]  # what stood in the corner is a title
    problem = say(
        "the headings stand in the first column; the sheet was turned round, and a row here is a column there"
    )
    return replace(
        grid,
        columns=rows,
        numbers=(),
        spans={},
        lines=-1,
        remarks=(*grid.remarks, Remark("", problem, NO_NEED)),
    )
