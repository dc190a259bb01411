"""Were our newborns breathing, up, and fed in time, and which were not?"""

from __future__ import annotations

from neonatal_stats.chapters.first_hours.checks import checks
from neonatal_stats.chapters.first_hours.figures import figures
from neonatal_stats.chapters.first_hours.method import method
from neonatal_stats.chapters.first_hours.result import FirstHours, answer
from neonatal_stats.chapters.first_hours.sentences import sentences
from neonatal_stats.chapters.first_hours.tables import tables
from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.season.model import Season

NAME = "first_hours"
TITLE = "First hours"
QUESTION = "Were our {newborns} breathing, standing and fed in time, which were not, and did it matter?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "FirstHours",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as one check of one newborn born alive was recorded."""
    births = season.births
    alive = births[~births["stillborn"].fillna(False).astype(bool)]
    if checks(alive, season.settings.marks):
        return ()
    return (
        voice_of(season).say(
            "Not answered: no {newborn} born alive has a time to breathing, a suck reflex, or a time of "
            "standing, first feed or meconium. Any one of these columns would open the chapter: "
            "breathing_after_s, suck_reflex, stood_after_min, fed_after_min, meconium_after_min."
        ),
    )
