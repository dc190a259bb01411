"""Sheets that only count: so many born, born alive and dead for each dam, expanded to one row a newborn."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.finding import CannotRead, Finding, say
from neonatal_stats.season.grid import RawColumn, RawTable, Remark
from neonatal_stats.season.map.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.columns import COUNTS
from neonatal_stats.vocabulary.farm_words import count_meant

MOST = 12
LOST = {"newborns_lost", "newborns_reared"}
Counts = dict[str, NDArray[np.float64]]


def expanded(table: RawTable, own: TableMap) -> RawTable:
    """One row a newborn where the sheet holds counts for each dam; any other sheet as it is."""
    headings = counted_headings(table, own)
    if not headings:
        return table
    counts = {name: numbers_of(table.columns[heading]) for heading, name in headings.items()}
    counts = _said_clearly(table, counts)
    born, still, died, impossible = _reckoned(counts, len(table.rows))
    for finding in table.findings:
        impossible[finding.at] = False
        born[finding.at] = 1
    born = np.where(impossible, 1, born).astype(np.int64)
    row = np.repeat(np.arange(len(table.rows)), born)
    order = np.arange(len(row)) - np.repeat(np.cumsum(born) - born, born)
    first = np.searchsorted(row, np.arange(len(table.rows)))
    moved = [replace(finding, at=first[finding.at]) for finding in table.findings]
    columns = {h: c.take(row) for h, c in table.columns.items() if h not in headings}
    columns |= _outcome(order, still[row], died[row], born[row], bool(LOST & set(counts)))
    return replace(
        table,
        columns=columns,
        rows=table.rows[row],
        findings=(*moved, *_wrong_counts(table, headings, impossible, first)),
        remarks=(*table.remarks, *_cost(table, row, born)),
    )


def counted_headings(table: RawTable, own: TableMap) -> dict[str, str]:
    """The headings that count newborns and what each counts; none where the sheet does not count."""
    headings = _count_headings(table, own)
    names = set(headings.values())
    counts = bool(names & {"newborns_born", "newborns_born_alive"}) and len(names) > 1
    return headings if counts and _above_one(table, headings) else {}


def _count_headings(table: RawTable, own: TableMap) -> dict[str, str]:
    """Headings that may be counts, with what they count: as the map says, else by their words."""
    found: dict[str, str] = {}
    names = {column.name for column in COUNTS}
    for heading in table.columns:
        spoken = plain_heading(heading)
        meant = own.columns.get(spoken)
        name = meant if meant in names else count_meant(heading) if meant is None else None
        name = None if name == "newborns_in_row" else name
        if name and name not in found.values():
            found[heading] = name
    return found


def _above_one(table: RawTable, headings: dict[str, str]) -> bool:
    """Counts, not yes and no: every filled cell is a whole number, and one besides the litter's size is over 1."""
    over = False
    for heading, name in headings.items():
        numbers = numbers_of(table.columns[heading])
        filled = table.columns[heading].codes >= 0
        if np.isnan(numbers[filled]).mean() > 0.2 if filled.any() else False:
            return False
        if name == "newborns_reared" and (numbers[filled] != np.floor(numbers[filled])).any():
            return False
        over |= name != "newborns_born" and bool((numbers > 1).any())
    return over


def numbers_of(column: RawColumn) -> NDArray[np.float64]:
    """A column's numbers row by row; NaN where a cell holds none."""
    values = []
    for cell in column.distinct:
        try:
            number = float(str(cell))
        except ValueError:
            number = np.nan
        values.append(number if np.isfinite(number) else np.nan)
    return np.array([*values, np.nan])[column.codes]


def _said_clearly(table: RawTable, counts: Counts) -> Counts:
    """What a column called only "dead" counts: the born dead where that fits every row, else it is asked for."""
    if "dead" not in counts:
        return counts
    dead = counts.pop("dead")
    if "newborns_born" in counts and "newborns_born_alive" in counts:
        gap = counts["newborns_born"] - counts["newborns_born_alive"]
        known = ~np.isnan(dead) & ~np.isnan(gap)
        if (dead[known] == gap[known]).all():
            return counts | {"newborns_born_dead": dead}
        raise CannotRead(
            f"{table.place}: it is not clear whom the column of dead newborns counts; say in the map under [columns] "
            "whether it is newborns_born_dead, newborns_died (after birth) or newborns_lost (both)."
        )
    return counts | {"newborns_lost": dead}


def _reckoned(
    counts: Counts, rows: int
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]:
    """Born, born dead and later dead for each dam, and the rows whose counts cannot be."""
    nothing = np.full(rows, np.nan)
    born, alive = counts.get("newborns_born", nothing), counts.get("newborns_born_alive", nothing)
    dead, died = counts.get("newborns_born_dead", nothing), counts.get("newborns_died", nothing)
    lost = counts.get("newborns_lost", nothing)
    if "newborns_reared" in counts:
        lost = np.where(np.isnan(lost), born - counts["newborns_reared"], lost)
    born = np.where(np.isnan(born), alive + np.nan_to_num(dead), born)
    dead = np.where(np.isnan(dead), np.nan_to_num(born - alive), dead)
    died = np.where(np.isnan(died), np.nan_to_num(np.maximum(lost - dead, 0)), died)
    wrong = np.isnan(born) | (born < 0) | (born > MOST) | (dead < 0) | (died < 0) | (dead + died > born)
    wrong |= (~np.isnan(alive) & (alive + dead != born)) | (lost > born) | (lost < dead)
    for number in (born, dead, died):
        wrong |= np.nan_to_num(number) != np.floor(np.nan_to_num(number))
    still, later = (np.where(wrong, 0, number).astype(np.int64) for number in (dead, died))
    return np.where(wrong, 1, np.nan_to_num(born)).astype(np.int64), still, later, wrong


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


def _wrong_counts(
    table: RawTable, headings: dict[str, str], impossible: NDArray[np.bool_], first: NDArray[np.int64]
) -> list[Finding]:
    at = np.flatnonzero(impossible)
    if not len(at):
        return []
    shown = [
        ", ".join(f"{h} {table.columns[h].at(np.array([row]))[0] or ''}".strip() for h in headings)
        for row in at
    ]
    problem = say("the counts of this row do not add up to whole newborns")
    remedy = say("born must be born alive plus born dead, and no more can die than were born alive")
    return [Finding(first[at].astype(np.int64), "", shown, problem, remedy, "set aside")]


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
