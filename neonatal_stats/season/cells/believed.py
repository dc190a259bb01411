"""What a heading means once its cells are seen: how farms write is not believed over cells that say something else."""

from __future__ import annotations

import numpy as np

from neonatal_stats.season.cells.years import dates_in
from neonatal_stats.season.grid import RawColumn, RawTable
from neonatal_stats.season.map.records_map import TableMap
from neonatal_stats.vocabulary.farm_words import count_meant

MOMENTS = ("born_at", "last_seen_at", "left_at", "last_alive_at")
"""A time of death is not among them: any cell under its heading tells of a death."""
PAIRED = ("born_at", "died_at")
"""Columns of which one heading may hold the date and another the clock time."""
ALIKE = "newborns_in_row"
ANSWERS = ("died", "born_alive", "born_dead", "alive_now")


def believed(table: str, heading: str, raw: RawTable, own: TableMap) -> str | None:
    """The column that a heading means; None where only farms' manner of writing says so and the cells do not.

    "Born" over cells without any date counts newborns, and so does "dead" over whole numbers, where one of them is
    above 1 or another column counts newborns.
    """
    meant = own.column_of(table, heading)
    if not meant or not own.only_spoken(table, heading):
        return meant
    if meant in MOMENTS and not dates_in(raw.columns[heading]):
        return None
    return None if meant in ANSWERS and _is_count(heading, raw) else meant


def meanings(table: str, raw: RawTable, own: TableMap) -> dict[str, str | None]:
    """What each heading of a sheet means: "" where the map leaves it out, None where nothing says.

    A heading that only farms' manner of writing knows gives way to a tidy one, or one of the map, for the same column:
    then it is a column that was left out.
    """
    sure = {own.column_of(table, heading) for heading in raw.columns if not own.only_spoken(table, heading)}
    found = {heading: believed(table, heading, raw, own) for heading in raw.columns}
    return {
        heading: None if meant in sure - {*PAIRED} and own.only_spoken(table, heading) else meant
        for heading, meant in found.items()
    }


def _is_count(heading: str, raw: RawTable) -> bool:
    """True where a heading that may count newborns stands over numbers of them."""
    if count_meant(heading) is None or not _numbers(raw.columns[heading], above=-1):
        return False
    counting = [cells for other, cells in raw.columns.items() if count_meant(other) not in (None, ALIKE)]
    return any(_numbers(cells, above=1) for cells in counting)


def _numbers(cells: RawColumn, above: int) -> bool:
    """True where most filled cells are whole numbers, some of them above one."""
    used = np.bincount(cells.codes[cells.codes >= 0], minlength=len(cells.distinct))[: len(cells.distinct)]
    whole = np.array([_whole(cell) for cell in cells.distinct], dtype=float)
    number = np.isfinite(whole) & (used > 0)
    return bool(2 * used[number].sum() > used.sum() and (whole[number] > above).any())


def _whole(cell: object) -> float:
    text = str(cell).removesuffix(".0")
    return float(text) if text.isascii() and text.isdigit() else np.nan
