"""Can we trust these records?"""

from __future__ import annotations

from neonatal_stats.chapters.records.figures import figures
from neonatal_stats.chapters.records.method import method
from neonatal_stats.chapters.records.result import Records, answer
from neonatal_stats.chapters.records.sentences import sentences
from neonatal_stats.chapters.records.tables import tables
from neonatal_stats.season.model import Season

NAME = "records"
TITLE = "The records"
QUESTION = "Can we trust these records?"
ALL_SEASONS = True

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Records",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Always open: there are records, or there is no review."""
    return ()
