"""How the weather was set against the losses."""

from __future__ import annotations

from neonatal_stats.chapters.weather.result import Weather
from neonatal_stats.measures.chill import COVERED, EDGES
from neonatal_stats.tables import printing
from neonatal_stats.words import Method
from neonatal_stats.words.windows import window_label


def method(result: Weather) -> Method:
    """Method, settings, limits and sources."""
    say = result.voice.say
    edges = ", ".join(printing.count(edge) for edge in EDGES)
    return Method(
        method=(
            say(
                "Sheep chill index of each hour: (11.7 + 3.1 x root of wind) x (40 - temperature) + 481 + "
                "418 x (1 - exp(-0.04 x rain)), in kJ per square metre and hour, with wind in m/s, "
                "temperature in degrees C and rain the day's total in mm. What a {newborn} met is its mean "
                "over the first hours after birth, the same window for those that died in it."
            ),
            say(
                "Counted are {newborns} born alive (weather after birth cannot touch one born dead), "
                "outdoors where the place was written down. Those born on one day share its weather, so "
                "intervals and tests cluster on the day of birth."
            ),
            say("The smooth is a logistic curve on a natural cubic spline, with a band by day of birth."),
        ),
        settings=(
            say("Chill classes cut at {edges}.", edges=edges),
            say(
                "Weather must stand for {covered} of the hours of a window.",
                covered=printing.percent(COVERED, 0),
            ),
            say("Window of loss: {window}.", window=window_label(result.window.name, result.window.end_h)),
            say("Confidence level: {level}.", level=printing.percent(result.settings.level, 0)),
        ),
        limits=(
            say(
                "The index was made for sheep and says nothing of calves or kids. Where high chill begins "
                "differs by source; shelter, coat, birth weight and the height of the wind gauge are not in "
                "it."
            ),
            say(
                "Cold days come together with other things (an early start, tired people); a link is not yet "
                "a cause. Published work finds chill tied less to deaths on the day of birth than to those "
                "of the next days."
            ),
        ),
        sources=(
            say("Nixon-Smith WF (1972), working paper, Bureau of Meteorology, Australia (index; not seen)."),
            say("Donnelly JR (1984) Aust J Agric Res 35:709-721 (index; not seen)."),
            say(
                "Horton B et al. (2019) Anim Prod Sci 59, doi 10.1071/AN18494; Broster J et al. (2012), doi "
                "10.1071/AN12066."
            ),
        ),
    )
