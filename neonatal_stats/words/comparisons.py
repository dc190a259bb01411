"""Moved to `words.evidence`; these names stay until every chapter takes them from there."""

from neonatal_stats.words.evidence import (
    LOSSES,
    SEVERAL,
    Compared,
    Templates,
    compare_groups,
    compare_several,
    excess_over_lowest,
    ratio_in_words,
    verdict_of,
)

__all__ = [
    "LOSSES",
    "SEVERAL",
    "Compared",
    "Templates",
    "compare_groups",
    "compare_several",
    "excess_over_lowest",
    "ratio_in_words",
    "verdict_of",
]
