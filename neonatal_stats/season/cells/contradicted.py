"""Headings whose cells cannot be what the words say: a "litter number" that many dams share is no litter's own."""

from __future__ import annotations

import numpy as np

from neonatal_stats.season.grid import Mask, RawColumn, RawTable, Rows
from neonatal_stats.season.records_map import TableMap

MOST_OF_A_LITTER = 12
"""No dam of these species bears more at once (common textbook knowledge)."""
SHARED = 0.5
"""Where more than this share of the rows have a number under which another dam stands, it is no litter's own."""
MOST_PARITIES = 20
PARITIES = frozenset(
    (*map(str, range(1, MOST_PARITIES + 1)), *map("{}.0".format, range(1, MOST_PARITIES + 1)))
)
WITHIN = ("farm", "season")


def litter_or_parity(heading: str, raw: RawTable, own: TableMap) -> str | None:
    """What a heading that may name a litter means: litter_id, or dam_parity for small numbers that dams share.

    None for any other cells that dams share, and for those that share a column with the dam's parity.
    """
    cells = raw.columns[heading]
    rows = cells.filled & ~raw.found
    if not rows.any() or _shared(cells, rows, raw, own)[rows].mean() <= SHARED:
        return "litter_id"
    small = all(str(cell).strip() in PARITIES for cell in cells.distinct[cells.uses > 0])
    free = not any(own.column_of("births", other) == "dam_parity" for other in raw.columns)
    return "dam_parity" if small and free else None


def _shared(cells: RawColumn, rows: Mask, raw: RawTable, own: TableMap) -> Mask:
    """Rows whose cell stands under several dams of a farm and season; without dams, in more rows than a litter has."""
    meant = {own.column_of("births", other): column for other, column in raw.columns.items()}
    group = np.where(rows, cells.codes, -1)
    for name in WITHIN:
        if name in meant:
            group = _within(group, meant[name].codes)
    if (dam := meant.get("dam_id")) is None:
        return np.asarray(
            np.bincount(group[rows] + 1, minlength=group.max() + 2)[group + 1] > MOST_OF_A_LITTER
        )
    pairs = np.unique(np.column_stack([group, dam.codes])[rows & dam.filled], axis=0)
    dams: Rows = np.bincount(pairs[:, 0], minlength=group.max() + 1)
    return np.asarray((dams > 1)[np.maximum(group, 0)] & (group >= 0))


def _within(group: Rows, other: Rows) -> Rows:
    """The groups told apart by another column; what belongs to none stays so."""
    _, codes = np.unique(group * (other.max() + 2) + other + 1, return_inverse=True)
    return np.where(group >= 0, codes, -1).astype(np.int64)
