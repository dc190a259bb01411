"""What became of the lines of every file: of records, no record, left out, headings, titles, blank."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from neonatal_stats.season.gathering.gathered import Gathered
from neonatal_stats.season.gathering.sheets import Sheets
from neonatal_stats.season.grid import RawTable
from neonatal_stats.season.model import Source


def sources_of(sheets: Sheets, tables: Sequence[Gathered]) -> tuple[Source, ...]:
    """Every sheet with its lines, once the checks have said which rows are no records.

    Of a sheet that a table was made of, a row is no record where each newborn made of it is none.
    """
    return tuple(_source(name, raw, tables) for name, raw in sheets.found)


def _source(name: str, raw: RawTable, tables: Sequence[Gathered]) -> Source:
    every = set(raw.rows.tolist())
    none = {row for table in tables if table.table == name for row in _no_records(table, raw)} & every
    return Source(
        raw.file,
        raw.sheet,
        name,
        len(raw.rows),
        raw.sha256,
        lines=raw.lines.total,
        records=(_lines(raw, every - none) if name else 0) + raw.lines.joined,
        no_record=_lines(raw, none),
        left_out=(0 if name else _lines(raw, every)) + raw.lines.unused,
        headings=raw.lines.headings,
        titles=raw.lines.titles,
        blank=raw.lines.blank,
    )


def _no_records(table: Gathered, raw: RawTable) -> set[int]:
    here = ((table.origin["file"] == raw.file) & (table.origin["sheet"] == raw.sheet)).to_numpy()
    rows, none = table.origin["row"].to_numpy()[here], table.ledger.no_record[here]
    return set(np.unique(rows[none]).tolist()) - set(np.unique(rows[~none]).tolist())


def _lines(raw: RawTable, rows: set[int]) -> int:
    return len(rows) + sum(span - 1 for row, span in raw.spans.items() if row in rows)
