"""Was it really worse than last year, or did we just have more twins?"""

from __future__ import annotations

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.years.figures import figures
from neonatal_stats.chapters.years.method import method
from neonatal_stats.chapters.years.result import Years, answer, known_seasons
from neonatal_stats.chapters.years.sentences import headlines, sentences
from neonatal_stats.chapters.years.tables import tables
from neonatal_stats.season.model import Season

NAME = "years"
TITLE = "Years"
QUESTION = "Was it really worse than the year before, or was it only another mix of births?"
ALL_SEASONS = True

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Years",
    "answer",
    "figures",
    "headlines",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open from two seasons on, where both of the pair to be compared are there."""
    say, seasons = voice_of(season).say, season.named
    if len(seasons) < 2:
        return (
            say(
                "Not answered: the records hold one season. Adding the records of another season would open "
                "the chapter."
            ),
        )
    pair = season.compared
    lacking = [name for name in pair if name not in seasons]
    if lacking:
        template = "Not answered: no records of {lacking} to compare; the records hold {seasons}."
        return (say(template, lacking=", ".join(lacking), seasons=", ".join(seasons)),)
    if pair[0] == pair[1]:
        return (
            say("Not answered: {season} cannot be compared with itself; name two seasons.", season=pair[0]),
        )
    unseen = [name for name in pair if name not in known_seasons(season)]
    if unseen:
        template = "Not answered: in {seasons} no {newborn} was watched through any window of loss."
        return (say(template, seasons=", ".join(unseen)),)
    return ()
