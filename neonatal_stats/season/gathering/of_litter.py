"""Counts of the litter repeated on each newborn's row: left out, so that no littermate takes another's death."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import product

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import say
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.gathering.counted import ALIKE, count_headings, numbers
from neonatal_stats.season.grid import RawTable, Remark
from neonatal_stats.season.map.records_map import TableMap, plain_heading

LIVING = ("newborns_born_alive", "newborns_reared", "alive")
DEAD = ("newborns_born_dead", "newborns_died", "newborns_lost", "dead")
OUTCOMES = ("died", "died_at", "found_dead_at", "born_alive", "cause", "alive_now", "born_dead")
NEARLY_ALL, MOSTLY = 0.95, 0.8
Numbers = NDArray[np.float64]


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
    code = litters.dams(table, own)
    born = next((heading for heading, name in counted.items() if name == "newborns_born"), None)
    if born is None or code is None or litters.one_row_a_dam(code):
        return table
    found = {heading: numbers(table.columns[heading]) for heading in counted}
    alike = [heading for heading in counted if heading != born and _alike(found[heading], code)]
    if not alike or not _size_of_its_rows(found[born], code) or not _proven(counted, found, born, alike):
        return table
    kept = {heading: cells for heading, cells in table.columns.items() if heading not in alike}
    left = replace(table, columns=kept)
    if not any(litters.is_filled(left, own, name) for name in OUTCOMES):
        return table
    named = ", ".join(f'"{heading}"' for heading in alike)
    problem = say("{named} count the litter on each row of its newborns and were left out", named=named)
    remedy = say("nothing need be done; keep one column that says what became of each newborn")
    return replace(left, remarks=(*table.remarks, Remark(alike[0], problem, remedy)))


def _numeric(table: RawTable, heading: str) -> bool:
    cells = table.columns[heading]
    filled = cells.codes >= 0
    return bool(filled.any() and np.isfinite(numbers(cells)[filled]).all())


def _alike(found: Numbers, code: NDArray[np.int64]) -> bool:
    """True where all rows of nearly every dam show the same number."""
    known = code >= 0
    by_dam = pd.Series(found[known]).groupby(code[known]).agg(["size", "nunique"])
    several = by_dam[by_dam["size"] > 1]
    return len(several) > 0 and bool((several["nunique"] <= 1).mean() >= NEARLY_ALL)


def _size_of_its_rows(born: Numbers, code: NDArray[np.int64]) -> bool:
    known = code >= 0
    rows = np.bincount(code[known])[code[known]]
    return bool((rows == born[known]).mean() >= MOSTLY)


def _proven(counted: Mapping[str, str], found: Mapping[str, Numbers], born: str, alike: list[str]) -> bool:
    """Some number exceeds one, or those of the living and of the dead add up to the born."""
    if any((found[heading] > 1).any() for heading in alike):
        return True
    living = [heading for heading in alike if counted[heading] in LIVING]
    dead = [heading for heading in alike if counted[heading] in DEAD]
    return any(np.mean(found[a] + found[b] == found[born]) >= NEARLY_ALL for a, b in product(living, dead))
