"""Moved to `words.names`; these names stay until every chapter takes them from there."""

from neonatal_stats.vocabulary.terms import ANYTHING_DONE
from neonatal_stats.words.names import OWN_TERMS, factor, label, phrase

__all__ = ["ANYTHING_DONE", "OWN_TERMS", "factor", "label", "phrase"]
