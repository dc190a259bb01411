"""How many newborns were lost, and when?"""

from __future__ import annotations

from neonatal_stats.chapters.losses.figures import figures
from neonatal_stats.chapters.losses.headlines import headlines
from neonatal_stats.chapters.losses.method import method
from neonatal_stats.chapters.losses.result import Losses, answer
from neonatal_stats.chapters.losses.sentences import sentences
from neonatal_stats.chapters.losses.tables import tables
from neonatal_stats.season.model import Season

NAME = "losses"
TITLE = "Losses"
QUESTION = "How many {newborns} were lost, and when?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Losses",
    "answer",
    "figures",
    "headlines",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Always open: an outcome is what makes a season."""
    return ()
