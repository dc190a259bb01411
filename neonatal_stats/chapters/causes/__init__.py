"""What were the newborns lost to, and at what age?"""

from __future__ import annotations

from neonatal_stats.chapters.causes.figures import figures
from neonatal_stats.chapters.causes.method import method
from neonatal_stats.chapters.causes.result import Causes, answer
from neonatal_stats.chapters.causes.sentences import headlines, sentences
from neonatal_stats.chapters.causes.tables import tables
from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.season.model import Season

NAME = "causes"
TITLE = "Causes"
QUESTION = "What were the {newborns} lost to, and at what age?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Causes",
    "answer",
    "figures",
    "headlines",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open where something was lost and at least one cause was written down (born dead is a cause of its
    own).
    """
    say = voice_of(season).say
    lost = season.births[season.births["died"].astype(bool)]
    if lost.empty:
        return (say("Nothing to answer: no loss was recorded."),)
    if (lost["cause"].astype(str) == "unknown").all():
        return (
            say(
                "Not answered: no cause is written down for any loss. One word per loss in cause, and what "
                "it rests on in cause_basis, would open the chapter."
            ),
        )
    return ()
