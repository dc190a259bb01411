"""Moved to `vocabulary.species`; this module stays until the season room takes its ranges from there."""

from neonatal_stats.vocabulary.species import ANY_SPECIES, BY_SPECIES, Range, plausible, usual

__all__ = ["ANY_SPECIES", "BY_SPECIES", "Range", "plausible", "usual"]
