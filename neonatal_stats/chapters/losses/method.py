"""How the losses were counted."""

from __future__ import annotations

from neonatal_stats.chapters.losses.result import Losses
from neonatal_stats.tables import printing
from neonatal_stats.words import Method
from neonatal_stats.words.verdict import MINIMUM_EVENTS, RULE
from neonatal_stats.words.windows import window_label


def method(result: Losses) -> Method:
    """Method, settings, limits and sources."""
    say, settings = result.voice.say, result.settings
    windows = ", ".join(window_label(w, result.end_h) for w in (*settings.windows_h, "end"))
    return Method(
        method=(
            say(
                "Every {newborn} born is counted once; those born dead are losses at age 0. Shares have "
                "Wilson score intervals on the number of {newborns} divided by the design effect, since "
                "littermates are not independent."
            ),
            say(
                "The curve is Kaplan-Meier over all {newborns} born; its interval is clustered too. The "
                "life table holds those born alive; shares and intervals in it are Kaplan-Meier within each "
                "span."
            ),
            say(
                "Weeks are compared by a chi-square test adjusted for litters, births by night (20 to 08 h) "
                "with births by day by a clustered risk ratio."
            ),
            say(
                RULE,
                minimum_group=printing.count(settings.minimum_group),
                minimum_events=printing.count(MINIMUM_EVENTS),
            ),
        ),
        settings=(
            say("Windows: {windows}.", windows=windows),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say("{dams} that lost everything unseen leave no record, so losses are, if anything, too low."),
            say(
                "The hour of birth is often the hour at which the {newborn} was found, and night births are "
                "found late."
            ),
        ),
        sources=(
            say(
                "Wilson EB (1927) J Am Stat Assoc 22:209-212. Rao JNK, Scott AJ (1992) Biometrics 48:577-585."
            ),
            say("Kaplan EL, Meier P (1958) J Am Stat Assoc 53:457-481."),
        ),
    )
