"""Sheets that count, so many born and dead for each dam, or so many alike in a row: one row a newborn after it.

A sheet of counts is expanded where the map declares it, or where each dam has one row, no column belongs to a single
newborn and the counts add up. What could be read in two ways is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.finding import CannotRead, Finding, say
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.gathering.dead_counts import MOST, Reckoned, reckoned
from neonatal_stats.season.grid import RawColumn, RawTable, Remark
from neonatal_stats.season.map.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary import farm_words
from neonatal_stats.vocabulary.columns import COUNTS, column_of

ALIKE = "newborns_in_row"
MOST_ALIKE = 500
BORN = ("newborns_born", "newborns_born_alive", "alive")
ADD_UP, FEW = 0.95, 2


def count_meant(heading: str) -> str | None:
    """What a heading counts, by its words; "dead" and "alive" where it is not clear whom or when."""
    return farm_words.count_meant(heading)


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
    alike = next((heading for heading, name in declared.items() if name == ALIKE), None)
    if alike:
        return _alike(table, alike)
    counted = {heading: name for heading, name in counted.items() if name != ALIKE}
    if not _counts_litters(table, own, counted, declared, of_births):
        if declared:
            raise CannotRead(_goes_with_nothing(table, declared))
        return table
    counts = {name: numbers(table.columns[heading]) for heading, name in counted.items()}
    return _by_litter(
        table, own, counted, reckoned(table.place, counted, counts, bool(declared)), bool(declared)
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
    counts = set(counted.values()) & set(BORN) and len(counted) > 1 and _whole_numbers(table, counted)
    return frozenset(counted if counts else ())


def numbers(column: RawColumn) -> NDArray[np.float64]:
    """The number in each cell, NaN where there is none."""
    values = []
    for cell in column.distinct:
        try:
            number = float(str(cell))
        except ValueError:
            number = np.nan
        values.append(number if np.isfinite(number) else np.nan)
    return np.array([*values, np.nan])[column.codes]


def _counts_litters(
    table: RawTable, own: TableMap, counted: Mapping[str, str], declared: Mapping[str, str], of_births: bool
) -> bool:
    names = set(counted.values())
    if not names & set(BORN) or len(names) < 2 or not _whole_numbers(table, counted):
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
        filled = table.columns[heading].codes >= 0
        if filled.any() and np.isnan(found[filled]).mean() > 0.2:
            return False
        a_size = name == "newborns_born" and "size" in plain_heading(heading)
        asks = name in ("dead", "alive") or column_of("births", heading) is not None
        over |= not a_size and bool((found > (1 if asks else 0)).any())
    return over


def _by_litter(
    table: RawTable, own: TableMap, counted: Mapping[str, str], found: Reckoned, declared: bool
) -> RawTable:
    wrong = found.wrong.copy()
    for finding in table.findings:
        wrong[finding.at] = False
    if not declared and (wrong & ~found.unwritten).sum() > max(FEW, (1 - ADD_UP) * len(wrong)):
        raise CannotRead(
            f"{table.place}: it seems to count newborns for each dam, and in {int(wrong.sum()):,} of {len(wrong):,} "
            f"rows {', '.join(map(_quoted, counted))} do not add up; say in the map under [columns] what each of "
            'them counts, or leave it out with = "".'
        )
    born = np.where(wrong, 1, found.born)
    for finding in table.findings:
        born[finding.at] = 1
    row, order, first, moved = _rows_of(table, born)
    columns = {h: c.take(row) for h, c in table.columns.items() if h not in counted}
    columns |= _outcome(order, found.still[row], found.died[row], born[row], found.birth_unknown)
    if litters.heading_of(table, own, "litter_id") is None:
        columns["litter_id"] = litters.row_names(table, row, litters.dams(table, own))
    return replace(
        table,
        columns=columns,
        rows=table.rows[row],
        findings=(
            *moved,
            *_wrong_counts(table, counted, wrong & ~found.unwritten, first),
            *_unwritten(table, counted, wrong & found.unwritten, first),
        ),
        remarks=(*table.remarks, *_cost(table, row, born), *found.remarks),
    )


def _rows_of(
    table: RawTable, born: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], list[Finding]]:
    """For each newborn its row and its place in it, for each row its first newborn, and the findings moved there."""
    row = np.repeat(np.arange(len(table.rows)), born)
    order = np.arange(len(row)) - np.repeat(np.cumsum(born) - born, born)
    first = np.searchsorted(row, np.arange(len(table.rows)))
    return row, order, first, [replace(finding, at=first[finding.at]) for finding in table.findings]


def _outcome(
    order: NDArray[np.int64],
    still: NDArray[np.int64],
    died: NDArray[np.int64],
    born: NDArray[np.int64],
    birth_unknown: bool,
) -> dict[str, RawColumn]:
    """The first of the littermates stand for the born dead, the next for those that died later."""
    words = np.array(["yes", "no"], dtype=object)
    dead = np.where(order < still, 1, 0)
    lost = np.where(order < still + died, 0, 1)
    alive = np.where((dead == 0) & birth_unknown & (lost == 0), -1, dead)
    sizes = np.empty(MOST + 2, dtype=object)
    sizes[:] = [float(size) for size in range(MOST + 2)]
    return {
        "born_alive": RawColumn(alive.astype(np.int64), words),
        "died": RawColumn(lost.astype(np.int64), words),
        "litter_size": RawColumn(born.astype(np.int64), sizes),
    }


def _shown(table: RawTable, counted: Mapping[str, str], at: NDArray[np.int64]) -> list[str]:
    return [
        ", ".join(f"{h} {table.columns[h].at(np.array([row]))[0] or ''}".strip() for h in counted)
        for row in at
    ]


def _wrong_counts(
    table: RawTable, counted: Mapping[str, str], wrong: NDArray[np.bool_], first: NDArray[np.int64]
) -> list[Finding]:
    at = np.flatnonzero(wrong)
    if not len(at):
        return []
    problem = say("the counts of this row do not add up to whole newborns")
    remedy = say("born must be born alive plus born dead, and no more can die than were born alive")
    return [Finding(first[at].astype(np.int64), "", _shown(table, counted, at), problem, remedy, "set aside")]


def _unwritten(
    table: RawTable, counted: Mapping[str, str], at_: NDArray[np.bool_], first: NDArray[np.int64]
) -> list[Finding]:
    at = np.flatnonzero(at_)
    if not len(at):
        return []
    problem = say("how many of this litter died is not written, though other rows write 0")
    remedy = say("write 0 where none died")
    shown = _shown(table, counted, at)
    aside = Finding(first[at].astype(np.int64), "", shown, problem, remedy, "set aside", about="not written")
    return [aside]


def _cost(table: RawTable, row: NDArray[np.int64], born: NDArray[np.int64]) -> list[Remark]:
    remedy = say("write one row a newborn next season to learn which died, and when")
    costs = [
        Remark(
            "",
            say(
                "the sheet counts newborns for each dam: {rows} rows were expanded to {n} newborns; which littermate "
                "died, and when, is not known, so nothing that differs between littermates can be asked",
                rows=f"{len(table.rows):,}",
                n=f"{len(row):,}",
            ),
            remedy,
        )
    ]
    if (born == 0).any():
        problem = say("{n} rows count no newborn and stand for none", n=f"{int((born == 0).sum()):,}")
        costs.append(Remark("", problem, say("nothing need be done if these dams gave birth to none")))
    return costs


def _alike(table: RawTable, heading: str) -> RawTable:
    """Each row as often as it says that it stands for newborns; where it says no whole number, once and set aside."""
    n = numbers(table.columns[heading])
    whole = (n >= 1) & (n <= MOST_ALIKE) & (n == np.floor(n))
    unclear = ~whole
    for finding in table.findings:
        unclear[finding.at] = False
    once = ~whole
    for finding in table.findings:
        once[finding.at] = True
    row, _, first, moved = _rows_of(table, np.where(once, 1, np.nan_to_num(n)).astype(np.int64))
    at = np.flatnonzero(unclear)
    aside = Finding(
        first[at].astype(np.int64),
        "",
        table.columns[heading].at(at),
        say("how many newborns this row stands for is not written as a whole number from 1 on"),
        say("write the number, or remove the row where it stands for none"),
        "set aside",
    )
    remark = Remark(
        heading,
        say(
            "{rows} rows stand for {n} newborns, those of a row all alike",
            rows=f"{len(table.rows):,}",
            n=f"{len(row):,}",
        ),
        say("write one row a newborn next season to learn more of each"),
    )
    return replace(
        table,
        columns={h: c.take(row) for h, c in table.columns.items() if h != heading},
        rows=table.rows[row],
        findings=(*moved, *([aside] if len(at) else [])),
        remarks=(*table.remarks, remark),
    )


def _quoted(heading: str) -> str:
    return f'"{heading}"'
