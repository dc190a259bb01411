"""The names of the windows in which losses are counted."""

from __future__ import annotations

from neonatal_stats.tables import printing


def window_label(window: object, end_h: float) -> str:
    """The name of a window; the last, "end", is named by the age to which newborns were watched."""
    return reached(end_h) if str(window) == "end" else str(window)


def reached(end_h: float) -> str:
    """The last age watched, in whole hours or, from two days on, in days that were completed."""
    return printing.age(end_h if end_h < 48 else 24 * (end_h // 24))
