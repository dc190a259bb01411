"""First-hour columns joined by identity: the exchange standard cannot carry them, a table can."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.grid import RawColumn, RawTable, Remark, raw_column
from neonatal_stats.season.records_map import TableMap
from neonatal_stats.season.words import read_text
from neonatal_stats.vocabulary.columns import column

IDENTITY = "newborn_id"
NEVER_JOINED = frozenset(("dam_id", "litter_id", "litter_size", "born_on"))


def joined_by_identity(births: RawTable, sheets: Sequence[RawTable], own: TableMap) -> RawTable:
    """Births with the further columns of sheets that name the same newborns.

    Parameters
    ----------
    births
        Newborns, with newborn_id.
    sheets
        Tables with newborn_id and columns of births; see `can_join`.
    own
        The map of births, for headings of the farm's own.

    Returns
    -------
    RawTable
        The same rows in the same order. A cell that births already holds stays; where the sheet says
        otherwise, and where it names a newborn twice or one that is not there, a remark says so.
    """
    for sheet in sheets:
        births = _joined(births, sheet, own)
    return births


def can_join(sheet: RawTable, own: TableMap) -> bool:
    """True for a table that names newborns and has columns of births, but neither dam nor litter."""
    meant = set(_meant(sheet, own))
    return IDENTITY in meant and len(meant) > 1 and not meant & NEVER_JOINED


def _joined(births: RawTable, sheet: RawTable, own: TableMap) -> RawTable:
    theirs, ours = _meant(sheet, own), _meant(births, own)
    if IDENTITY not in ours:
        return births
    row_of, twice = _row_by_identity(_identities(sheet.columns[theirs[IDENTITY]]))
    names = _identities(births.columns[ours[IDENTITY]])
    row = np.array([row_of.get(name, -1) if name else -1 for name in names], dtype=np.int64)
    columns, remarks = dict(births.columns), list(births.remarks + sheet.remarks)
    for name, heading in theirs.items():
        if name == IDENTITY:
            continue
        joined = _at(sheet.columns[heading], row)
        if name in ours:
            joined, differ = _filled(births.columns[ours[name]], joined)
            remarks += _about(
                sheet, name, differ, "cells say otherwise than the messages; the messages stand"
            )
        columns[ours.get(name, heading)] = joined
    known = {name for name in names if name}
    remarks += _about(
        sheet, IDENTITY, len(set(row_of) - known), "newborns are in no message; they were left out"
    )
    remarks += _about(sheet, IDENTITY, twice, "rows name a newborn a second time; the first row was used")
    return RawTable(
        births.file,
        births.sheet,
        columns,
        births.rows,
        births.sha256,
        tuple(remarks),
        births.table,
        births.decimal_comma,
    )


def _meant(table: RawTable, own: TableMap) -> dict[str, str]:
    """Tidy name to heading, for the headings that mean a column of births."""
    found = {own.column_of("births", heading): heading for heading in table.columns}
    return {name: heading for name, heading in found.items() if name}


def _identities(cells: RawColumn) -> list[str | None]:
    values = read_text(column("births", IDENTITY), cells).values
    return [None if code < 0 else values[code] for code in cells.codes]


def _row_by_identity(names: Sequence[str | None]) -> tuple[Mapping[str, int], int]:
    rows: dict[str, int] = {}
    twice = 0
    for row, name in enumerate(names):
        if name and name in rows:
            twice += 1
        elif name:
            rows[name] = row
    return rows, twice


def _at(cells: RawColumn, row: NDArray[np.int64]) -> RawColumn:
    """The sheet's cells at the births' rows, blank where the sheet does not name the newborn."""
    return RawColumn(np.where(row >= 0, cells.codes[row], -1), cells.distinct)


def _filled(first: RawColumn, second: RawColumn) -> tuple[RawColumn, int]:
    everywhere = np.arange(len(first.codes))
    pairs = list(zip(first.at(everywhere), second.at(everywhere), strict=True))
    differ = sum(a is not None and b is not None and str(a) != str(b) for a, b in pairs)
    return raw_column([b if a is None else a for a, b in pairs]), differ


def _about(sheet: RawTable, name: str, count: int, problem: str) -> list[Remark]:
    return (
        [Remark(name, f"{sheet.place}: {count} {problem}", "look for slips in the identities")]
        if count
        else []
    )
