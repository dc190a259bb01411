"""Signs and words for none in the columns of a sheet that counts newborns for each dam: "-", "nil", "keine" are 0.

Elsewhere a dash is a blank. Among whole numbers of one dam's newborns it is how a hand writes 0, and nothing else.
"""

from __future__ import annotations

import numpy as np

from neonatal_stats.season.finding import say
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.gathering.counted import BORN, numbers
from neonatal_stats.season.gathering.dead_counts import MOST
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, Remark, recoded
from neonatal_stats.season.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.columns import ALIKE, COUNTS
from neonatal_stats.vocabulary.farm_words import count_meant
from neonatal_stats.vocabulary.spelling import bare_words, words
from neonatal_stats.vocabulary.stage_words import count_meaning

DASHES = frozenset("-–—−‐‑_")
NONE = words("""
    nil none zero no keine keins kein aucun aucune neant zéro geen ninguno ninguna cero nessuno nessuna nenhum nenhuma
    ingen inga inget ingenting zaden zadne zero dim
""")
LITTERS = ("newborn_id", "sex", "birth_order", "birth_weight_kg")
"""Columns that, filled, make a row one newborn's: then a dash stays a blank."""


def with_zeros(table: RawTable, own: TableMap) -> RawTable:
    """The sheet with 0 where its counts of a dam's newborns write a dash or a word for none; any other as it is.

    A column must hold whole numbers besides; one of dashes alone may not have been kept at all, and stays.
    """
    counts = {
        h: name
        for h in table.columns
        if (name := _count(h, own)) and _may_hold(table.columns[h], ~table.found)
    }
    signed = [h for h in counts if table.columns[h].rows_of(says_none).any()]
    if not signed or len(counts) < 2 or not set(counts.values()) & set(BORN):
        return table
    if not any((numbers(table.columns[heading])[~table.found] > 1).any() for heading in counts):
        return table
    code = litters.dams(table, own)
    of_newborns = any(
        (heading := litters.heading_of(table, own, name)) is not None
        and heading not in counts
        and litters.is_filled(table, own, name)
        for name in LITTERS
    )
    if of_newborns or (code is not None and not litters.one_row_a_dam(code)):
        return table
    remarks = [_remark(heading, table.columns[heading]) for heading in signed]
    columns = {h: _zeroed(cells) if h in signed else cells for h, cells in table.columns.items()}
    return table.remarked(*remarks, columns=columns)


def says_none(cell: object) -> bool:
    """True for a dash or a word for none.

    >>> [says_none(cell) for cell in ("-", "–", "nil", "Keine", "n/a", "?", 0)]
    [True, True, True, True, False, False, False]
    """
    if not isinstance(cell, str) or not cell or cell[-1].isdigit():
        return False
    return set(cell) <= DASHES or bare_words(cell) in NONE


def _count(heading: str, own: TableMap) -> str:
    """What a heading counts, as the map says, else by its words; "" for none."""
    meant = own.columns.get(plain_heading(heading))
    if meant is not None:
        return meant if meant in {column.name for column in COUNTS} else ""
    name = count_meant(heading) or count_meaning(heading)
    return "" if name == ALIKE else name


def _may_hold(cells: RawColumn, rows: Mask) -> bool:
    """True where every cell of a litter that is filled and says no none is a whole number that a litter may have."""
    told: Mask = rows & cells.filled & ~cells.rows_of(says_none)
    many = numbers(cells)[told]
    return bool(len(many) and ((many == np.floor(many)) & (many >= 0) & (many <= MOST)).all())


def _zeroed(cells: RawColumn) -> RawColumn:
    return recoded(cells.codes, ["0" if says_none(cell) else cell for cell in cells.distinct])


def _remark(heading: str, cells: RawColumn) -> Remark:
    n = int(cells.rows_of(says_none).sum())
    shown = ", ".join(str(cell) for cell in cells.distinct if says_none(cell))
    problem = say("cells of this column of counts read as 0: {n} ({cells})", n=f"{n:,}", cells=shown)
    return Remark(heading, problem, say("write 0 where there were none"))
