"""Which sheets and ages are of the living: an age is no death, nor is a blood value."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from neonatal_stats.season.cells.fates import (
    BORN_DEAD,
    DEAD,
    DEATHS,
    outcome_asked,
    read_born_alive,
    read_died,
    tells_of_deaths,
)
from neonatal_stats.season.cells.parsed import tells
from neonatal_stats.season.gathering.sheets import TELLS_OF_BIRTHS, TOLD, of_carcasses
from neonatal_stats.season.grid import Mask, RawColumn, RawTable
from neonatal_stats.season.records_map import RecordsMap

AGED = frozenset(("age_at_death", "age_at_death_h", "age_at_death_d"))
LISTS = {
    "samples": frozenset(("igg_g_per_l", "total_protein_g_per_dl", "turbidity")),
    "treatments": frozenset(("treatment", "product")),
}
"""What only such a list holds, besides what a book of births may hold too."""
FILLED_FOR_THE_DEAD = ("died_at", "died_on", "found_dead_at", "cause")
OUTCOMES = frozenset((*TOLD, "cause", *TELLS_OF_BIRTHS))
NOT_IN = {
    "samples": OUTCOMES,
    "treatments": OUTCOMES | {"born_at", "born_on", "litter_size", "delivery"},
}
"""What stands in a book of births and not in such a list."""


def is_list(raw: RawTable, own: RecordsMap) -> bool:
    """True for a sheet of blood values or of treatments in which nothing says what became of anyone, or of carcasses
    opened on a day in which nothing is said of the living.
    """
    if of_carcasses(raw, own):
        return True
    births = {own.of("births").column_of("births", heading) for heading in raw.columns}
    for table, holds in LISTS.items():
        meant = {heading: own.of(table).column_of(table, heading) for heading in raw.columns}
        others = {heading: cells for heading, cells in raw.columns.items() if meant[heading] is None}
        if holds & set(meant.values()) and not births & NOT_IN[table]:
            return not any(tells_of_deaths(heading, cells).any() for heading, cells in others.items())
    return False


def all_dead(raw: RawTable, heading: str, meant: Mapping[str, str]) -> bool:
    """True where another column says of every row with a cell under this heading that the newborn died."""
    aged = raw.columns[heading].rows_of(tells)
    return bool(aged.any()) and any(
        not (aged & ~_dead(name, other, raw.columns[other])).any()
        for other, name in meant.items()
        if other != heading and other in raw.columns
    )


def _dead(name: str, heading: str, cells: RawColumn) -> Mask:
    """The rows of which a column of that meaning says dead."""
    if name in ("died", "alive_now", "born_dead"):
        asked = outcome_asked(heading, "alive" if name == "alive_now" else "dead")
        return cells.rows_of(np.isin(read_died(cells, asked, {}, {}).state, DEATHS))
    if name == "born_alive":
        return cells.rows_of(np.isin(read_born_alive(cells, {}), (DEAD, BORN_DEAD)))
    return cells.rows_of(tells) if name in FILLED_FOR_THE_DEAD else np.zeros_like(cells.filled)
