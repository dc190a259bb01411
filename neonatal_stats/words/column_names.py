"""Moved to `words.names`; these names stay until every chapter takes them from there."""

from neonatal_stats.words.names import column_name

__all__ = ["column_name"]
