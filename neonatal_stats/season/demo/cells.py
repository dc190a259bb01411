"""How a cell is written in the demo's files."""

from __future__ import annotations

import pandas as pd


def cell_text(cell: object, column: str) -> str:
    """Times to the minute, dates as dates, numbers without needless zeros, nothing for what is missing."""
    if cell is None or cell is pd.NaT or cell != cell:
        return ""
    if isinstance(cell, pd.Timestamp):
        return f"{cell:%Y-%m-%d}" if column == "born_on" else f"{cell:%Y-%m-%d %H:%M}"
    if isinstance(cell, float):
        return f"{cell:g}" if cell < 1000 else f"{cell:.0f}"
    return str(cell)
