"""The name of a window, printed in the words set by `numbers_in`; `words.names` has it for a voice."""

from __future__ import annotations

from neonatal_stats.tables import printing


def window_label(window: object, end_h: float) -> str:
    """The name of a window; the last, "end", is named by the age to which newborns were watched."""
    return printing.age(end_h) if str(window) == "end" else str(window)
