"""First-hour columns joined by identity: the exchange standard cannot carry them, a table can."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.parsed import read_text
from neonatal_stats.season.finding import Said, say
from neonatal_stats.season.grid import RawColumn, RawTable, Remark, raw_column
from neonatal_stats.season.records_map import TableMap
from neonatal_stats.vocabulary.columns import column

IDENTITY = "newborn_id"
OUTCOMES = frozenset(("died", "died_at", "found_dead_at", "born_alive"))
Named = tuple[str, RawTable]


def with_first_hours(tables: Sequence[Named], own: TableMap) -> list[Named]:
    """The tables, each named; sheets that only add columns to newborns of exchange messages joined to them.

    A sheet is joined where it names newborns and tells no outcome; it then is no table of its own any more. Where
    no exchange message holds a birth, the tables come back as they are.
    """
    births = [raw for name, raw in tables if name == "births" and _exchanged(raw)]
    sheets = [
        raw for name, raw in tables if name in ("", "births") and not _exchanged(raw) and can_join(raw, own)
    ]
    if not births or not sheets:
        return list(tables)
    others = [(name, raw) for name, raw in tables if raw not in births and raw not in sheets]
    return [*(("births", raw) for raw in joined_by_identity(births, sheets, own)), *others]


def joined_by_identity(
    births: Sequence[RawTable], sheets: Sequence[RawTable], own: TableMap
) -> list[RawTable]:
    """Births with the further columns of sheets that name the same newborns.

    Parameters
    ----------
    births
        Newborns, with newborn_id, in one or several tables.
    sheets
        Tables with newborn_id and columns of births; see `can_join`.
    own
        The map of births, for headings of the farm's own.

    Returns
    -------
    list of RawTable
        The same rows in the same order. A cell that births already holds stays; where a sheet says otherwise,
        and where it names a newborn twice or one that is not there, a remark on the first table says so.
    """
    for sheet in sheets:
        row_of, twice = _row_by_identity(_identities(sheet.columns[_meant(sheet, own)[IDENTITY]]))
        joined = [_joined(table, sheet, row_of, own) for table in births]
        strangers = len(set(row_of) - {name for table in births for name in _names(table, own)})
        strange = say(
            "{place}: {n} newborns are in no message; they were left out", place=sheet.place, n=strangers
        )
        again = say(
            "{place}: {n} rows name a newborn a second time; the first row was used",
            place=sheet.place,
            n=twice,
        )
        remarks = (*_slips(IDENTITY, strangers, strange), *_slips(IDENTITY, twice, again))
        births = [joined[0].remarked(*sheet.remarks, *remarks), *joined[1:]]
    return list(births)


def can_join(sheet: RawTable, own: TableMap) -> bool:
    """True for a table that names newborns, has other columns of births and tells no outcome."""
    meant = set(_meant(sheet, own))
    return IDENTITY in meant and len(meant) > 1 and not meant & OUTCOMES


def _exchanged(raw: RawTable) -> bool:
    return raw.file.casefold().endswith(".json")


def _joined(births: RawTable, sheet: RawTable, row_of: Mapping[str, int], own: TableMap) -> RawTable:
    theirs, ours = _meant(sheet, own), _meant(births, own)
    names = _names(births, own)
    row = np.array([row_of.get(name, -1) if name else -1 for name in names], dtype=np.int64)
    columns, remarks = dict(births.columns), []
    for name, heading in theirs.items():
        if name == IDENTITY:
            continue
        cells = _at(sheet.columns[heading], row)
        if name in ours:
            cells, differ = _filled(births.columns[ours[name]], cells)
            said = say(
                "{place}: {n} cells say otherwise than the messages; the messages stand",
                place=sheet.place,
                n=differ,
            )
            remarks += _slips(name, differ, said)
        columns[ours.get(name, heading)] = cells
    return births.remarked(*remarks, columns=columns)


def _names(births: RawTable, own: TableMap) -> list[str | None]:
    heading = _meant(births, own).get(IDENTITY)
    return _identities(births.columns[heading]) if heading else [None] * len(births.rows)


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


def _slips(name: str, count: int, problem: Said) -> list[Remark]:
    """The remark, where there is anything to remark."""
    return [Remark(name, problem, say("look for slips in the identities"))] if count else []
