"""Moved to `words.evidence`; these names stay until every chapter takes them from there."""

from neonatal_stats.words.evidence import Method, Sentence

__all__ = ["Method", "Sentence"]
