"""Moved to `measures.windows`; these names stay until every page takes them from there."""

from neonatal_stats.measures.windows import Window, compared_window, known_in, not_known_in

__all__ = ["Window", "compared_window", "known_in", "not_known_in"]
