"""Moved to `words.cautions`; these names stay until every chapter takes them from there."""

from neonatal_stats.words.cautions import cautions

__all__ = ["cautions"]
