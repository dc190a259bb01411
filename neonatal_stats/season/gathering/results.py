"""Lists of samples and of colostrum by their results: which say none, and values that can be of serum alone."""

from __future__ import annotations

import numpy as np

from neonatal_stats.season.finding import CannotRead, say
from neonatal_stats.season.grid import RawTable, Remark
from neonatal_stats.season.records_map import TableMap

RESULTS: dict[str, tuple[str, ...]] = {
    "samples": ("total_protein_g_per_dl", "igg_g_per_l", "brix_pct", "turbidity"),
    "colostrum": ("brix_pct", "igg_g_per_l"),
}
"""What a row of each list is written down for."""
MOST_BRIX_OF_SERUM, MOST_MEDIAN, FEWEST = 14.0, 12.0, 5
"""Serum reads 6 to 12 % Brix or 4 to 9 g/dl, colostrum mostly 15 to 35 % Brix (common practice)."""
WITHOUT_RESULT = Remark(
    "",
    say("no column of this list holds a result that can be read, so nothing of it is counted"),
    say("say in the map under [columns] which heading holds the result, and in which unit"),
    "asked",
)


def of_serum(raw: RawTable, own: TableMap) -> str:
    """The heading over values that would be of colostrum and are those of serum, of newborns without their dams.

    "" where there is none.
    """
    meant = {heading: own.column_of("colostrum", heading) for heading in raw.columns}
    if "dam_id" in meant.values() or "newborn_id" not in meant.values():
        return ""
    for heading, name in meant.items():
        if name == "brix_pct":
            texts = [
                cell.replace(",", ".") if isinstance(cell, str) else cell
                for cell in raw.columns[heading].distinct
            ]
            cells = raw.columns[heading].spread(
                np.array([_number(text) for text in texts], dtype=float), np.nan
            )
            known = cells[np.isfinite(cells)]
            if len(known) >= FEWEST and known.max() <= MOST_BRIX_OF_SERUM and np.median(known) <= MOST_MEDIAN:
                return heading
    return ""


def _number(cell: object) -> float:
    try:
        return float(str(cell).rstrip("% "))
    except ValueError:
        return np.nan


def must_be_colostrum(raw: RawTable, own: TableMap) -> None:
    """Refuse a list of colostrum whose values are those of serum. Raises `CannotRead`."""
    if heading := of_serum(raw, own):
        name = raw.sheet or raw.file
        raise CannotRead(
            f'{raw.place}: the values under "{heading}" are those of serum, not of colostrum, and no dam is named; say '
            f'in the map under [tables] "{name}" = "samples", and under [samples.columns] whether "{heading}" is '
            "brix_pct (serum Brix) or total_protein_g_per_dl."
        )
