"""How long did those born alive live, and does it differ by birth type?"""

from __future__ import annotations

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.survival.figures import figures
from neonatal_stats.chapters.survival.method import method
from neonatal_stats.chapters.survival.result import Survival, answer
from neonatal_stats.chapters.survival.sentences import sentences
from neonatal_stats.chapters.survival.tables import tables
from neonatal_stats.measures.windows import UNKNOWN_AGES, deaths_without_age
from neonatal_stats.season.model import Season

NAME = "survival"
TITLE = "Survival"
QUESTION = "How long did the {newborns} born alive live, and does it differ by birth type?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Survival",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open where newborns were born alive and nearly all deaths have an age."""
    say = voice_of(season).say
    alive = season.births[~season.births["stillborn"].astype(bool)]
    if alive.empty:
        return (say("Not answered: no {newborn} was born alive, so there is no survival to follow."),)
    undated = deaths_without_age(alive)
    if undated > UNKNOWN_AGES * int(alive["died"].sum()) or not alive["age_known"].any():
        return (
            say(
                "Not answered: the age at death is not known for enough of those that died. When each was "
                "born (born_at or born_on) and when it died (died_at, or last_alive_at and found_dead_at) "
                "would open the chapter."
            ),
        )
    return ()
