"""How survival was followed."""

from __future__ import annotations

from neonatal_stats.chapters.survival.result import Survival
from neonatal_stats.tables import printing
from neonatal_stats.words import Method
from neonatal_stats.words.verdict import LEANING_P


def method(result: Survival) -> Method:
    """Method, settings, limits and sources."""
    say, settings = result.voice.say, result.settings
    return Method(
        method=(
            say(
                "Kaplan-Meier from birth, of {newborns} born alive; deaths come before leaving at the same "
                "hour. Those that left alive, or were last seen alive, count until then. Intervals are on "
                "the log(-log) scale from influence values summed within litters. The curve of all born "
                "starts with those born dead, lost at age 0."
            ),
            say(
                "Birth types are compared over all ages by the log-rank test with its variance clustered on "
                "the litter. Clear: p under {alpha}; leaning: p under {leaning}.",
                alpha=printing.number(1 - settings.level, 2),
                leaning=printing.number(LEANING_P, 2),
            ),
            say("Days alive on average are the area under the curve up to the last age watched."),
            say(
                "Deaths known only to lie between two checks: non-parametric maximum likelihood of "
                "Turnbull, held against the curve that takes the time found."
            ),
        ),
        settings=(
            say("End of follow-up: {days} days.", days=printing.number(settings.follow_up_d, 0)),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "A curve assumes that those that left were no more and no less likely to die than those "
                "that stayed."
            ),
            say(
                "Birth type goes with birth weight, parity and care; a difference between types is an "
                "association."
            ),
            say("Deaths at an unknown age are left out, which makes the curves a little too high."),
        ),
        sources=(
            say(
                "Kaplan EL, Meier P (1958) J Am Stat Assoc 53:457-481. Lee EW, Wei LJ, Amato DA (1992) in "
                "Survival Analysis: State of the Art, 237-247."
            ),
            say(
                "Royston P, Parmar MKB (2013) BMC Med Res Methodol 13:152. Turnbull BW (1976) J R Stat Soc "
                "B 38:290-295."
            ),
        ),
    )
