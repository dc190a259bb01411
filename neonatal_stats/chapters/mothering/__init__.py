"""Did our dams accept their newborns, and what became of those they did not?"""

from __future__ import annotations

from neonatal_stats.chapters.mothering.figures import figures
from neonatal_stats.chapters.mothering.method import method
from neonatal_stats.chapters.mothering.result import Mothering, answer
from neonatal_stats.chapters.mothering.sentences import sentences
from neonatal_stats.chapters.mothering.tables import tables
from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.measures.bonding import judged
from neonatal_stats.season.model import Season

NAME = "mothering"
TITLE = "Mothering-up"
QUESTION = "Did our {dams} accept their {newborns}, which did not, and what became of those left?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Mothering",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as one newborn born alive was judged."""
    if "failed_mothering" in season.births and len(judged(season.births)):
        return ()
    return (
        voice_of(season).say(
            "Not answered: for no {newborn} born alive is it written whether its {dam} accepted it. A yes "
            "or no in mothered_up, once each {newborn} has been watched with its {dam}, would open the "
            "chapter; about 20 failures are needed before groups can be compared."
        ),
    )
