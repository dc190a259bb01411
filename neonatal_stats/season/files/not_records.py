"""Rows of a sheet that are no records: headings printed again, and totals."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.finding import Finding
from neonatal_stats.season.grid import RawTable

TOTALS = frozenset(("total", "totals", "sum", "subtotal", "grand total", "mean", "average", "count"))


def rows_that_are_no_records(table: RawTable) -> tuple[Finding, ...]:
    """Findings for rows that repeat the headings and for rows of totals."""
    again, totals = _headings_again(table), _totals(table)
    found = []
    if again.size:
        found.append(_aside(table, again, "the headings stand here again", "nothing need be done"))
    if totals.size:
        found.append(_aside(table, totals, "a row of totals is no newborn", "keep totals out of the records"))
    return tuple(found)


def _aside(table: RawTable, at: NDArray[np.int64], problem: str, remedy: str) -> Finding:
    first = next(iter(table.columns.values()))
    return Finding(at, "", first.at(at), problem, remedy, "set aside")


def _headings_again(table: RawTable) -> NDArray[np.int64]:
    """Rows of which two or more cells, and at least half of those filled, equal their own headings."""
    equal, filled = np.zeros(len(table.rows), dtype=int), np.zeros(len(table.rows), dtype=int)
    for heading, column in table.columns.items():
        same = np.array([str(cell).casefold() == heading.casefold() for cell in column.distinct] + [False])
        equal += same[column.codes]
        filled += column.codes >= 0
    return np.flatnonzero((equal >= 2) & (2 * equal >= filled)).astype(np.int64)


def _totals(table: RawTable) -> NDArray[np.int64]:
    """Rows with a word for a total in a cell of their own and nothing that names a newborn."""
    total = np.zeros(len(table.rows), dtype=bool)
    for column in table.columns.values():
        words = [isinstance(cell, str) and cell.casefold().rstrip(":") in TOTALS for cell in column.distinct]
        total |= np.array([*words, False])[column.codes]
    return np.flatnonzero(total).astype(np.int64)
