"""Sheets that count, so many born and dead for each dam, or so many alike in a row: one row a newborn after it.

A sheet of counts is expanded where the map declares it, or where each dam has one row, no column belongs to a single
newborn and the counts add up. What could be read in two ways is asked for. Signs and words for none ("-", "nil",
"keine") are 0 there: among whole numbers of one dam's newborns a dash is how a hand writes 0. Elsewhere it is a blank.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from neonatal_stats.season.finding import CannotRead, Finding, say, where
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.gathering.dead_counts import MOST, Reckoned, reckoned
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, Remark, Rows, numbers, recoded
from neonatal_stats.season.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.columns import ALIKE, COUNTS, column_of
from neonatal_stats.vocabulary.farm_words import count_meant
from neonatal_stats.vocabulary.fates import speaks_of_a_loss
from neonatal_stats.vocabulary.heading_words import count_meaning
from neonatal_stats.vocabulary.spelling import bare_words, words

MOST_ALIKE = 500
BORN = ("newborns_born", "newborns_born_alive", "alive")
ADD_UP, FEW = 0.95, 2
LONGEST_SHOWN = 120
BLANK = "(blank)"
OF_THE_DEAD = frozenset((
    "cause", "cause_basis", "died_at", "died_on", "found_dead_at", "last_alive_at", "age_at_death", "age_at_death_h",
    "age_at_death_d",
))  # fmt: skip
COUNTED_INSTEAD = {
    "died": "newborns_lost",
    "born_dead": "newborns_born_dead",
    "born_alive": "newborns_born_alive",
    "alive_now": "newborns_reared",
    "litter_size": "",
}
"""What counts in a litter's row what these say of one newborn; its size is made from the counts."""
DASHES = frozenset("-–—−‐‑_")
NONE = words("""
    nil none zero no keine keins kein aucun aucune neant zéro geen ninguno ninguna cero nessuno nessuna nenhum nenhuma
    ingen inga inget ingenting zaden zadne zero dim
""")
LITTERS = ("newborn_id", "sex", "birth_order", "birth_weight_kg")
"""Columns that, filled, make a row one newborn's: then a dash stays a blank."""


def expanded(table: RawTable, own: TableMap, of_births: bool) -> RawTable:
    """One row a newborn where the sheet holds counts; any other sheet as it is.

    Raises
    ------
    CannotRead
        Where the counts of a sheet ``of_births`` can be read in two ways, or do not add up.
    """
    counted = count_headings(table, own)
    declared = {
        heading: name for heading, name in counted.items() if own.columns.get(plain_heading(heading)) == name
    }
    if alike := next((heading for heading, name in declared.items() if name == ALIKE), None):
        return _alike(table, alike)
    counted = {heading: name for heading, name in counted.items() if name != ALIKE}
    if _counts_litters(table, own, counted, declared, of_births):
        _must_say_nothing_of_one(table, own, counted)
        return _by_litter(table, own, counted, bool(declared))
    if declared:
        raise CannotRead(_goes_with_nothing(table, declared))
    return table


def _must_say_nothing_of_one(table: RawTable, own: TableMap, counted: Mapping[str, str]) -> None:
    """Refuse what the map calls an outcome of one newborn in a sheet that counts those of a litter."""
    for heading in table.columns:
        meant = own.columns.get(plain_heading(heading)) or ""
        if heading in counted or meant not in COUNTED_INSTEAD:
            continue
        first, name = next(iter(counted.items()))
        counts = COUNTED_INSTEAD[meant]
        instead = f'"{heading}" = "{counts}" if it counts them, or ' if counts else ""
        raise CannotRead(
            f'{table.place}: "{first}" is {name}, so a row is a litter, and "{heading}" cannot be {meant}, which is '
            f'said of one newborn; say in the map under [columns] {instead}"{heading}" = "" to leave it out.'
        )


def _goes_with_nothing(table: RawTable, declared: Mapping[str, str]) -> str:
    heading, name = next(iter(declared.items()))
    return (
        f'{table.place}: the map says that "{heading}" is {name}, but the sheet does not hold whole numbers of born '
        "(newborns_born or newborns_born_alive) and of dead for each dam, and nothing of single newborns; mend the map."
    )


def count_headings(table: RawTable, own: TableMap) -> dict[str, str]:
    """Headings that may be counts, with what they count: as the map says, else by their words."""
    found: dict[str, str] = {}
    names = {ALIKE, *(column.name for column in COUNTS)}
    for heading in table.columns:
        meant = own.columns.get(plain_heading(heading))
        name = meant if meant in names else count_meant(heading) if meant is None else None
        if name and name not in found.values():
            found[heading] = name
    return found


def counts_of_litters(table: RawTable, own: TableMap) -> frozenset[str]:
    """Headings that count newborns of litters, as far as their words and numbers tell: they need no line in a map."""
    counted = {h: name for h, name in count_headings(table, own).items() if name != ALIKE}
    return frozenset(counted if _may_count(table, counted) else ())


def _may_count(table: RawTable, counted: Mapping[str, str]) -> bool:
    born = set(counted.values()) & set(BORN)
    return bool(born) and len(counted) > 1 and _whole_numbers(table, counted)


def _counts_litters(
    table: RawTable, own: TableMap, counted: Mapping[str, str], declared: Mapping[str, str], of_births: bool
) -> bool:
    if not _may_count(table, counted):
        return False
    if set(counted) <= set(declared):
        return True
    if any(_of_a_newborn(table, own, name, counted) for name in litters.OF_NEWBORN):
        return False
    code = litters.dams(table, own)
    if code is None and of_births:
        raise CannotRead(
            f"{table.place}: its rows seem to count newborns ({', '.join(map(_quoted, counted))}), and no column is "
            "known to name the dam; say in the map under [columns] which heading is dam_id."
        )
    return code is not None and litters.one_row_a_dam(code)


def _of_a_newborn(table: RawTable, own: TableMap, name: str, counted: Mapping[str, str]) -> bool:
    heading = litters.heading_of(table, own, name)
    return heading is not None and heading not in counted and litters.is_filled(table, own, name)


def _whole_numbers(table: RawTable, counted: Mapping[str, str]) -> bool:
    """Counts, not yes and no: nearly every cell is a number, and a heading speaks of counts or a number is over 1.

    A litter's size proves nothing, nor does a 1 under a heading that also asks whether one newborn died or lives.
    """
    over = False
    for heading, name in counted.items():
        found = numbers(table.columns[heading])
        filled = table.columns[heading].filled
        if filled.any() and np.isnan(found[filled]).mean() > 0.2:
            return False
        a_size = name == "newborns_born" and "size" in plain_heading(heading)
        asks = name in ("dead", "alive") or column_of("births", heading) is not None
        over |= not a_size and bool((found > (1 if asks else 0)).any())
    return over


def _by_litter(table: RawTable, own: TableMap, counted: Mapping[str, str], declared: bool) -> RawTable:
    counts = {name: numbers(table.columns[heading]) for heading, name in counted.items()}
    found = reckoned(table.place, counted, counts, declared)
    wrong = found.wrong & ~table.found
    if not declared and (wrong & ~found.unwritten & ~found.unaccounted).sum() > max(
        FEW, (1 - ADD_UP) * len(wrong)
    ):
        first = where(wrong & ~found.unwritten & ~found.unaccounted)[:1]
        raise CannotRead(
            f"{table.place}: it seems to count newborns for each dam, and in {int(wrong.sum()):,} of {len(wrong):,} "
            f"rows {', '.join(map(_quoted, counted))} do not add up, first in row {table.rows[first[0]]} "
            f"({_shown(table, counted, first)[0]}); say in the map under [columns] what each of them counts, or leave "
            'it out with = "".'
        )
    open_ = wrong & (found.unwritten | found.unaccounted)
    born = np.where((wrong & ~(open_ & (found.born > 0))) | table.found, 1, found.born)
    row, order = _rows_of(born)
    columns = {h: c.take(row) for h, c in table.columns.items() if h not in counted}
    still, died = found.still[row], found.died[row]
    columns |= _outcome(order, still, died, born[row], found, wrong[row])
    columns |= _of_the_dead(columns, own, order, still, died)
    columns |= litters.litter_id(table, own, row)
    told = _told_beside(table, own, (found.died == 0) & ~wrong & ~table.found)
    remarks = (*_cost(table, row, born), *found.remarks, *told)
    made = litters.one_row_each(table, row, columns, *remarks)
    findings = _wrong_counts(table, counted, wrong, found.unwritten | found.unaccounted, found.unaccounted)
    each = tuple(_of_each(finding, row) for finding in findings)
    return made.remarked(findings=(*made.findings, *each))


def _of_each(finding: Finding, row: Rows) -> Finding:
    """What was found of a litter's row, said of each newborn that was made of it."""
    cells = dict(zip(finding.at.tolist(), finding.values, strict=True))
    at = where(np.isin(row, finding.at))
    return replace(finding, at=at, values=[cells[int(one)] for one in row[at]])


def _rows_of(born: Rows) -> tuple[Rows, Rows]:
    """For each newborn its row and its place in it."""
    row = np.repeat(np.arange(len(born)), born)
    return row, np.arange(len(row)) - np.repeat(np.cumsum(born) - born, born)


def _outcome(
    order: Rows, still: Rows, died: Rows, born: Rows, found: Reckoned, wrong: Mask
) -> dict[str, RawColumn]:
    """The first of the littermates stand for the born dead, the next for those that died later; of the wrong, none.

    Where no column counts what became of those born alive, nothing is said of whether they died.
    """
    dead = np.where(wrong, -1, np.where(order < still, 1, 0))
    lost = np.where(wrong, -1, np.where(order < still + died, 0, 1))
    alive = np.where((dead == 0) & found.birth_unknown & (lost == 0), -1, dead)
    later = {"died": recoded(lost, ("yes", "no"))} if found.later_known else {}
    return {
        "born_alive": recoded(alive, ("yes", "no")),
        **later,
        "litter_size": recoded(born, map(float, range(MOST + 2))),
    }


def _of_the_dead(
    columns: Mapping[str, RawColumn], own: TableMap, order: Rows, still: Rows, died: Rows
) -> dict[str, RawColumn]:
    """What a litter's row says of its dead (a cause, a time), for these alone: those that died later, if any did.

    Of a row that counts none dead it stays with all, so that somebody looks which of the two is right.
    """
    theirs = np.where(died > 0, (order >= still) & (order < still + died), order < still)
    theirs |= (still == 0) & (died == 0)
    return {
        heading: RawColumn(np.where(theirs, cells.codes, -1), cells.distinct)
        for heading, cells in columns.items()
        if own.column_of("births", heading) in OF_THE_DEAD
    }


def _told_beside(table: RawTable, own: TableMap, none_later: Mask) -> Iterator[Remark]:
    """Texts that speak of a loss in rows that count none later: "lost 1" in a comment."""
    for heading, cells in table.columns.items():
        if own.column_of("births", heading) not in (None, "remarks") or count_meant(heading):
            continue
        texts = [isinstance(cell, str) and speaks_of_a_loss(cell) for cell in cells.distinct]
        at = where(cells.rows_of(texts) & none_later)
        if not len(at):
            continue
        shown = ", ".join(dict.fromkeys(f'"{cell}"' for cell in cells.at(at)))
        problem = say(
            "{n} rows count none that died later, and a text beside them speaks of a loss: {texts}",
            n=f"{len(at):,}",
            texts=shown[:LONGEST_SHOWN],
        )
        remedy = say("count those in a column of their own, such as died later or reared")
        yield Remark(heading, problem, remedy, "asked", "outcome")


def _wrong_counts(
    table: RawTable, counted: Mapping[str, str], wrong: Mask, unwritten: Mask, unaccounted: Mask
) -> Iterator[Finding]:
    column = ", ".join(counted)
    problem = say("the counts of this row do not add up to whole newborns")
    remedy = say("born must be born alive plus born dead, and no more can die than were born alive")
    if len(at := where(wrong & ~unwritten)):
        yield Finding(at, column, _shown(table, counted, at), problem, remedy, "set aside")
    problem = say("how many of this litter died is not written, though other rows write 0")
    remedy = say("write 0 where none died")
    if len(at := where(wrong & unwritten & ~unaccounted)):
        shown = _shown(table, counted, at)
        yield Finding(at, column, shown, problem, remedy, "set aside", about="not written")
    problem = say("some of this litter are counted neither among the dead nor among those reared")
    remedy = say("write what became of each: dead, reared, or sold and the like")
    if len(at := where(wrong & unaccounted)):
        shown = _shown(table, counted, at)
        yield Finding(at, column, shown, problem, remedy, "set aside", about="not written")


def _shown(table: RawTable, counted: Mapping[str, str], at: Rows) -> list[str]:
    rows = zip(*(table.columns[heading].at(at) for heading in counted), strict=True)
    return [
        ", ".join(f"{h} {BLANK if cell is None else cell}" for h, cell in zip(counted, cells, strict=True))
        for cells in rows
    ]


def _cost(table: RawTable, row: Rows, born: Rows) -> Iterator[Remark]:
    problem = say(
        "the sheet counts newborns for each dam: {rows} rows were expanded to {n} newborns; which littermate "
        "died, and when, is not known, so nothing that differs between littermates can be asked",
        rows=f"{len(table.rows):,}",
        n=f"{len(row):,}",
    )
    yield Remark("", problem, say("write one row a newborn next season to learn which died, and when"))
    if (born == 0).any():
        problem = say("{n} rows count no newborn and stand for none", n=f"{int((born == 0).sum()):,}")
        yield Remark("", problem, say("nothing need be done if these dams gave birth to none"))


def _alike(table: RawTable, heading: str) -> RawTable:
    """Each row as often as it says that it stands for newborns; where it says no whole number, once and set aside."""
    n = numbers(table.columns[heading])
    whole = (n >= 1) & (n <= MOST_ALIKE) & (n == np.floor(n))
    row, _ = _rows_of(np.where(whole & ~table.found, np.nan_to_num(n), 1).astype(np.int64))
    at = where(~whole & ~table.found)
    problem = say("how many newborns this row stands for is not written as a whole number from 1 on")
    remedy = say("write the number, or remove the row where it stands for none")
    aside = Finding(at, heading, table.columns[heading].at(at), problem, remedy, "set aside")
    said = say(
        "{rows} rows stand for {n} newborns, those of a row all alike",
        rows=f"{len(table.rows):,}",
        n=f"{len(row):,}",
    )
    remark = Remark(heading, said, say("write one row a newborn next season to learn more of each"))
    columns = {h: c.take(row) for h, c in table.columns.items() if h != heading}
    return litters.one_row_each(table, row, columns, remark, findings=[aside] if len(at) else ())


def _quoted(heading: str) -> str:
    return f'"{heading}"'


def with_zeros(table: RawTable, own: TableMap) -> RawTable:
    """The sheet with 0 where its counts of a dam's newborns write a dash or a word for none; any other as it is.

    A column must hold whole numbers besides; one of dashes alone may not have been kept at all, and stays.
    """
    counts = {
        h: name
        for h in table.columns
        if (name := _count(h, own)) and _may_hold(table.columns[h], ~table.found)
    }
    signed = [h for h in counts if table.columns[h].rows_of(says_none).any()]
    if not signed or len(counts) < 2 or not set(counts.values()) & set(BORN):
        return table
    if not any((numbers(table.columns[heading])[~table.found] > 1).any() for heading in counts):
        return table
    code = litters.dams(table, own)
    of_newborns = any(
        (heading := litters.heading_of(table, own, name)) is not None
        and heading not in counts
        and litters.is_filled(table, own, name)
        for name in LITTERS
    )
    if of_newborns or (code is not None and not litters.one_row_a_dam(code)):
        return table
    remarks = [_remark(heading, table.columns[heading]) for heading in signed]
    columns = {h: _zeroed(cells) if h in signed else cells for h, cells in table.columns.items()}
    return table.remarked(*remarks, columns=columns)


def says_none(cell: object) -> bool:
    """True for a dash or a word for none.

    >>> [says_none(cell) for cell in ("-", "–", "nil", "Keine", "n/a", "?", 0)]
    [True, True, True, True, False, False, False]
    """
    if not isinstance(cell, str) or not cell or cell[-1].isdigit():
        return False
    return set(cell) <= DASHES or bare_words(cell) in NONE


def _count(heading: str, own: TableMap) -> str:
    """What a heading counts, as the map says, else by its words; "" for none."""
    meant = own.columns.get(plain_heading(heading))
    if meant is not None:
        return meant if meant in {column.name for column in COUNTS} else ""
    name = count_meant(heading) or count_meaning(heading)
    return "" if name == ALIKE else name


def _may_hold(cells: RawColumn, rows: Mask) -> bool:
    """True where every cell of a litter that is filled and says no none is a whole number that a litter may have."""
    told: Mask = rows & cells.filled & ~cells.rows_of(says_none)
    many = numbers(cells)[told]
    return bool(len(many) and ((many == np.floor(many)) & (many >= 0) & (many <= MOST)).all())


def _zeroed(cells: RawColumn) -> RawColumn:
    return recoded(cells.codes, ["0" if says_none(cell) else cell for cell in cells.distinct])


def _remark(heading: str, cells: RawColumn) -> Remark:
    n = int(cells.rows_of(says_none).sum())
    shown = ", ".join(str(cell) for cell in cells.distinct if says_none(cell))
    problem = say("cells of this column of counts read as 0: {n} ({cells})", n=f"{n:,}", cells=shown)
    return Remark(heading, problem, say("write 0 where there were none"))
