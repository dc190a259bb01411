"""The ledger: the rows of one table while it is checked, in which one place each of them ended, the list of problems,
and those that are alike, told once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.parsed import tells
from neonatal_stats.season.cells.typed import TypedTable
from neonatal_stats.season.files.header import NO_NEWBORN
from neonatal_stats.season.finding import PROBLEM_COLUMNS, About, Ended, Finding, Said, say
from neonatal_stats.season.grid import RawColumn, RawTable, as_found, in_order_of
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import TABLES

WITH_MISSING, ASIDE, NO_RECORD = 1, 2, 3
PLACES = {"set to missing": WITH_MISSING, "set aside": ASIDE, "no record": NO_RECORD}
SAME = ("file", "sheet", "column", "problem", "remedy")
NO_ROW = ("", "<NA>", "nan", "None")


@dataclass(frozen=True)
class Balance:
    """Where the rows of one table ended; the four always add up to the rows read."""

    table: str
    rows_read: int
    used: int
    used_with_missing: int
    set_aside: int
    no_record: int = 0

    def __post_init__(self) -> None:
        if self.used + self.used_with_missing + self.set_aside + self.no_record != self.rows_read:
            raise ValueError(f"{self.table}: the rows read and the rows accounted for differ: {self}")


@dataclass(frozen=True)
class Source:
    """A file that was read: its name (with a folder only where names are alike), sheet, table, rows and SHA-256.

    ``lines`` is how many lines the file has (rows, of a workbook's sheet; messages, of an exchange file). Each is a
    line of records (``records``), no record, left out, a heading, a title above the headings, or blank.
    """

    file: str
    sheet: str
    table: str
    rows: int
    sha256: str
    lines: int = 0
    records: int = 0
    no_record: int = 0
    left_out: int = 0
    headings: int = 0
    titles: int = 0
    blank: int = 0

    @property
    def unaccounted(self) -> int:
        """Lines that stand in none of these places; anything but 0 means that lines were lost in reading."""
        known = self.records + self.no_record + self.left_out + self.headings + self.titles + self.blank
        return self.lines - known


class Ledger:
    """Keeps the balance of one table: used + used with a field missing + set aside + no record = rows read."""

    def __init__(self, table: str, origin: pd.DataFrame) -> None:
        """``origin`` has the file, sheet and row of every row that was read."""
        self.table = table
        self._origin = origin
        self._ended: NDArray[np.int8] = np.zeros(len(origin), dtype=np.int8)
        self._lines: list[pd.DataFrame] = []

    @property
    def kept(self) -> NDArray[np.bool_]:
        """True for the rows that are records and were not set aside."""
        return np.asarray(self._ended < ASIDE)

    def enter(self, finding: Finding) -> None:
        """Write a finding down and move its rows; a row already set aside stays there and is not named again.

        A row that turns out to be no record is named as that alone: what was found in its cells is struck out.
        """
        keep = self._ended[finding.at] < ASIDE
        at = finding.at[keep]  # noqa: PD008
        if not len(at):
            return
        if finding.ended == "no record":
            self._lines = [lines[~lines["at"].isin(at)] for lines in self._lines]
        self._lines.append(self._written(finding, keep))
        if finding.ended in PLACES:
            self._ended[at] = PLACES[finding.ended]

    def leave_out(self, keep: NDArray[np.bool_]) -> None:
        """Go on with some of the rows, as if the others had never been read."""
        place = np.where(keep, np.cumsum(keep) - 1, -1)
        moved = []
        for lines in self._lines:
            at = place[lines["at"].to_numpy()]
            moved.append(lines.assign(at=at)[at >= 0])
        self._lines = moved
        self._origin = self._origin.loc[keep].reset_index(drop=True)
        self._ended = self._ended[keep]

    def _written(self, finding: Finding, keep: NDArray[np.bool_]) -> pd.DataFrame:
        at = finding.at[keep]  # noqa: PD008
        about = [finding.about] * len(keep) if isinstance(finding.about, str) else finding.about
        each = [finding.problem] * len(keep) if isinstance(finding.problem, Said) else finding.problem
        problems = [problem for problem, kept in zip(each, keep, strict=True) if kept]
        return pd.DataFrame(
            {
                "at": at,
                "column": finding.column,
                "value": [as_found(v) for v, kept in zip(finding.values, keep, strict=True) if kept],
                "problem": pd.Series(problems, dtype=object),  # as they were said, not as bare text
                "remedy": pd.Series([finding.remedy] * len(at), dtype=object),
                "ended": finding.ended,
                "about": [touched for touched, kept in zip(about, keep, strict=True) if kept],
            }
        )

    def emptied(self, column: str) -> NDArray[np.bool_]:
        """True for the rows in which something was written in the column that was set to missing."""
        gone = np.zeros(len(self._ended), dtype=bool)
        for lines in self._lines:
            gone[lines["at"][(lines["column"] == column) & (lines["ended"] == "set to missing")]] = True
        return gone

    @property
    def no_record(self) -> NDArray[np.bool_]:
        """True for the rows that are no records."""
        return np.asarray(self._ended == NO_RECORD)

    @property
    def problems(self) -> pd.DataFrame:
        """What was entered, one finding after the other, each line with its file, sheet and row."""
        if not self._lines:
            return pd.DataFrame(columns=[*PROBLEM_COLUMNS, "about"], dtype=object)
        lines = pd.concat(self._lines, ignore_index=True)
        origin = self._origin.take(lines["at"].to_numpy()).reset_index(drop=True)
        return pd.concat([origin, lines], axis=1).assign(table=self.table)

    @property
    def open_outcomes(self) -> NDArray[np.object_]:
        """ "not written" or "not readable" for the rows set aside because of their outcome, else ""."""
        found = np.full(len(self._ended), "", dtype=object)
        for lines in self._lines:
            mine = lines[lines["about"].isin(OUTCOME[1:]) & (lines["ended"] == "set aside")]
            found[mine["at"].to_numpy()] = mine["about"].to_numpy()
        return found

    @property
    def balance(self) -> Balance:
        """Where the rows ended."""
        counts = np.bincount(self._ended, minlength=4)
        return Balance(self.table, len(self._ended), *(int(count) for count in counts))


Rule = Callable[[pd.DataFrame, Settings], Finding | None]
AmongKept = Callable[[pd.DataFrame], Finding | None]
"""A rule over the rows not yet set aside, which compares them with each other."""


class Gathered:
    """The sheets of one table, put under one another, while it is checked: its frame, its rows' origin and its ledger,
    and what stood beside it unread.
    """

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

    def enter_among_kept(self, rules: Iterable[AmongKept]) -> None:
        """Hold rules against the rows not yet set aside."""
        kept, among = self._kept()
        for rule in rules:
            finding = rule(among)
            if finding is not None and len(finding.at):
                self.enter(replace(finding, at=kept[finding.at]))
                kept, among = self._kept()

    def _kept(self) -> tuple[NDArray[np.int64], pd.DataFrame]:
        kept = np.flatnonzero(self.ledger.kept)
        whole = len(kept) == len(self.frame)
        return kept, self.frame if whole else self.frame.iloc[kept].reset_index(drop=True)

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
    stacked: dict[str, pd.Series] = {}
    for name in order:
        if len(frames) == 1:
            stacked[name] = frames[0][name]
            continue
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
    return cells.by_row(lambda cell: cell if tells(cell) else None, None)


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


def problem_list(parts: Iterable[pd.DataFrame], labels: Mapping[str, Mapping[int, str]]) -> pd.DataFrame:
    """All problems of all tables in one frame, in the order of the files' rows.

    ``labels`` holds, by file, the labels that stand for the numbers of its rows, where a frame has other labels.
    """
    parts = [part for part in parts if len(part)]
    if not parts:
        return pd.DataFrame({name: pd.Series(dtype=object) for name in PROBLEM_COLUMNS})
    found = pd.concat([part[list(PROBLEM_COLUMNS)].astype(object) for part in parts], ignore_index=True)
    order = ["table", "file", "sheet", "row", "column", "problem", "value"]
    found = found.take(in_order_of((found[name].to_numpy() for name in order), len(found)))
    found = found.reset_index(drop=True).astype({"row": "Int64"})
    for file, of_rows in labels.items():
        here = (found["file"] == file) & found["row"].notna()
        found["row"] = found["row"].astype(object).mask(here, found["row"].map(of_rows))
    return found


Line = tuple[str, str, str, None, str, str, Said, Said, Ended, About]


def remark(
    table: str,
    file: str,
    sheet: str,
    column: str,
    problem: Said,
    remedy: Said,
    ended: Ended = "noted",
    about: About = "",
) -> Line:
    """A line of the problem list about a file or a column as a whole; it moves no row."""
    return table, file, sheet, None, column, "", problem, remedy, ended, about


def told(remarks: Iterable[Line]) -> pd.DataFrame:
    """Remarks as lines of the problem list."""
    return pd.DataFrame(list(remarks), columns=[*PROBLEM_COLUMNS, "about"], dtype=object)


OUTCOME = ("outcome", "not written", "not readable")


def outcome_remarks(parts: Iterable[pd.DataFrame]) -> tuple[Said, ...]:
    """What touches the outcomes, one sentence for all rows of a file and column that share a problem."""
    touching = [part[part["about"].isin(OUTCOME)] for part in parts if len(part)]
    lines = pd.concat([part.astype(object) for part in touching]) if touching else pd.DataFrame()
    if lines.empty:
        return ()
    said = []
    for keys, here in lines.groupby(["file", "sheet", "column"], sort=False):
        file, sheet, column = (str(key) for key in keys)
        place = ", ".join(text for text in (file, f"sheet {sheet}" if sheet else "", column) if text)
        for _, alike in here.groupby("problem", sort=False):
            problem = alike["problem"].iloc[0]
            if alike["row"].isna().all():
                said.append(say("{place}: {problem}", place=place, problem=problem))
            else:
                said.append(
                    say("{place}: {problem} (rows: {n})", place=place, problem=problem, n=f"{len(alike):,}")
                )
    return tuple(said)


def undecided(births: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    """Births whose outcome is not known, counted for each farm and season; see `Season.undecided`."""
    open_ = ledger.open_outcomes
    if not (open_ != "").any():
        names = ("born", "not_written", "not_readable")
        none = {"farm": np.empty(0, dtype=object), "season": np.empty(0, dtype=object)}
        return pd.DataFrame(none | {name: np.empty(0, dtype=np.int64) for name in names})
    counts = births[["farm", "season"]].assign(
        born=ledger.kept | (open_ != ""),
        not_written=open_ == "not written",
        not_readable=open_ == "not readable",
    )
    summed = counts.groupby(["farm", "season"], as_index=False).sum()
    return summed[summed["not_written"] + summed["not_readable"] > 0].reset_index(drop=True)


@dataclass(frozen=True)
class Matter:
    """One problem: where, in which rows, what was found there how often (the commonest first), and how to mend it.

    ``problem`` and ``remedy`` keep their templates, see `season.finding.Said`.
    """

    file: str
    sheet: str
    column: str
    problem: str
    remedy: str
    rows: tuple[str, ...]
    found: tuple[tuple[str, int], ...]


def matters(problems: pd.DataFrame, ended: str) -> tuple[Matter, ...]:
    """The problems of a season (`Season.problems`) that ended in one way, those that are alike together."""
    alike = problems[problems["ended"] == ended]
    return tuple(_matter(rows) for _, rows in alike.groupby(list(SAME), sort=False, dropna=False))


def _matter(alike: pd.DataFrame) -> Matter:
    first = alike.iloc[0]
    file, sheet, column = ("" if pd.isna(first[name]) else str(first[name]) for name in SAME[:3])
    return Matter(
        file,
        sheet,
        column,
        first["problem"],
        first["remedy"],
        tuple(str(row) for row in alike["row"] if str(row) not in NO_ROW),
        tuple(Counter(str(value) for value in alike["value"] if str(value)).most_common()),
    )
