"""Was colostrum in time and enough, did it reach the blood, and did it matter for survival?"""

from __future__ import annotations

from neonatal_stats.chapters.colostrum.method import method
from neonatal_stats.chapters.colostrum.result import Colostrum, answer
from neonatal_stats.chapters.colostrum.shown import figures, sentences, tables
from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.measures.milestones import FEEDING, hours
from neonatal_stats.season.model import Season

NAME = "colostrum"
TITLE = "Colostrum"
QUESTION = "Did our {newborns} get colostrum in time and enough, did it reach the blood, and did it go with survival?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Colostrum",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open with the time of one first feed of a newborn born alive, one feed or one blood sample."""
    births = season.births
    alive = births[~births["stillborn"].fillna(False).astype(bool)]
    timed = any(hours(alive, column).notna().any() for column in FEEDING)
    if len(alive) and (timed or len(season.feeds) or len(season.samples)):
        return ()
    return (
        voice_of(season).say(
            "Not answered: no {newborn} born alive has the time of its first feed (fed_after_min), and "
            "there are no feeds and no blood samples. Times of first feeds open the timing; to judge "
            "whether late feeds went with death takes about 65 deaths with a known first feed where half "
            "fed late, more where few did."
        ),
    )
