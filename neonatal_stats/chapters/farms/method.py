"""How the farms were compared."""

from __future__ import annotations

from neonatal_stats.chapters.farms.result import Farms
from neonatal_stats.tables import printing
from neonatal_stats.words import Method
from neonatal_stats.words.groups import factor_name
from neonatal_stats.words.windows import window_label


def method(result: Farms) -> Method:
    """Method, settings, limits and sources."""
    say, settings = result.voice.say, result.settings
    mix = ", ".join(factor_name(result.voice, name) for name in result.mix.columns) or say("none")
    return Method(
        method=(
            say(
                "A farm's losses are set against those that the common risk of each of its kinds of birth "
                "would have given; observed over expected, times the common loss, is its loss with the mix "
                "allowed for."
            ),
            say(
                "Limits are those of a funnel plot at the farm's number of {newborns} divided by the design "
                "effect of its litters, widened by how far the farms spread beyond chance (measured with the "
                "outermost tenth drawn in)."
            ),
            say("Letters stand for names, in an order that the names do not give away."),
        ),
        settings=(
            say("Mix: {mix}.", mix=mix),
            say("Window: {window}.", window=window_label(result.window.name, result.window.end_h)),
            say("Smallest farm shown: {minimum} {newborns}.", minimum=printing.count(settings.minimum_group)),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say("Within the limits farms are not told apart: rank nothing from it."),
            say("With fewer than about ten farms little is known of how far farms spread."),
            say("Farms that watch more closely find more of their dead."),
        ),
        sources=(
            say("Spiegelhalter DJ (2005) Stat Med 24:1185-1202."),
            say("Ridout MS, Demetrio CGB, Firth D (1999) Biometrics 55:137-148."),
        ),
    )
