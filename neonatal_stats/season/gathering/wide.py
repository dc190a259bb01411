"""Sheets with one row a dam and numbered columns for its newborns, unfolded to one row a newborn."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.finding import CannotRead, say
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.grid import RawColumn, RawTable, Remark
from neonatal_stats.season.map.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.columns import OF_LITTER
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
    """The tidy column and the number of the newborn that a heading means, or None; no column of the dam or litter."""
    if found := _declared(heading, own):
        return found
    if own.column_of("births", heading) is not None:
        return None
    for known in FORMS:
        spoken = plain_heading(heading)[:200]
        if form := known.fullmatch(spoken) or known.fullmatch(folded(spoken)):
            stem = form["stem"].strip() or "newborn_id"
            name = own.column_of("births", stem)
            if not name and known in FORMS[:2] and is_identity(stem):
                name = "newborn_id"
            if name and name not in OF_LITTER:
                return name, int(form["n"])
    return None


def _declared(heading: str, own: TableMap) -> tuple[str, int] | None:
    """As a pattern of the map says: "lamb {n} sex" = "sex"."""
    for pattern, meant in own.columns.items():
        if "{n}" in pattern and meant:
            form = re.escape(pattern).replace(r"\{n\}", "([1-9])")
            if found := re.fullmatch(form, plain_heading(heading)[:200]):
                return meant, int(found[1])
    return None


def unfolded(table: RawTable, own: TableMap) -> RawTable:
    """One row a newborn where the headings number newborns from 1 to 2 or more; any other sheet as it is.

    Raises
    ------
    CannotRead
        Where columns for each newborn stand beside one that says what became of the row's only newborn.
    """
    places = {heading: place for heading in table.columns if (place := numbered(heading, own)) is not None}
    if not {1, 2} <= {number for _, number in places.values()} or not _of_newborns(table, own, places):
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
    if litters.heading_of(table, own, "litter_id") is None:
        columns["litter_id"] = litters.row_names(table, row, litters.dams(table, own))
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


def _of_newborns(table: RawTable, own: TableMap, places: Mapping[str, tuple[str, int]]) -> bool:
    """True where the numbers count newborns, not causes, weighings or visits of one newborn.

    The map says so; or each number has columns of a newborn, no column of a newborn stands without a number, and each
    dam has one row.
    """
    if any(_declared(heading, own) for heading in places):
        return True
    spoken = all(re.search(rf"\b{YOUNG}", folded(heading)) for heading in places)
    if not all(
        _a_newborn({name for name, of in places.values() if of == number}, spoken) for number in (1, 2)
    ):
        return False
    code = litters.dams(table, own)
    alone = [name for name in litters.OF_NEWBORN if litters.is_filled(table, own, name)]
    if alone and spoken and not (code is not None and not litters.one_row_a_dam(code)):
        raise CannotRead(
            f'{table.place}: it has columns for each newborn of a row ("{next(iter(places))}") and one for the row '
            f'("{litters.heading_of(table, own, alone[0])}"); say in the map under [columns] which of them belong '
            'to the records, and leave the others out with = "".'
        )
    if alone or (code is not None and not litters.one_row_a_dam(code)):
        return False
    unknown = [h for h in table.columns if h not in places and own.column_of("births", h) is None]
    if code is None and unknown:
        raise CannotRead(
            f"{table.place}: each row holds several newborns, and no column is known to name their dam; say in the map "
            f'under [columns] which heading is dam_id ({", ".join(unknown[:3])}), or leave the others out with = "".'
        )
    return True


def _a_newborn(names: set[str], spoken: bool) -> bool:
    """Columns enough to know a newborn by: an outcome or identity, or two others; one where the heading names it."""
    told = names & {"newborn_id", "born_alive", "died", "died_at", "found_dead_at"}
    return bool(told) or len(names) >= 2 or (spoken and bool(names & {*litters.OF_NEWBORN, "cause"}))


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
