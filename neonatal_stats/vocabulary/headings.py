"""Moved to `vocabulary.columns`; these names stay until the season room takes them from there."""

from neonatal_stats.vocabulary.columns import UNIT_SPELLINGS, UNIT_SUFFIXES, column_of, heading_of

__all__ = ["UNIT_SPELLINGS", "UNIT_SUFFIXES", "column_of", "heading_of"]
