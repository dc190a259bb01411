"""Which columns count newborns: told by their single words, and by sums that allow one reading alone."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.gathering.dead_counts import MOST, reckoned
from neonatal_stats.season.gathering.litters import numbered
from neonatal_stats.season.grid import RawColumn, RawTable, numbers
from neonatal_stats.season.map.likeness import NEARLY_ALL
from neonatal_stats.season.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.columns import ALIKE
from neonatal_stats.vocabulary.farm_words import count_meant
from neonatal_stats.vocabulary.heading_words import count_meaning

PROVEN = 0.95
READINGS = {
    "alive": ("newborns_born_alive", "newborns_reared"),
    "dead": ("newborns_born_dead", "newborns_died", "newborns_lost"),
}


def counts_by_words(table: RawTable, own: TableMap) -> dict[str, str]:
    """Headings that count one dam's newborns by their single words, where every dam has one row and nothing is of one
    newborn; none where they count no births and no fates, or two of them the same.
    """
    code = litters.dams(table, own)
    single = any(litters.is_filled(table, own, name) for name in litters.OF_NEWBORN)
    if code is None or not litters.one_row_a_dam(code) or single:
        return {}
    found: dict[str, str] = {}
    for heading, cells in table.columns.items():
        meant = count_meant(heading) or count_meaning(heading)
        known = own.column_of("births", heading) if plain_heading(heading) in own.columns else None
        if meant and meant != ALIKE and known is None and _few_whole_numbers(cells):
            found[heading] = meant
    names = list(found.values())
    of_births = {"newborns_born", "newborns_born_alive"} & set(names)
    return found if of_births and len(found) > 1 and len(set(names)) == len(names) else {}


def counts_by_sums(table: RawTable, own: TableMap) -> dict[str, str]:
    """Born and dead where every dam has one row and one number is always that of the living and the dead beside it.

    The sums prove what "calves" or "litter" leaves open, even where the row names the tags of all its young. The living
    then are the born less the dead, "".
    """
    code = litters.dams(table, own)
    if code is None or not litters.one_row_a_dam(code) or own.columns:
        return {}
    whole = {h: numbers(cells) for h, cells in table.columns.items() if _few_whole_numbers(cells)}
    says = {heading: count_meant(heading) or count_meaning(heading) for heading in whole}
    dead = [heading for heading, name in says.items() if name in READINGS["dead"] or name == "dead"]
    alive = [heading for heading, name in says.items() if name in READINGS["alive"] or name == "alive"]
    born = [heading for heading in whole if heading not in (*dead, *alive)]
    if len(dead) != 1 or len(alive) != 1 or not (whole[dead[0]] > 0).any():
        return {}
    summed = whole[dead[0]] + whole[alive[0]]
    proven = [h for h in born if (whole[h] > 1).any() and (whole[h] == summed)[code >= 0].mean() >= PROVEN]
    lost = "newborns_lost" if says[dead[0]] == "dead" else says[dead[0]]
    return {proven[0]: "newborns_born", dead[0]: lost, alive[0]: ""} if len(proven) == 1 else {}


def counts_of_born(table: RawTable, heading: str) -> bool:
    """True where numbers, 0 and some over 1, are nowhere more than those of a column that counts the born."""
    many = numbers(table.columns[heading])
    if not _few_whole_numbers(table.columns[heading]) or not ((many > 1).any() and (many == 0).any()):
        return False
    return any(
        (count_meant(other) or count_meaning(other)) in ("newborns_born", "newborns_born_alive")
        and _few_whole_numbers(cells)
        and not (many > numbers(cells)).any()
        for other, cells in table.columns.items()
        if other != heading
    )


def _few_whole_numbers(cells: RawColumn) -> bool:
    """True where nearly every filled cell is a whole number that a litter may have."""
    if not cells.filled.any():
        return False
    many = numbers(cells)[cells.filled]
    return bool(((many == np.floor(many)) & (many >= 0) & (many <= MOST)).mean() >= NEARLY_ALL)


def proven_count(table: RawTable, counted: Mapping[str, str], heading: str) -> str:
    """What a count of "dead" or "alive" counts, where the sums allow one reading alone; "" where they allow more."""
    names = [name for name in READINGS[counted[heading]] if name not in counted.values()]
    allowed = [name for name in names if counts_agree(table, {**counted, heading: name}, declared=True)]
    return allowed[0] if len(allowed) == 1 else ""


def counts_agree(table: RawTable, counted: Mapping[str, str], declared: bool = False) -> bool:
    """True where the counts can be read in one way, and that is what nearly every row says."""
    by_name = {name: numbers(table.columns[heading]) for heading, name in counted.items()}
    try:
        found = reckoned(table.place, counted, by_name, declared)
    except CannotRead:
        return False
    return bool(found.wrong.mean() <= 1 - NEARLY_ALL)


def proven_counts(table: RawTable, own: TableMap) -> list[str]:
    """Columns that nobody knows whose numbers, summed over a dam's rows, give the litter size where the rows do not."""
    size_at = litters.heading_of(table, own, "litter_size")
    code = litters.dams(table, own)
    if size_at is None or code is None or litters.is_filled(table, own, "newborn_id"):
        return []
    size, known, rows = numbers(table.columns[size_at]), code >= 0, litters.rows_of_dam(code)
    litter = np.maximum(code, 0)
    found = []
    for heading in open_counts(table, own):
        many = np.where(known, np.nan_to_num(numbers(table.columns[heading])), 0)
        summed = np.bincount(litter, many)[litter]
        if known.any() and (summed == size)[known].mean() >= PROVEN > (rows == size)[known].mean():
            found.append(heading)
    return found


def open_counts(table: RawTable, own: TableMap) -> list[str]:
    """Columns that nobody knows and that hold whole numbers from 1 on in every row, some above 1."""
    found = []
    for heading, cells in table.columns.items():
        if own.columns.get(plain_heading(heading)) is not None or not cells.filled.any():
            continue
        if own.column_of("births", heading) is not None or numbered(heading, own) is not None:
            continue
        many = numbers(cells)[cells.filled]
        whole = bool((many == np.floor(many)).all() and (many >= 1).all() and (many > 1).any())
        if whole and len(many) >= PROVEN * len(cells.codes):
            found.append(heading)
    return found
