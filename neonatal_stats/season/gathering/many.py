"""Rows that stand for many newborns: a column says how many alike, and each is given a row of its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from neonatal_stats.season.finding import CannotRead, Finding, say
from neonatal_stats.season.gathering.counted import numbers_of
from neonatal_stats.season.gathering.wide import numbered
from neonatal_stats.season.grid import RawTable, Remark
from neonatal_stats.season.map.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.farm_words import count_meant

MOST = 5_000
PROVEN = 0.95
COUNT = "newborns_in_row"


def repeated(table: RawTable, own: TableMap) -> RawTable:
    """One row a newborn where a column counts the newborns of a row, as the map says or the litter sizes prove.

    Raises `CannotRead` where a heading sounds like such a column, holds numbers above 1 and the map does not say.
    """
    declared = [heading for heading in table.columns if own.columns.get(plain_heading(heading)) == COUNT]
    if not declared:
        declared = proven_counts(table, own)[:1]
    if not declared:
        _ask(table, own)
        return table
    heading = declared[0]
    numbers = numbers_of(table.columns[heading])
    wrong = np.isnan(numbers) | (numbers < 0) | (numbers > MOST) | (numbers != np.floor(numbers))
    named = _named(table, own) & (numbers > 1)
    for finding in table.findings:
        wrong[finding.at] = named[finding.at] = False
        numbers[finding.at] = 1
    times = np.where(wrong | named, 1, np.nan_to_num(numbers)).astype(np.int64)
    row = np.repeat(np.arange(len(table.rows)), times)
    first = np.searchsorted(row, np.arange(len(table.rows)))
    findings = [replace(finding, at=first[finding.at]) for finding in table.findings]
    for mask, problem in (
        (wrong, say("it is not said how many newborns the row stands for")),
        (named, say("the row stands for several newborns and yet names one")),
    ):
        at = np.flatnonzero(mask)
        cells = table.columns[heading].at(at)
        remedy = say("write a whole number of newborns, or one row for each of them")
        findings.append(Finding(first[at].astype(np.int64), heading, cells, problem, remedy, "set aside"))
    remark = Remark(
        heading,
        say(
            "each row stands for as many newborns as this column says, all alike: {rows} rows became {n} newborns",
            rows=f"{len(table.rows):,}",
            n=f"{len(row):,}",
        ),
        say("nothing need be done; rows are numbered as in the sheet"),
    )
    return replace(
        table,
        columns={h: cells.take(row) for h, cells in table.columns.items() if h != heading},
        rows=table.rows[row],
        findings=tuple(finding for finding in findings if len(finding.at)),
        remarks=(*table.remarks, remark),
    )


def _named(table: RawTable, own: TableMap) -> np.ndarray:
    named = np.zeros(len(table.rows), dtype=bool)
    for heading, cells in table.columns.items():
        if own.column_of("births", heading) == "newborn_id":
            named |= cells.codes >= 0
    return named


def proven_counts(table: RawTable, own: TableMap) -> list[str]:
    """Columns that nobody knows whose numbers, summed over a dam's rows, give the litter size where the rows do not."""
    by_name = {own.column_of("births", heading): cells for heading, cells in table.columns.items()}
    if "litter_size" not in by_name or "dam_id" not in by_name or _named(table, own).any():
        return []
    size = numbers_of(by_name["litter_size"])
    days = [by_name[name].codes for name in ("season", "born_at", "born_on") if name in by_name]
    _, litter = np.unique(np.column_stack([by_name["dam_id"].codes, *days]), axis=0, return_inverse=True)
    litter = litter.reshape(-1)
    known = (by_name["dam_id"].codes >= 0) & np.isfinite(size)
    found = []
    for heading in open_counts(table, own):
        numbers = np.nan_to_num(numbers_of(table.columns[heading]))
        summed, rows = np.bincount(litter, numbers)[litter], np.bincount(litter)[litter]
        if known.any() and (summed == size)[known].mean() >= PROVEN > (rows == size)[known].mean():
            found.append(heading)
    return found


def open_counts(table: RawTable, own: TableMap) -> list[str]:
    """Columns that nobody knows and that hold whole numbers from 1 on in every row, some above 1."""
    found = []
    for heading, cells in table.columns.items():
        if own.columns.get(plain_heading(heading)) is not None or not (cells.codes >= 0).any():
            continue
        if own.column_of("births", heading) is not None or numbered(heading, own) is not None:
            continue
        numbers = numbers_of(cells)
        filled = numbers[cells.codes >= 0]
        whole = bool((filled == np.floor(filled)).all() and (filled >= 1).all() and (filled > 1).any())
        if whole and len(filled) >= PROVEN * len(numbers):
            found.append(heading)
    return found


def _ask(table: RawTable, own: TableMap) -> None:
    opens = {own.column_of("births", heading) for heading in table.columns}
    if not opens & {"died", "died_at", "dam_id", "born_alive"}:
        return
    for heading in open_counts(table, own):
        if count_meant(heading) == COUNT:
            raise CannotRead(
                f'{table.place}: the column "{heading}" holds numbers above 1; if a row stands for that many newborns, '
                f'say in the map under [columns] "{heading}" = "{COUNT}", else "{heading}" = "".'
            )
