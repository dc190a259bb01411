"""The names of the windows in which losses are counted."""

from __future__ import annotations

from neonatal_stats.tables import printing


def window_label(window: object, follow_up_d: float) -> str:
    """The name of a window; the last, "end", is named by its length.

    >>> window_label("24 h", 42), window_label("end", 42)
    ('24 h', '42\\xa0d')
    """
    return printing.age(24 * follow_up_d) if str(window) == "end" else str(window)
