"""What the numbers of a sheet of one newborn a row may mean: codes, counts of the litter, rows for litters.

Counts of the litter repeated on each newborn's row are left out, so that no littermate takes another's death; what only
the farm can say is asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.numbers import litter_words
from neonatal_stats.season.cells.parsed import plain
from neonatal_stats.season.finding import CannotRead, say
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.gathering.counted import count_headings
from neonatal_stats.season.gathering.dead_counts import DEATHS
from neonatal_stats.season.grid import RawColumn, RawTable, Remark, numbers
from neonatal_stats.season.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.columns import ALIKE
from neonatal_stats.vocabulary.farm_words import count_meant, is_no_column

LEAST, LITTERS = 10, 3
ALL, NEARLY_ALL, HALF = 0.95, 0.8, 0.5
FIRST_CODE, LAST_CODE = 2, 99
CODED = {
    "died": "newborns_lost",
    "born_alive": "newborns_born_alive",
    "born_dead": "newborns_born_dead",
    "alive_now": "newborns_reared",
}
"""Columns of yes and no that a farm may code, each with what it may count instead."""
LIVING = ("newborns_born_alive", "newborns_reared", "alive")
OUTCOMES = (*CODED, "died_at", "found_dead_at", "cause")


def without_litter_counts(table: RawTable, own: TableMap) -> RawTable:
    """The sheet without columns that count the litter on each row of its newborns, where that is proven.

    A dam's rows are as many as her litter counts, all show the same numbers, and these add up to the litter or exceed
    one. Nothing is left out that the map speaks of, nor the only column that tells an outcome.
    """
    counted = {
        heading: name
        for heading, name in count_headings(table, own).items()
        if name != ALIKE and plain_heading(heading) not in own.columns and _numeric(table, heading)
    }
    born = next((heading for heading, name in counted.items() if name == "newborns_born"), None)
    code = None if born is None else litters.dams(table, own)
    if born is None or code is None or litters.one_row_a_dam(code):
        return table
    found = {heading: numbers(table.columns[heading]) for heading in counted}
    alike = [heading for heading in counted if heading != born and _alike(found[heading], code)]
    if not alike or not _proven(counted, found, born, alike):
        return table
    if (litters.rows_of_dam(code) == found[born])[code >= 0].mean() < NEARLY_ALL:
        return table
    kept = {heading: cells for heading, cells in table.columns.items() if heading not in alike}
    named = ", ".join(f'"{heading}"' for heading in alike)
    problem = say("{named} count the litter on each row of its newborns and were left out", named=named)
    remedy = say("nothing need be done; keep one column that says what became of each newborn")
    left = table.remarked(Remark(alike[0], problem, remedy), columns=kept)
    return left if any(litters.is_filled(left, own, name) for name in OUTCOMES) else table


def _numeric(table: RawTable, heading: str) -> bool:
    cells = table.columns[heading]
    return bool(cells.filled.any() and np.isfinite(numbers(cells)[cells.filled]).all())


def _alike(found: NDArray[np.float64], code: NDArray[np.int64]) -> bool:
    """True where all rows of nearly every dam show the same number."""
    known = code >= 0
    by_dam = pd.Series(found[known]).groupby(code[known]).agg(["size", "nunique"])
    several = by_dam[by_dam["size"] > 1]
    return len(several) > 0 and bool((several["nunique"] <= 1).mean() >= ALL)


def _proven(
    counted: Mapping[str, str], found: Mapping[str, NDArray[np.float64]], born: str, alike: list[str]
) -> bool:
    """Some number exceeds one, or those of the living and of the dead add up to the born."""
    if any((found[heading] > 1).any() for heading in alike):
        return True
    living = [heading for heading in alike if counted[heading] in LIVING]
    dead = [heading for heading in alike if counted[heading] in DEATHS]
    return any(np.mean(found[a] + found[b] == found[born]) >= ALL for a, b in product(living, dead))


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
        found, filled = numbers(cells), cells.filled
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
    rows = litters.rows_of_dam(code)
    known = ~np.isnan(rows) & ~np.isnan(found)
    return bool(known.any() and (rows[known] == found[known]).mean() >= NEARLY_ALL)


def _codes(table: RawTable, own: TableMap) -> None:
    """Numbers over 1 where yes or no is asked for: codes of which only the farm knows the meaning, or counts."""
    for name, of_litter in CODED.items():
        heading = litters.heading_of(table, own, name)
        if heading is None:
            continue
        cells = table.columns[heading]
        words = {plain(word) for word in own.words.get(name, {})}
        used = cells.uses
        found = numbers(RawColumn(np.arange(len(cells.distinct)), cells.distinct))
        code = (found == np.floor(found)) & (found >= 0) & (found <= LAST_CODE) & (used > 0)
        open_ = code & ~np.array([plain(cell) in words for cell in cells.distinct], dtype=bool)
        if used[code].sum() < HALF * used.sum() or not open_.any():
            continue
        if (open_ & (found >= FIRST_CODE)).any() or _alike_in_litters(table, own, numbers(cells)):
            each = {int(value): int(used[found == value].sum()) for value in sorted(set(found[code]))}
            codes = ", ".join(f"{value} in {n:,} row{'' if n == 1 else 's'}" for value, n in each.items())
            raise CannotRead(
                f'{table.place}: "{heading}" holds numbers ({codes}); if they are codes, say in the map under '
                f"[words.{name}] which means dead and which alive; if they count newborns of a litter, say under "
                f'[columns] "{heading}" = "{of_litter}" in a book of one row a dam, else = "" to leave it out.'
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
    heading = litters.heading_of(table, own, "litter_size") or _said_in_words(table, own)
    alone = ("newborn_id", "sex", "birth_order", "birth_weight_kg")
    if heading is None or any(litters.is_filled(table, own, name) for name in alone):
        return
    code = litters.dams(table, own)
    if code is None:
        return
    size = _sizes(table.columns[heading], own)
    several = (size > 1) & (code >= 0)
    if several.sum() >= LEAST and (litters.rows_of_dam(code)[several] == 1).mean() >= NEARLY_ALL:
        as_counts = (
            f'say in the map under [columns] "{heading}" = "newborns_born" and which column counts its dead '
            "(newborns_lost)"
            if np.isfinite(numbers(table.columns[heading])).any()
            else "write a row for each newborn with its own outcome, or count born and dead in columns of numbers"
        )
        raise CannotRead(
            f'{table.place}: nearly every dam stands on one row, though "{heading}" is often over 1; if a row stands '
            f"for a litter, {as_counts}; if the other newborns were not written down, leave it out with "
            f'"{heading}" = "".'
        )


def _sizes(cells: RawColumn, own: TableMap) -> NDArray[np.float64]:
    """The size that each cell gives, as a number or in a word ("Twin")."""
    words = litter_words(cells, own.words.get("litter_size", {}))
    spoken = cells.by_row(
        lambda cell: words.get(str(cell).strip().casefold().rstrip("."), np.nan), np.nan, float
    )
    many = numbers(cells)
    return np.where(np.isnan(many), spoken, many)


def _said_in_words(table: RawTable, own: TableMap) -> str | None:
    """A column that nobody knows of which every cell is a word for a litter's size ("Single", "Twin")."""
    unknown = {
        heading: cells
        for heading, cells in table.columns.items()
        if own.column_of("births", heading) is None
        and plain_heading(heading) not in own.columns
        and not is_no_column(heading)
    }
    return next((heading for heading, cells in unknown.items() if sizes_in_words(cells, own)), None)


def sizes_in_words(cells: RawColumn, own: TableMap) -> bool:
    """True where every filled cell is a whole word for a litter's size, not all the same."""
    used = [cell for cell, n in zip(cells.distinct, cells.uses, strict=True) if n]
    if len(used) < 2 or not all(isinstance(cell, str) and len(cell) > 2 for cell in used):
        return False
    return bool(np.isfinite(_sizes(cells, own))[cells.filled].all())
