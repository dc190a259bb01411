"""How the causes were counted."""

from __future__ import annotations

from neonatal_stats.chapters.causes.result import LEADING_EVENTS, Causes
from neonatal_stats.tables import printing
from neonatal_stats.words import Method
from neonatal_stats.words.labels import label


def method(result: Causes) -> Method:
    """Method, settings, limits and sources."""
    say, settings = result.voice.say, result.settings
    return Method(
        method=(
            say(
                "Each loss is counted once, under the cause written down; those born dead with none written "
                "are stillbirths, other losses with none are unknown. Shares of losses have Wilson "
                "intervals that allow for litters."
            ),
            say(
                "Against age: Aalen-Johansen, all causes at once, so that at every age the causes and the "
                "share alive add up to 1. Intervals from influence values summed within litters. One minus "
                "a survival curve for a single cause is never shown: it overstates."
            ),
            say(
                "Birth types are compared for each cause with at least {n} losses by Gray's test with "
                "littermates allowed for, and q-values of Benjamini and Hochberg over the causes tried.",
                n=printing.count(LEADING_EVENTS),
            ),
            say(
                "Unknown: the highest share of a cause is what it would be if every unknown loss were of it."
            ),
        ),
        settings=(
            say(
                "Causes: {causes}.", causes=", ".join(label(result.voice, cause) for cause in settings.causes)
            ),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "A cause by opinion is often wrong: starvation, cold and difficult birth look alike in a "
                "dead {newborn}, and a post-mortem examination (by or under a veterinary surgeon) may name "
                "another."
            ),
            say("One cause a loss is written down, though several may have worked together."),
        ),
        sources=(
            say("Aalen OO, Johansen S (1978) Scand J Stat 5:141-150. Gray RJ (1988) Ann Stat 16:1141-1154."),
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
        ),
    )
