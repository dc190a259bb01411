"""Sheets with one row a dam and numbered columns for its newborns, unfolded to one row a newborn."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.finding import say
from neonatal_stats.season.grid import RawColumn, RawTable, Remark
from neonatal_stats.season.map.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.farm_words import folded, is_identity, newborn_nouns

YOUNG = rf"(?:{'|'.join(dict.fromkeys((*newborn_nouns(), 'cria', 'fawn')))})"
FORMS = tuple(
    re.compile(form)
    for form in (
        rf"{YOUNG}\s*(?:no\.?|nr\.?|#)?\s*(?P<n>[1-9])[\s:.,-]*(?P<stem>.*)",
        rf"(?P<stem>.+?)[\s:.,-]+(?:of )?{YOUNG}\s*(?:no\.?|nr\.?|#)?\s*(?P<n>[1-9])",
        r"(?P<stem>\D+?)[\s.-]*\(?(?P<n>[1-9])\)?",
        r"(?P<n>[1-9])[\s.:-]+(?P<stem>\D+)",
        r"(?P<stem>.+?)[\s.-]+(?P<n>[1-9])",
    )
)


def numbered(heading: str, own: TableMap) -> tuple[str, int] | None:
    """The tidy column and the number of the newborn that a heading means, or None."""
    spoken = plain_heading(heading)[:200]
    for pattern, meant in own.columns.items():
        if "{n}" in pattern and meant:
            form = re.escape(pattern).replace(r"\{n\}", "([1-9])")
            if found := re.fullmatch(form, spoken):
                return meant, int(found[1])
    if own.column_of("births", heading) is not None:
        return None
    for known in FORMS:
        if found := known.fullmatch(spoken) or known.fullmatch(folded(spoken)):
            stem = found["stem"].strip() or "newborn_id"
            name = own.column_of("births", stem)
            if not name and known in FORMS[:2] and is_identity(stem):
                name = "newborn_id"
            if name:
                return name, int(found["n"])
    return None


def unfolded(table: RawTable, own: TableMap) -> RawTable:
    """One row a newborn where the headings number newborns from 1 to 2 or more; any other sheet as it is."""
    places = {heading: place for heading in table.columns if (place := numbered(heading, own)) is not None}
    if not {1, 2} <= {number for _, number in places.values()}:
        return table
    numbers = sorted({number for _, number in places.values()})
    present = np.column_stack([_present(table, places, number) for number in numbers])
    for finding in table.findings:
        present[finding.at] = False
    present[~present.any(axis=1), 0] = True
    row, which = np.nonzero(present)
    columns = {h: c.take(row) for h, c in table.columns.items() if h not in places}
    for name in dict.fromkeys(name for name, _ in places.values()):
        columns[name] = _folded_out(table, places, name, numbers, row, which)
    first = np.searchsorted(row, np.arange(len(table.rows)))
    findings = tuple(replace(finding, at=first[finding.at]) for finding in table.findings)
    remark = Remark(
        "",
        say(
            "each row holds up to {most} newborns; {rows} rows were unfolded to {n} newborns",
            most=numbers[-1],
            rows=f"{len(table.rows):,}",
            n=f"{len(row):,}",
        ),
        say("nothing need be done; rows are numbered as in the sheet"),
    )
    return replace(
        table, columns=columns, rows=table.rows[row], findings=findings, remarks=(*table.remarks, remark)
    )


def _present(table: RawTable, places: Mapping[str, tuple[str, int]], number: int) -> NDArray[np.bool_]:
    """Rows in which any column of this newborn is filled."""
    filled = np.zeros(len(table.rows), dtype=bool)
    for heading, (_, of) in places.items():
        if of == number:
            filled |= table.columns[heading].codes >= 0
    return filled


def _folded_out(
    table: RawTable,
    places: Mapping[str, tuple[str, int]],
    name: str,
    numbers: list[int],
    row: NDArray[np.int64],
    which: NDArray[np.int64],
) -> RawColumn:
    """The column of one name over all newborns."""
    codes = np.full(len(row), -1, dtype=np.int64)
    distinct: list[object] = []
    for heading, (of_name, number) in places.items():
        if of_name != name:
            continue
        column = table.columns[heading]
        here = which == numbers.index(number)
        own = column.codes[row[here]]
        codes[here] = np.where(own >= 0, own + len(distinct), -1)
        distinct += list(column.distinct)
    cells = np.empty(len(distinct), dtype=object)
    cells[:] = distinct
    return RawColumn(codes, cells)
