"""What a column's cells say of its meaning: which of the columns that its heading may mean they can belong to."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.clock_times import clocks_in
from neonatal_stats.season.cells.dates import take_apart
from neonatal_stats.season.cells.fates import NOTHING, UNREAD, read_died
from neonatal_stats.season.cells.numbers import decimal_mark, litter_words, plain_number
from neonatal_stats.season.cells.parsed import is_nothing
from neonatal_stats.season.cells.words import lexicon, plain
from neonatal_stats.season.cells.years import bare_days
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.gathering.counted import numbers
from neonatal_stats.season.gathering.wide import numbered
from neonatal_stats.season.grid import RawColumn, RawTable
from neonatal_stats.season.map.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary import species as ranges
from neonatal_stats.vocabulary.columns import Column
from neonatal_stats.vocabulary.farm_words import folded, known_column

MOST = 0.8
NEARLY_ALL, FEWER, PROVEN = 0.8, 0.6, 0.95
OUTCOMES = {"died": "dead", "alive_now": "alive", "born_alive": "alive", "born_dead": "dead"}
FOR_THE_DEAD = (
    "died_at",
    "died_on",
    "found_dead_at",
    "age_at_death",
    "age_at_death_h",
    "age_at_death_d",
    "cause",
)


def chosen_by_cells(
    names: Iterable[str], cells: RawColumn, taken: set[str], table: str = "births"
) -> str | None:
    """The one column of those that a heading may mean which the cells fit and no other heading has; else None."""
    free = [name for name in names if name not in taken and fits(known_column(table, name), cells)]
    strong = [name for name in free if known_column(table, name).kind != "text"]
    if {"died", "alive_now"} <= set(strong):
        strong = ["died"] if _tells_in_words(cells) else strong
    if len(strong) > 1:
        share = float((cells.codes >= 0).mean()) if len(cells.codes) else 0.0
        for_all = [name for name in strong if name not in FOR_THE_DEAD]
        if share >= NEARLY_ALL:
            strong = for_all
        elif share < FEWER and len(strong) > len(for_all):
            strong = [name for name in strong if name in FOR_THE_DEAD]
    found = strong or free
    return found[0] if len(found) == 1 and _believed(found[0], cells, taken) else None


def _believed(name: str, cells: RawColumn, taken: set[str]) -> bool:
    """Text fits anything, so an identity must tell rows apart beside a dam, and a cause must stand for some alone.

    A bare weight may be of any age: only one that a lamb or kid has at birth is believed.
    """
    filled = cells.codes[cells.codes >= 0]
    if name == "newborn_id":
        return "dam_id" in taken and len(filled) > 0 and len(np.unique(filled)) >= NEARLY_ALL * len(filled)
    if name == "cause":
        return bool(taken & {*OUTCOMES, *FOR_THE_DEAD}) and len(filled) < FEWER * len(cells.codes)
    if name == "birth_weight_kg":
        low, high = ranges.USUAL_BY_SPECIES["sheep"][name]
        read = _read_numbers(known_column("births", name), cells)[filled]
        return bool(low <= np.nanmedian(read) <= high) if np.isfinite(read).any() else False
    return True


def fits(column: Column, cells: RawColumn) -> bool:
    """True where at least four in five of a column's filled cells can be read as this column's."""
    told = np.array([cell is not None and not is_nothing(cell) for cell in cells.distinct], dtype=bool)
    rows = np.bincount(cells.codes[cells.codes >= 0], minlength=len(told))[: len(told)]
    if not (rows * told).sum():
        return False
    readable = _readable(column, cells)
    return bool((rows * (told & readable)).sum() >= MOST * (rows * told).sum())


def _readable(column: Column, cells: RawColumn) -> NDArray[np.bool_]:
    if column.name in OUTCOMES:
        state = read_died(cells, OUTCOMES[column.name], {}, {}).state
        return np.array([answer not in (UNREAD, NOTHING) for answer in state], dtype=bool)
    if column.kind in ("moment", "date"):
        bare = bare_days(cells)
        dates = [at in bare or take_apart(cell, {}) is not None for at, cell in enumerate(cells.distinct)]
        return np.array(dates, dtype=bool) | np.isfinite(clocks_in(cells))
    if column.kind in ("term", "terms", "yes_no"):
        accepted = lexicon(column, column.words, {})
        return np.array(
            [plain(c) in accepted or folded(str(c)) in accepted for c in cells.distinct], dtype=bool
        )
    if column.kind == "text":
        return np.ones(len(cells.distinct), dtype=bool)
    return _numeric(column, cells)


def _numeric(column: Column, cells: RawColumn) -> NDArray[np.bool_]:
    read = _read_numbers(column, cells)
    low, high = ranges.widest(column.name)
    most = high * 1000 if column.unit == "kg" else high
    return np.isfinite(read) & (read >= low) & (read <= most)


def _read_numbers(column: Column, cells: RawColumn) -> NDArray[np.float64]:
    words = litter_words(cells) if column.name == "litter_size" else {}
    mark = decimal_mark(cells, False)
    read = np.full(len(cells.distinct), np.nan)
    for at, cell in enumerate(cells.distinct):
        text = str(cell).strip()
        if text.casefold().rstrip(".") in words:
            read[at] = words[text.casefold().rstrip(".")]
        elif isinstance(cell, int | float) or text[:1].isdigit():
            bare = text.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ .")
            read[at] = plain_number(bare, mark)[0] if bare else np.nan
    return np.where(read == np.floor(read), read, np.nan) if column.kind == "integer" else read


def _tells_in_words(cells: RawColumn) -> bool:
    """True where most cells say dead or alive whatever the heading asks."""
    state = read_died(cells, "either", {}, {}).state
    told = [answer not in (UNREAD, NOTHING) for answer, cell in zip(state, cells.distinct, strict=True)]
    return bool(told) and sum(told) >= MOST * len(told)


def proven_counts(table: RawTable, own: TableMap) -> list[str]:
    """Columns that nobody knows whose numbers, summed over a dam's rows, give the litter size where the rows do not."""
    size_at = litters.heading_of(table, own, "litter_size")
    code = litters.dams(table, own)
    if size_at is None or code is None or litters.is_filled(table, own, "newborn_id"):
        return []
    size, known = numbers(table.columns[size_at]), code >= 0
    litter = np.where(known, code, code.max() + 1)
    found = []
    for heading in open_counts(table, own):
        many = np.nan_to_num(numbers(table.columns[heading]))
        summed, rows = np.bincount(litter, many)[litter], np.bincount(litter)[litter]
        if known.any() and (summed == size)[known].mean() >= PROVEN > (rows == size)[known].mean():
            found.append(heading)
    return found


def open_counts(table: RawTable, own: TableMap) -> list[str]:
    """Columns that nobody knows and that hold whole numbers from 1 on in every row, some above 1."""
    found = []
    for heading, cells in table.columns.items():
        if own.columns.get(plain_heading(heading)) is not None or not (cells.codes >= 0).any():
            continue
        if own.column_of("births", heading) is not None or numbered(heading, own) is not None:
            continue
        many = numbers(cells)
        filled = many[cells.codes >= 0]
        whole = bool((filled == np.floor(filled)).all() and (filled >= 1).all() and (filled > 1).any())
        if whole and len(filled) >= PROVEN * len(many):
            found.append(heading)
    return found
