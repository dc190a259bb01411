"""The sheets of one table put under one another, each row with its origin and its place in the ledger."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.parsed import tells
from neonatal_stats.season.cells.typed import TypedTable
from neonatal_stats.season.files.header import NO_NEWBORN
from neonatal_stats.season.finding import Finding, say
from neonatal_stats.season.grid import RawColumn, RawTable, objects
from neonatal_stats.season.ledger import Ledger, Source
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import TABLES

Rule = Callable[[pd.DataFrame, Settings], Finding | None]


class Gathered:
    """One table while it is checked: its frame, its rows' origin and its ledger, and what stood beside it unread."""

    def __init__(self, table: str, parts: Sequence[TypedTable]) -> None:
        """Put the parts under one another and enter what their cells' readers found."""
        self.table = table
        self.frame = _stacked(table, parts)
        self.origin = _origin(parts)
        self.beside = _beside(parts)
        self.ledger = Ledger(table, self.origin)
        offset = 0
        for part in parts:
            for finding in part.findings:
                self.enter(_of_mobs(finding.moved(offset)) if table == "mobs" else finding.moved(offset))
            offset += len(part.frame)

    def enter(self, finding: Finding | None) -> None:
        """Write a finding down and empty the cells that it clears."""
        if finding is None or not len(finding.at):
            return
        self.ledger.enter(finding)
        for column in finding.cleared:
            if column in self.frame:
                clear(self.frame, finding.at, column)

    def enter_all(self, findings: Iterable[Finding | None]) -> None:
        """Enter one after the other; a rule that makes them one at a time sees what those before it cleared."""
        for finding in findings:
            self.enter(finding)

    def enter_among_kept(self, rules: Iterable[Rule], settings: Settings) -> None:
        """Hold rules against the rows not yet set aside, for rules that compare rows with each other."""
        kept, among = self._kept()
        for rule in rules:
            finding = rule(among, settings)
            if finding is not None and len(finding.at):
                self.enter(replace(finding, at=kept[finding.at]))
                kept, among = self._kept()

    def _kept(self) -> tuple[NDArray[np.int64], pd.DataFrame]:
        kept = np.flatnonzero(self.ledger.kept)
        whole = len(kept) == len(self.frame)
        return kept, self.frame.copy(deep=False) if whole else self.frame.iloc[kept].reset_index(drop=True)

    def only(self, keep: NDArray[np.bool_]) -> None:
        """Go on with some of the rows, as if the others had never been read."""
        self.ledger.leave_out(keep)
        self.frame = self.frame.loc[keep].reset_index(drop=True)
        self.origin = self.origin.loc[keep].reset_index(drop=True)
        self.beside = self.beside.loc[keep].reset_index(drop=True)

    def values(self, at: NDArray[np.int64], column: str) -> list[object]:
        """The typed values at some rows, for the problem list."""
        return self.frame[column].take(at).tolist()


def _of_mobs(finding: Finding) -> Finding:
    """What was said of a sheet's totals before anybody knew that it counts mobs."""
    if finding.problem == NO_NEWBORN:
        return replace(finding, problem=say("a row of totals is no mob"))
    return finding


def clear(frame: pd.DataFrame, at: NDArray[np.int64], column: str) -> None:
    """Set cells to missing, in the manner of the column's type."""
    gone = np.zeros(len(frame), dtype=bool)
    gone[at] = True
    if frame[column].dtype == object:
        frame[column] = frame[column].where(~gone, None)
    else:
        frame[column] = frame[column].mask(gone)


def _stacked(table: str, parts: Sequence[TypedTable]) -> pd.DataFrame:
    """One frame in the vocabulary's order of columns; a column that only some sheets have is blank in the others."""
    frames = [part.frame for part in parts]
    found = dict.fromkeys(str(name) for frame in frames for name in frame)
    names = [c.name for c in TABLES[table]]
    order = sorted(found, key=lambda name: (names.index(name.partition("|")[0]), name))
    stacked: dict[str, object] = {}
    for name in order:
        dtype = next(frame[name].dtype for frame in frames if name in frame)
        missing = False if dtype.kind == "b" and dtype != "boolean" else pd.NA if dtype == "boolean" else None
        pieces = [
            frame[name] if name in frame else pd.Series([missing] * len(frame), dtype=dtype)
            for frame in frames
        ]
        stacked[name] = pd.concat(pieces, ignore_index=True)
    rows = sum(len(frame) for frame in frames)
    return pd.DataFrame(stacked, index=range(rows))


def _origin(parts: Sequence[TypedTable]) -> pd.DataFrame:
    sizes = [len(part.frame) for part in parts]
    rows = [part.raw.rows for part in parts]
    return pd.DataFrame(
        {
            "file": np.repeat(np.array([part.raw.file for part in parts], dtype=object), sizes),
            "sheet": np.repeat(np.array([part.raw.sheet for part in parts], dtype=object), sizes),
            "row": np.concatenate(rows) if rows else np.array([], dtype=np.int64),
        }
    )


def _beside(parts: Sequence[TypedTable]) -> pd.DataFrame:
    """The cells of columns that mean nothing here, under their own headings; a column of numbers alone is numeric."""
    found: dict[str, pd.Series] = {}
    for heading in dict.fromkeys(heading for part in parts for heading in part.beside):
        pieces = [
            _telling(part.beside[heading])
            if heading in part.beside
            else np.full(len(part.frame), None, dtype=object)
            for part in parts
        ]
        cells = pd.Series(np.concatenate(pieces), dtype=object)
        distinct = pd.Series(cells.unique(), dtype=object)
        alone = pd.to_numeric(distinct, errors="coerce").notna().equals(distinct.notna())
        found[heading] = pd.to_numeric(cells, errors="coerce") if alone else cells
    return pd.DataFrame(found, index=range(sum(len(part.frame) for part in parts)))


def _telling(cells: RawColumn) -> NDArray[np.object_]:
    """A column's cells row by row; None for a word for "not recorded"."""
    return cells.spread(objects([cell if tells(cell) else None for cell in cells.distinct]), None)


def sources_of(sheets: Sequence[tuple[str, RawTable]], tables: Sequence[Gathered]) -> tuple[Source, ...]:
    """Every sheet with its lines, once the checks have said which rows are no records.

    Of a sheet that a table was made of, a row is no record where each newborn made of it is none.
    """
    return tuple(_source(name, raw, tables) for name, raw in sheets)


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
    if not none.any():
        return set()
    return set(np.unique(rows[none]).tolist()) - set(np.unique(rows[~none]).tolist())


def _lines(raw: RawTable, rows: set[int]) -> int:
    return len(rows) + sum(span - 1 for row, span in raw.spans.items() if row in rows)
