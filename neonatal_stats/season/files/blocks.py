"""Blocks in a sheet: tables beside one another, or below one with their columns moved, and cells merged downwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.finding import NO_NEED, say
from neonatal_stats.season.grid import Grid, RawColumn, Remark

FEWEST = 3
NOTHING_TO_DO = say("nothing need be done; keep one table a sheet next season")


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
        spoken = [own.get(cell.casefold(), -1) if isinstance(cell, str) else -1 for cell in column.distinct]
        here = column.spread(np.array(spoken, dtype=np.int64), -1)
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
