"""The ledger: in which one place each row ended, the list of problems, and those that are alike, told once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import About, Ended, Finding, Said, say, spelled

PROBLEM_COLUMNS = ("table", "file", "sheet", "row", "column", "value", "problem", "remedy", "ended")
"""One row per problem; ``ended`` is "set aside", "set to missing", "no record" (a line that is none: a footnote, a
total, a repeated heading), "asked" (used as it stands, but all is not well with it) or "noted" (worth a look).

``problem`` and ``remedy`` are English text that keeps its template and what was filled in, see `season.finding.Said`.
"""
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

    @property
    def no_record(self) -> NDArray[np.bool_]:
        """True for the rows that are no records."""
        return np.asarray(self._ended == NO_RECORD)

    @property
    def problems(self) -> list[pd.DataFrame]:
        """What was entered, one frame a finding, each line with its file, sheet and row."""
        full = []
        for lines in self._lines:
            origin = self._origin.take(lines["at"].to_numpy()).reset_index(drop=True)
            full.append(pd.concat([origin, lines.reset_index(drop=True)], axis=1).assign(table=self.table))
        return full

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


def problem_list(parts: Iterable[pd.DataFrame], labels: Mapping[str, Mapping[int, str]]) -> pd.DataFrame:
    """All problems of all tables in one frame, in the order of the files' rows.

    ``labels`` holds, by file, the labels that stand for the numbers of its rows, where a frame has other labels.
    """
    parts = [part for part in parts if len(part)]
    if not parts:
        return pd.DataFrame({name: pd.Series(dtype=object) for name in PROBLEM_COLUMNS})
    columns = list(PROBLEM_COLUMNS)
    found = pd.concat([part[columns].astype(object) for part in parts], ignore_index=True)
    found["row"] = found["row"].astype("Int64")
    order = ["table", "file", "sheet", "row", "column", "problem", "value"]
    found = found.sort_values(order, kind="stable", ignore_index=True)
    for file, of_rows in labels.items():
        here = (found["file"] == file) & found["row"].notna()
        found["row"] = found["row"].astype(object).mask(here, found["row"].map(of_rows))
    return found


def remark(
    table: str,
    file: str,
    sheet: str,
    column: str,
    problem: Said,
    remedy: Said,
    ended: Ended = "noted",
    about: About = "",
) -> pd.DataFrame:
    """A line of the problem list about a file or a column as a whole; it moves no row."""
    line = (table, file, sheet, None, column, "", problem, remedy, ended, about)
    return pd.DataFrame([line], columns=[*PROBLEM_COLUMNS, "about"], dtype=object)


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
    frame = births[["farm", "season"]].apply(spelled)
    open_ = ledger.open_outcomes
    counts = frame.assign(
        born=ledger.kept | (open_ != ""),
        not_written=open_ == "not written",
        not_readable=open_ == "not readable",
    )
    summed = counts.groupby(["farm", "season"], as_index=False).sum()
    return summed[summed["not_written"] + summed["not_readable"] > 0].reset_index(drop=True)


def as_found(value: object) -> str:
    """A cell as it is printed in the problem list: shortened, on one line, whole numbers without ".0"."""
    if value is None or value is pd.NaT or value is pd.NA:
        return ""
    if isinstance(value, float):
        return "" if np.isnan(value) else f"{value:.15g}"
    if isinstance(value, pd.Timestamp):
        return f"{value:%Y-%m-%d}" if value == value.normalize() else f"{value:%Y-%m-%d %H:%M}"
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    text = " ".join(str(value).split())
    return text if len(text) <= 120 else text[:117] + "..."


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
