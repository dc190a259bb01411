"""Tidy tables that this package wrote: what was derived is left out again, so that they read back the same."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

import numpy as np

from neonatal_stats.season.grid import Grid, RawColumn, RawTable
from neonatal_stats.season.model import CODEBOOK_COLUMNS, PROBLEM_COLUMNS
from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.derived import WRITTEN_BY_US, derived

OF_THE_FOLDER = (frozenset(PROBLEM_COLUMNS), frozenset(CODEBOOK_COLUMNS))


def is_no_table(grid: Grid) -> bool:
    """True for the set-aside list and the codebook, which lie in the folder of tidy tables."""
    return frozenset(str(cells[0]) for cells in grid.columns if len(cells)) in OF_THE_FOLDER


def without_derived(table: RawTable) -> RawTable:
    """A tidy table without its derived columns; any other sheet as it is."""
    name = next((name for name, headings in WRITTEN_BY_US.items() if headings <= set(table.columns)), "")
    if not name:
        return table
    columns = {h: cells for h, cells in table.columns.items() if derived(name, h) is None}
    for column in TABLES[name]:
        by_day, not_by = f"{column.name}_is_day", f"{column.name}_not_by"
        if by_day in columns and column.name in columns:
            columns[column.name] = _joined(columns[column.name], columns.pop(by_day), _day_where_yes)
        if not_by in columns:
            elapsed = columns.get(column.name, columns[not_by])
            columns[column.name] = _joined(elapsed, columns.pop(not_by), _number_or_not_by)
    return replace(table, columns=columns)


def _day_where_yes(cell: object, by_day: object) -> object:
    return cell.date() if by_day == "yes" and isinstance(cell, datetime) else cell


def _number_or_not_by(cell: object, not_by: object) -> object:
    return f"not by {float(str(not_by)):.12g}" if not_by is not None else cell


def _joined(first: RawColumn, second: RawColumn, said: Callable[[object, object], object]) -> RawColumn:
    """One column of two, by the pairs of their distinct cells."""
    width = len(second.distinct) + 1
    pairs, codes = np.unique((first.codes + 1) * width + second.codes + 1, return_inverse=True)
    left = [None, *first.distinct]
    right = [None, *second.distinct]
    cells = np.empty(len(pairs), dtype=object)
    cells[:] = [said(left[pair // width], right[pair % width]) for pair in pairs]
    blank = np.array([cell is None for cell in cells], dtype=bool)
    return RawColumn(np.where(blank[codes], -1, codes).astype(np.int64), cells)
