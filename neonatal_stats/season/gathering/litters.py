"""What the rows of a births sheet stand for: newborns of their own, or litters, told by the dams and by the columns.

A sheet with one row a dam and numbered columns for its newborns is unfolded to one row a newborn. So are cells that
hold a whole litter, "ok/dead/dead" beside "E/R/E", but only where the parts of what became of them are as many as those
of another column, or as the litter's size; "1 SB, 1 died" is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.dates import take_apart
from neonatal_stats.season.cells.parsed import tells
from neonatal_stats.season.cells.typed import believed
from neonatal_stats.season.finding import CannotRead, Finding, say, where
from neonatal_stats.season.gathering.dead_counts import MOST
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, Remark, Rows, numbers, objects, raw_column
from neonatal_stats.season.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.columns import BIRTHS, OF_LITTER
from neonatal_stats.vocabulary.columns import heading_of as heading_of_column
from neonatal_stats.vocabulary.farm_words import count_meant, is_identity, newborn_nouns
from neonatal_stats.vocabulary.fates import asks_for
from neonatal_stats.vocabulary.heading_words import NUMBER, number_of, numbers_spelt
from neonatal_stats.vocabulary.spelling import bare_words
from neonatal_stats.vocabulary.units import turn

OF_NEWBORN: tuple[str, ...] = ("newborn_id", "sex", "birth_order", "birth_weight_kg")
OF_NEWBORN += ("born_alive", "died", "died_at", "found_dead_at")
"""Columns that only a row of one newborn can fill with a word or a number of its own."""
SEVERAL = 0.2
Findings = Sequence[Finding]
Places = Mapping[str, tuple[str, int]]
"""Headings with the tidy column and the number of the newborn that they mean."""
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


def heading_of(table: RawTable, own: TableMap, name: str) -> str | None:
    """The sheet's first heading that means this column of births; a tidy one or one of the map before others."""
    meant = [heading for heading in table.columns if own.column_of("births", heading) == name]
    found = [heading for heading in meant if believed("births", heading, table, own) == name]
    return min(found, key=lambda heading: own.only_spoken("births", heading), default=None)


def is_filled(table: RawTable, own: TableMap, name: str) -> bool:
    """True where the sheet has that column of births, with any value."""
    heading = heading_of(table, own, name)
    return heading is not None and bool(table.columns[heading].filled.any())


def days(cells: RawColumn) -> Rows:
    """Codes of what stands before the first space of each cell: the day, whatever form it has; -1 where blank."""
    words = [str(cell).replace("T", " ").partition(" ")[0] for cell in cells.distinct]
    return cells.spread(np.unique(words, return_inverse=True)[1].astype(np.int64), -1)


def dams(table: RawTable, own: TableMap) -> Rows | None:
    """Codes of the sheet's dams, those of one farm, season and day of birth alike; -1 where none is named.

    None where no column is known to name the dam or the litter.
    """
    named = [name for name in ("dam_id", "litter_id") if is_filled(table, own, name)]
    if not named:
        return None
    dam = table.columns[str(heading_of(table, own, named[0]))]
    code = dam.codes.copy()
    for name in ("farm", "season", "born_at", "born_on"):
        if heading := heading_of(table, own, name):
            column = table.columns[heading]
            part = days(column) if name.startswith("born") else column.codes
            code = np.unique(code * (part.max() + 2) + part + 1, return_inverse=True)[1]
    return np.where(dam.rows_of(tells), code, -1).astype(np.int64)


def one_row_a_dam(code: Rows) -> bool:
    """True where hardly any dam stands on two rows of one day."""
    known = code[code >= 0]
    if not len(known):
        return False
    rows = np.bincount(known)
    return bool(rows[rows > 1].sum() <= SEVERAL * len(known))


def rows_of_dam(code: Rows) -> NDArray[np.float64]:
    """On how many rows the dam of each row stands; NaN where none is named."""
    known = np.maximum(code, 0)
    return np.where(code >= 0, np.bincount(known, weights=code >= 0)[known], np.nan)


def one_row_each(
    table: RawTable, row: Rows, columns: dict[str, RawColumn], *remarks: Remark, findings: Findings = ()
) -> RawTable:
    """The sheet with a row for each newborn; ``row`` says of which of its rows each is made, in their order."""
    first = np.searchsorted(row, np.arange(len(table.rows)))
    moved = tuple(replace(finding, at=first[finding.at]) for finding in (*table.findings, *findings))
    return table.remarked(*remarks, columns=columns, rows=table.rows[row], findings=moved)


def litter_id(table: RawTable, own: TableMap, row: Rows) -> dict[str, RawColumn]:
    """A litter's identity for rows made of one row whose dam is not known: the place of that row."""
    if heading_of(table, own, "litter_id") is not None:
        return {}
    code = dams(table, own)
    unnamed = np.ones(len(table.rows), dtype=bool) if code is None else code < 0
    names = objects([f"{table.place}, row {number}" for number in table.rows])
    return {"litter_id": RawColumn(np.where(unnamed[row], row, -1).astype(np.int64), names)}


def numbered(heading: str, own: TableMap) -> tuple[str, int] | None:
    """The tidy column and the number of the newborn that a heading means, or None; no column of the dam or litter."""
    if found := _declared(heading, own):
        return found
    if own.column_of("births", heading) is not None:
        return None
    for known in FORMS:
        spoken = numbers_spelt(plain_heading(heading)[:200])
        if form := known.fullmatch(spoken) or known.fullmatch(bare_words(spoken)):
            stem = form["stem"].strip() or "newborn_id"
            name = own.column_of("births", stem) or own.column_of("births", without_young(stem))
            if not name and known in FORMS[:2] and is_identity(stem):
                name = "newborn_id"
            if name and name not in OF_LITTER:
                return name, int(form["n"])
    return None


def _declared(heading: str, own: TableMap) -> tuple[str, int] | None:
    """As a pattern of the map says: "lamb {n} sex" = "sex"."""
    for pattern, meant in own.columns.items():
        if "{n}" in pattern and meant:
            form = re.escape(pattern).replace(r"\{n\}", f"({NUMBER})")
            if found := re.fullmatch(form, plain_heading(heading)[:200]):
                return meant, number_of(found[1])
    return None


def without_young(stem: str) -> str:
    """The rest of a heading after the word for a newborn: "lamb sex" is "sex"."""
    return re.sub(rf"^{YOUNG}s?\s+", "", stem)


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
    present[table.found] = False
    present[~present.any(axis=1), 0] = True
    row, which = np.nonzero(present)
    columns = {h: c.take(row) for h, c in table.columns.items() if h not in places}
    for name in dict.fromkeys(name for name, _ in places.values()):
        columns[_with_unit(own, places, name)] = _folded_out(
            table, places, name, np.array(numbers)[which], row
        )
    problem = say(
        "each row holds up to {most} newborns; {rows} rows were unfolded to {n} newborns",
        most=numbers[-1],
        rows=f"{len(table.rows):,}",
        n=f"{len(row):,}",
    )
    remark = Remark("", problem, say("nothing need be done; rows are numbered as in the sheet"))
    return one_row_each(table, row, columns | litter_id(table, own, row), remark)


def _with_unit(own: TableMap, places: Places, name: str) -> str:
    """The heading of a column over all newborns: its name, with the unit that the numbered headings give it."""
    if name in own.units:
        return name
    found = {_unit_in(heading) for heading, (of, _) in places.items() if of == name}
    unit = found.pop() if len(found) == 1 else ""
    tidy = next((column for column in BIRTHS if column.name == name), None)
    if not unit or tidy is None or turn(tidy, unit) is None:
        return name
    return f"{heading_of_column(tidy).partition(' (')[0]} ({unit})"


def _unit_in(heading: str) -> str:
    last = re.search(r"[(\[]\s*([^()\[\]]+?)\s*[)\]]|\s([^\W\d_]{1,6})\.?\s*$", heading)
    return (last[1] or last[2]) if last else ""


def _of_newborns(table: RawTable, own: TableMap, places: Places) -> bool:
    """True where the numbers count newborns, not causes, weighings or visits of one newborn.

    The map says so; or each number has columns of a newborn, no column of a newborn stands without a number, and each
    dam has one row.
    """
    if any(_declared(heading, own) for heading in places):
        return True
    spoken = all(re.search(rf"\b{YOUNG}", bare_words(heading)) for heading in places)
    if not all(
        _a_newborn({name for name, of in places.values() if of == number}, spoken) for number in (1, 2)
    ):
        return False
    code = dams(table, own)
    if code is not None and not one_row_a_dam(code):
        return False
    alone = [name for name in OF_NEWBORN if is_filled(table, own, name)]
    if alone and spoken:
        raise CannotRead(
            f'{table.place}: it has columns for each newborn of a row ("{next(iter(places))}") and one for the row '
            f'("{heading_of(table, own, alone[0])}"); say in the map under [columns] which of them belong '
            'to the records, and leave the others out with = "".'
        )
    if alone:
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
    return bool(told) or len(names) >= 2 or (spoken and bool(names & {*OF_NEWBORN, "cause"}))


def _present(table: RawTable, places: Places, number: int) -> Mask:
    """Rows in which any column of this newborn is filled."""
    own = [table.columns[heading].filled for heading, (_, of) in places.items() if of == number]
    filled: Mask = np.logical_or.reduce(own)
    return filled


def _folded_out(table: RawTable, places: Places, name: str, number: Rows, row: Rows) -> RawColumn:
    """The column of one name over all newborns, each with its number and its row."""
    codes = np.full(len(row), -1, dtype=np.int64)
    distinct: list[object] = []
    for heading, (of_name, of) in places.items():
        if of_name == name:
            column, here = table.columns[heading], number == of
            own = column.codes[row[here]]
            codes[here] = np.where(own >= 0, own + len(distinct), -1)
            distinct += list(column.distinct)
    return RawColumn(codes, objects(distinct))


SIGNS = "/;|+"
SIGN = re.compile(r"\s*[/;|+]\s*")
LONGEST_PART = 15
OFTEN, AGREE, FEWEST = 0.1, 0.95, 3
COUNTED = re.compile(
    r"\d{1,2}\s*x?\s*[^\W\d_][\w.]*(?:\s*[,;+/ ]\s*\d{1,2}\s*x?\s*[^\W\d_].*)?", re.IGNORECASE
)
"""So many of one kind, and so many of another: "1E 1R", "1 SB, 1 died d1"."""
OUTCOMES = ("died", "born_alive", "alive_now")


def parted(table: RawTable, own: TableMap) -> RawTable:
    """One row a newborn where a cell says what became of a whole litter; any other sheet as it is.

    Raises
    ------
    CannotRead
        Where such cells stand in a column of outcomes and nothing tells how many newborns a row stands for.
    """
    if any(is_filled(table, own, name) for name in ("newborn_id", "birth_order", "birth_weight_kg")):
        return table
    parts = {heading: _parts(cells) for heading, cells in table.columns.items() if _may_be_list(cells)}
    lists = {heading: many for heading, many in parts.items() if _is_list(many, table)}
    told = [heading for heading in lists if _tells_outcome(heading, own)]
    if told:
        code = dams(table, own)
        alike = [
            heading for heading in lists if heading not in told and _agree(lists[told[0]], lists[heading])
        ]
        if (alike or _sized(table, own, lists[told[0]])) and (code is None or one_row_a_dam(code)):
            return _cells_unfolded(table, told[0], [*told[1:], *alike], parts)
    for heading in table.columns:
        if own.column_of("births", heading) in OUTCOMES and (
            heading in lists or holds_litters(table.columns[heading])
        ):
            raise _whole_litter(table, heading, lists.get(heading))
    return table


def holds_litters(cells: RawColumn) -> bool:
    """True where cells count several kinds of newborns in words: "1E 1R", "1 SB, 1 died d1"."""
    here = cells.rows_of(lambda cell: isinstance(cell, str) and COUNTED.fullmatch(cell.strip()) is not None)
    return bool(here.sum() >= FEWEST and here[cells.filled].mean() >= 0.5)


def _may_be_list(cells: RawColumn) -> bool:
    """True where any cell has a sign that may part it."""
    text = "\n".join(cell for cell in cells.distinct if isinstance(cell, str))
    return any(sign in text for sign in SIGNS)


def _parts(cells: RawColumn) -> NDArray[np.float64]:
    """Into how many parts each row's cell falls; NaN where blank, and where it is no list of short words."""
    return cells.by_row(_many, np.nan, float)


def _many(cell: object) -> float:
    if not isinstance(cell, str):
        return np.nan
    parts = SIGN.split(cell.strip())
    short = all(0 < len(part) <= LONGEST_PART for part in parts) and len(parts) <= MOST
    words = all(any(sign.isalpha() for sign in part) for part in parts)
    return float(len(parts)) if short and words and take_apart(cell, {}) is None else np.nan


def _is_list(many: NDArray[np.float64], table: RawTable) -> bool:
    """True where nearly every filled cell falls into parts, some of them into two or more, others into fewer."""
    known = np.isfinite(many) & ~table.found
    several = many[known] > 1
    return bool(several.sum() >= FEWEST and several.mean() >= OFTEN and len(np.unique(many[known])) > 1)


def _tells_outcome(heading: str, own: TableMap) -> bool:
    meant = own.column_of("births", heading)
    return meant in OUTCOMES or (meant is None and asks_for(heading) != "")


def _agree(one: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    known = np.isfinite(one) & np.isfinite(other)
    return bool(known.any() and (one[known] == other[known]).mean() >= AGREE)


def _sized(table: RawTable, own: TableMap, many: NDArray[np.float64]) -> bool:
    """True where a column of litter sizes agrees with the parts."""
    sizes: Iterable[str] = (
        heading
        for heading in table.columns
        if own.column_of("births", heading) == "litter_size" or count_meant(heading) == "newborns_born"
    )
    return any(_agree(many, numbers(table.columns[heading])) for heading in sizes)


def _cells_unfolded(
    table: RawTable, told: str, others: list[str], parts: dict[str, NDArray[np.float64]]
) -> RawTable:
    born = np.where(np.isfinite(parts[told]) & ~table.found, np.nan_to_num(parts[told]), 1).astype(np.int64)
    row: Rows = np.repeat(np.arange(len(born)), born)
    order = np.arange(len(row)) - np.repeat(np.cumsum(born) - born, born)
    columns = {heading: cells.take(row) for heading, cells in table.columns.items()}
    findings = []
    for heading in (told, *others):
        fits = (parts[heading] == born) | (born == 1)
        columns[heading] = _each_part(table.columns[heading], row, order, fits)
        at: Mask = ~fits & table.columns[heading].filled & ~table.found
        if at.any():
            problem = say("the cell has another number of parts than the litter has newborns")
            remedy = say("write one row a newborn, or as many parts in each cell")
            again = where(at[row])
            found = table.columns[heading].take(row).at(again)
            findings.append(Finding(again, heading, found, problem, remedy, "set to missing"))
    problem = say(
        "a cell holds a whole litter ({heading}); {rows} rows were unfolded to {n} newborns",
        heading=", ".join(f'"{one}"' for one in (told, *others)),
        rows=f"{len(table.rows):,}",
        n=f"{len(row):,}",
    )
    remark = Remark(told, problem, say("write one row a newborn next season"))
    made = one_row_each(table, row, columns, remark)
    return replace(made, findings=(*made.findings, *findings))


def _each_part(cells: RawColumn, row: Rows, order: Rows, fits: Mask) -> RawColumn:
    """Of each row's cell the part of each newborn; nothing where the parts do not fit."""
    split = [SIGN.split(cell.strip()) if isinstance(cell, str) else [cell] for cell in cells.distinct]
    return raw_column(
        [
            split[code][place] if code >= 0 and fit and place < len(split[code]) else None
            for code, place, fit in zip(cells.codes[row], order, fits[row], strict=True)
        ]
    )


def _whole_litter(table: RawTable, heading: str, many: NDArray[np.float64] | None) -> CannotRead:
    cells = table.columns[heading]
    several = (
        cells.rows_of(lambda cell: isinstance(cell, str) and COUNTED.fullmatch(cell.strip()) is not None)
        if many is None
        else np.nan_to_num(many) > 1
    )
    first = where(several)[:1]
    return CannotRead(
        f'{table.place}, row {table.rows[first[0]]}, column "{heading}": "{cells.at(first)[0]}" tells of a whole '
        "litter, and nothing says of how many newborns and which; write one row a newborn, or the numbers of the born, "
        "the born dead and those that died later in a column each."
    )
