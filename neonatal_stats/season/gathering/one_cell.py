"""Cells that hold a whole litter: "ok/dead/dead" beside "E/R/E" is unfolded, "1 SB, 1 died" is refused.

Unfolded only where the parts of what became of them are as many as those of another column, or as the litter's size.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.dates import take_apart
from neonatal_stats.season.finding import CannotRead, Finding, say, where
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.gathering.counted import numbers
from neonatal_stats.season.gathering.dead_counts import MOST
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, Remark, Rows, raw_column
from neonatal_stats.season.records_map import TableMap
from neonatal_stats.vocabulary.farm_words import count_meant
from neonatal_stats.vocabulary.fates import asks_for

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
    if any(litters.is_filled(table, own, name) for name in ("newborn_id", "birth_order", "birth_weight_kg")):
        return table
    parts = {heading: _parts(cells) for heading, cells in table.columns.items() if _may_be_list(cells)}
    lists = {heading: many for heading, many in parts.items() if _is_list(many, table)}
    told = [heading for heading in lists if _tells_outcome(heading, own)]
    if told:
        code = litters.dams(table, own)
        alike = [
            heading for heading in lists if heading not in told and _agree(lists[told[0]], lists[heading])
        ]
        if (alike or _sized(table, own, lists[told[0]])) and (code is None or litters.one_row_a_dam(code)):
            return _unfolded(table, told[0], [*told[1:], *alike], parts)
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
    return cells.spread(np.array([_many(cell) for cell in cells.distinct], dtype=float), np.nan)


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


def _unfolded(
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
    made = litters.one_row_each(table, row, columns, remark)
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
