"""Which newborns lose most, and where would next season's effort buy most?"""

from __future__ import annotations

from neonatal_stats.chapters.groups.figures import figures
from neonatal_stats.chapters.groups.method import method
from neonatal_stats.chapters.groups.result import Groups, answer
from neonatal_stats.chapters.groups.sentences import sentences
from neonatal_stats.chapters.groups.tables import tables
from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.measures.birth_factors import COLUMNS, factors
from neonatal_stats.season.model import Season

NAME = "groups"
TITLE = "High-risk groups"
QUESTION = "Which {newborns} are lost most, and where would next season's effort buy most?"
ALL_SEASONS = True

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Groups",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open where at least one factor known at birth was recorded."""
    if factors(season.births):
        return ()
    columns = ", ".join(name for name in COLUMNS if name in ("birth_type", "delivery", "sex", "birth_place"))
    return (
        voice_of(season).say(
            "Not answered: nothing known at birth was recorded to form groups by. Recording {columns}, the "
            "{dam}'s parity, birth weight or the suck reflex would open the chapter.",
            columns=columns,
        ),
    )
