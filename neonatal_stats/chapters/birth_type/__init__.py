"""Which newborns were lost more: by birth type, delivery, sex, birth weight and the dam's litters?"""

from __future__ import annotations

from neonatal_stats.chapters.birth_type.figures import figures
from neonatal_stats.chapters.birth_type.method import method
from neonatal_stats.chapters.birth_type.result import FACTORS, BirthType, answer
from neonatal_stats.chapters.birth_type.sentences import sentences
from neonatal_stats.chapters.birth_type.tables import tables
from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.season.model import Season

NAME = "birth_type"
TITLE = "Birth type, delivery, weight and dam"
QUESTION = (
    "Which {newborns} were lost more: by birth type, delivery, sex, birth weight and the {dam}'s litters?"
)

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "BirthType",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open where at least one factor has two groups, and something was lost."""
    say, births = voice_of(season).say, season.births
    if not births["lost"].any():
        return (say("Nothing to compare: no loss was recorded."),)
    if not any(name in births and births[name].nunique() > 1 for name in FACTORS):
        return (
            say(
                "Not answered: the records do not tell groups apart. Any of dam_id (or litter_size), "
                "delivery, sex, birth_weight_kg and dam_parity would open the chapter."
            ),
        )
    return ()
