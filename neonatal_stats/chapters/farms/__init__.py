"""Which farms lose more than their size, their births and the usual spread explain?"""

from __future__ import annotations

from neonatal_stats.chapters.farms.figures import figures
from neonatal_stats.chapters.farms.method import method
from neonatal_stats.chapters.farms.result import Farms, answer
from neonatal_stats.chapters.farms.sentences import sentences
from neonatal_stats.chapters.farms.tables import tables
from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.season.model import Season

NAME = "farms"
TITLE = "Farms side by side"
QUESTION = "Which farms lose more {newborns} than their size, their births and the usual spread allow?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Farms",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open where two farms or more have enough newborns to be shown."""
    say, settings = voice_of(season).say, season.settings
    sizes = season.births.groupby(season.births["farm"].astype(str)).size()
    if len(sizes) < 2:
        return (
            say(
                "Not answered: the records hold one farm. The records of several would be set side by side "
                "here."
            ),
        )
    if (sizes >= settings.minimum_group).sum() < 2:
        template = (
            "Not answered: fewer than two farms have {minimum} {newborns} or more, the fewest that are shown."
        )
        return (say(template, minimum=str(settings.minimum_group)),)
    return ()
