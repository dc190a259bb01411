"""What the rows of a births sheet stand for: newborns of their own, or litters, told by the dams and by the columns."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.believed import believed
from neonatal_stats.season.cells.parsed import is_nothing
from neonatal_stats.season.grid import RawColumn, RawTable
from neonatal_stats.season.map.records_map import TableMap

OF_NEWBORN = (
    "newborn_id",
    "sex",
    "birth_order",
    "birth_weight_kg",
    "born_alive",
    "died",
    "died_at",
    "found_dead_at",
)
"""Columns that only a row of one newborn can fill with a word or a number of its own."""
SEVERAL = 0.2
Rows = NDArray[np.int64]


def heading_of(table: RawTable, own: TableMap, name: str) -> str | None:
    """The sheet's first heading that means this column of births; a tidy one or one of the map before others."""
    meant = [heading for heading in table.columns if own.column_of("births", heading) == name]
    found = [heading for heading in meant if believed("births", heading, table, own) == name]
    return min(found, key=lambda heading: own.only_spoken("births", heading), default=None)


def is_filled(table: RawTable, own: TableMap, name: str) -> bool:
    """True where the sheet has that column of births, with any value."""
    heading = heading_of(table, own, name)
    return heading is not None and bool((table.columns[heading].codes >= 0).any())


def days(cells: RawColumn) -> Rows:
    """Codes of what stands before the first space of each cell: the day, whatever form it has; -1 where blank."""
    words = [str(cell).replace("T", " ").partition(" ")[0] for cell in cells.distinct]
    codes: Rows = np.append(np.unique(words, return_inverse=True)[1], -1)[cells.codes].astype(np.int64)
    return codes


def dams(table: RawTable, own: TableMap) -> Rows | None:
    """Codes of the sheet's dams, those of one farm, season and day of birth alike; -1 where none is named.

    None where no column is known to name the dam or the litter.
    """
    named = [name for name in ("dam_id", "litter_id") if is_filled(table, own, name)]
    if not named:
        return None
    dam = table.columns[str(heading_of(table, own, named[0]))]
    nobody = np.array([*(is_nothing(cell) for cell in dam.distinct), True])[dam.codes]
    code = dam.codes.copy()
    for name in ("farm", "season", "born_at", "born_on"):
        if heading := heading_of(table, own, name):
            column = table.columns[heading]
            part = days(column) if name.startswith("born") else column.codes
            code = np.unique(code * (part.max() + 2) + part + 1, return_inverse=True)[1]
    return np.where(nobody, -1, code).astype(np.int64)


def one_row_a_dam(code: Rows) -> bool:
    """True where hardly any dam stands on two rows of one day."""
    known = code[code >= 0]
    if not len(known):
        return False
    rows = np.bincount(known)
    return bool(rows[rows > 1].sum() <= SEVERAL * len(known))


def row_names(table: RawTable, row: Rows, code: Rows | None) -> RawColumn:
    """A litter's identity for rows unfolded from one row whose dam is not known: the place of that row."""
    unnamed = np.ones(len(table.rows), dtype=bool) if code is None else code < 0
    names = np.empty(len(table.rows), dtype=object)
    names[:] = [f"{table.place}, row {number}" for number in table.rows]
    return RawColumn(np.where(unnamed[row], row, -1).astype(np.int64), names)
