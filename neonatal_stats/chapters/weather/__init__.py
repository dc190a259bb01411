"""Had the weather of the first hours to do with our losses?"""

from __future__ import annotations

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.weather.figures import figures
from neonatal_stats.chapters.weather.method import method
from neonatal_stats.chapters.weather.result import HOURS, Weather, answer
from neonatal_stats.chapters.weather.sentences import sentences
from neonatal_stats.chapters.weather.tables import tables
from neonatal_stats.measures.chill import chill_met, has_chill
from neonatal_stats.season.model import Season

NAME = "weather"
TITLE = "Weather"
QUESTION = "Had the chill of the first hours to do with the {newborns} lost?"
ALL_SEASONS = True

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Weather",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open for sheep with temperature, wind and rain recorded around their birth."""
    say, births = voice_of(season).say, season.births
    if not births["species"].astype(object).eq("sheep").any():
        return (say("Not answered: the chill index was made for sheep, and these records name none."),)
    if not has_chill(season.weather):
        return (
            say(
                "Not answered: no weather was recorded. One row a day or hour with temperature_c, "
                "wind_m_per_s and rain_mm would open the chapter."
            ),
        )
    alive = births[~births["stillborn"].astype(bool) & births["species"].astype(object).eq("sheep")]
    if not chill_met(alive, season.weather, HOURS[-1]).notna().any():
        return (
            say("Not answered: no {newborn} was born alive within the days for which weather was recorded."),
        )
    return ()
