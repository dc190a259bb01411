"""What should next season aim at, what could be won, and what should be written down?"""

from __future__ import annotations

from neonatal_stats.chapters.planning.figures import figures
from neonatal_stats.chapters.planning.method import method
from neonatal_stats.chapters.planning.result import Planning, answer
from neonatal_stats.chapters.planning.sentences import sentences
from neonatal_stats.chapters.planning.tables import tables
from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.season.model import Season

NAME = "planning"
TITLE = "Next season"
QUESTION = "What could next season win, what would show it, and what should be written down?"
ALL_SEASONS = True

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Planning",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as there is one birth."""
    if len(season.births):
        return ()
    return (voice_of(season).say("Not answered: there are no births to plan from."),)
