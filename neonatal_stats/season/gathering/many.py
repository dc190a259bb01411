"""Rows that stand for many newborns: a column says how many alike, and each is given a row of its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from neonatal_stats.season.finding import CannotRead, Finding, say
from neonatal_stats.season.gathering.counted import numbers_of
from neonatal_stats.season.grid import RawTable, Remark
from neonatal_stats.season.map.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.farm_words import count_meant

MOST = 5_000
COUNT = "newborns_in_row"


def repeated(table: RawTable, own: TableMap) -> RawTable:
    """One row a newborn where the map says which column counts the newborns of a row; any other sheet as it is.

    Raises `CannotRead` where a heading sounds like such a column, holds numbers above 1 and the map does not say.
    """
    declared = [heading for heading in table.columns if own.columns.get(plain_heading(heading)) == COUNT]
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


def _ask(table: RawTable, own: TableMap) -> None:
    for heading, cells in table.columns.items():
        meant = own.columns.get(plain_heading(heading))
        if meant is not None or count_meant(heading) != COUNT or not (cells.codes >= 0).any():
            continue
        opens = {own.column_of("births", other) for other in table.columns} & {
            "died",
            "died_at",
            "dam_id",
            "born_alive",
        }
        numbers = numbers_of(cells)
        numbers = numbers[~np.isnan(numbers)]
        whole = len(numbers) > 0 and bool((numbers == np.floor(numbers)).all())
        if opens and whole and (numbers > 1).any():
            raise CannotRead(
                f'{table.place}: the column "{heading}" holds numbers above 1; if a row stands for that many newborns, say '
                f'in the map under [columns] "{heading}" = "{COUNT}", else "{heading}" = "".'
            )
