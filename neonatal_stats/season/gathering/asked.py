"""What the numbers of a births sheet may mean, as only the farm can say: codes, counts, rows for litters."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.words import plain
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.gathering.counted import ALIKE, count_meant, numbers
from neonatal_stats.season.grid import RawColumn, RawTable
from neonatal_stats.season.map.records_map import TableMap

LEAST, NEARLY_ALL, MOSTLY = 10, 0.8, 0.5
FIRST_CODE, LAST_CODE = 2, 99
LITTERS = 3
OUTCOMES = {
    "died": "newborns_lost",
    "born_alive": "newborns_born_alive",
    "born_dead": "newborns_born_dead",
    "alive_now": "newborns_reared",
}
"""Columns of yes and no that a farm may code, each with what it may count instead."""


def ask_about_numbers(table: RawTable, own: TableMap) -> None:
    """Refuse a sheet of one newborn a row whose numbers may mean something else. Raises `CannotRead`."""
    _rows_for_many(table, own)
    _codes(table, own)
    _one_row_a_litter(table, own)


def _rows_for_many(table: RawTable, own: TableMap) -> None:
    """A column that nothing else explains and that seems to say how many newborns each row stands for."""
    if any(litters.is_filled(table, own, name) for name in ("newborn_id", "birth_order", "birth_weight_kg")):
        return
    for heading, cells in table.columns.items():
        if count_meant(heading) != ALIKE or own.column_of("births", heading) is not None:
            continue
        found, filled = numbers(cells), cells.codes >= 0
        if not (filled.any() and (found > 1).any() and (found[filled] >= 1).mean() >= NEARLY_ALL):
            continue
        if not _repeats_the_litter(found, litters.dams(table, own)):
            raise CannotRead(
                f'{table.place}: "{heading}" may say how many newborns a row stands for; say in the map under '
                f'[columns] "{heading}" = "{ALIKE}" if it does, "litter_size" if it is the size of the litter, or '
                '= "" to leave it out.'
            )


def _repeats_the_litter(found: NDArray[np.float64], code: NDArray[np.int64] | None) -> bool:
    """True where the number is that of the dam's own rows, nearly everywhere: a litter size on each newborn's row."""
    if code is None:
        return False
    rows = np.where(
        code >= 0, np.bincount(np.maximum(code, 0), weights=code >= 0)[np.maximum(code, 0)], np.nan
    )
    known = ~np.isnan(rows) & ~np.isnan(found)
    return bool(known.any() and (rows[known] == found[known]).mean() >= NEARLY_ALL)


def _codes(table: RawTable, own: TableMap) -> None:
    """Numbers over 1 where yes or no is asked for: codes of which only the farm knows the meaning, or counts."""
    for name, of_litter in OUTCOMES.items():
        heading = litters.heading_of(table, own, name)
        if heading is None:
            continue
        cells = table.columns[heading]
        words = {plain(word) for word in own.words.get(name, {})}
        used = np.bincount(cells.codes[cells.codes >= 0], minlength=len(cells.distinct))
        found = numbers(RawColumn(np.arange(len(cells.distinct)), cells.distinct))
        code = (found == np.floor(found)) & (found >= 0) & (found <= LAST_CODE) & (used > 0)
        open_ = code & ~np.array([plain(cell) in words for cell in cells.distinct], dtype=bool)
        if used[code].sum() < MOSTLY * used.sum() or not open_.any():
            continue
        if (open_ & (found >= FIRST_CODE)).any() or _alike_in_litters(table, own, numbers(cells)):
            each = {int(value): int(used[found == value].sum()) for value in sorted(set(found[code]))}
            codes = ", ".join(f"{value} in {n:,} rows" for value, n in each.items())
            raise CannotRead(
                f'{table.place}: "{heading}" holds numbers ({codes}); if they are codes, say in the map under '
                f"[words.{name}] which means yes and which no; if they count newborns of a litter, say under [columns] "
                f'"{heading}" = "{of_litter}" in a book of one row a dam, else = "" to leave it out.'
            )


def _alike_in_litters(table: RawTable, own: TableMap, found: NDArray[np.float64]) -> bool:
    """True where many litters have one number for all littermates, beside a column that counts the litter."""
    code = litters.dams(table, own)
    counts = any(
        count_meant(h) == "newborns_born" and (numbers(c) > 1).any() for h, c in table.columns.items()
    )
    if code is None or not counts:
        return False
    rows = pd.DataFrame({"dam": code, "found": found})[code >= 0].groupby("dam")["found"]
    litter = rows.agg(["size", "min", "max"])
    several = litter[(litter["size"] > 1) & (litter["max"] > 0)]
    return bool(len(several) >= LITTERS and (several["min"] == several["max"]).all())


def _one_row_a_litter(table: RawTable, own: TableMap) -> None:
    """Litter sizes over 1 with one row a dam throughout: the rows may stand for litters, or leave the others out."""
    heading, code = litters.heading_of(table, own, "litter_size"), litters.dams(table, own)
    alone = ("newborn_id", "sex", "birth_order", "birth_weight_kg")
    if heading is None or code is None or any(litters.is_filled(table, own, name) for name in alone):
        return
    size = numbers(table.columns[heading])
    several = (size > 1) & (code >= 0)
    rows = np.bincount(np.maximum(code, 0), weights=code >= 0)[np.maximum(code, 0)]
    if several.sum() >= LEAST and (rows[several] == 1).mean() >= NEARLY_ALL:
        raise CannotRead(
            f'{table.place}: nearly every dam stands on one row, though "{heading}" is often over 1; if a row stands '
            f'for a litter, say in the map under [columns] "{heading}" = "newborns_born" and which column counts its '
            f'dead (newborns_lost); if the other newborns were not written down, leave it out with "{heading}" = "".'
        )
