"""How the records were looked at."""

from __future__ import annotations

from neonatal_stats.chapters.records.result import Records
from neonatal_stats.measures.heaping import MANY_TIMES
from neonatal_stats.tables import printing
from neonatal_stats.words import Method


def method(result: Records) -> Method:
    """Method, settings, limits and sources."""
    say, settings = result.voice.say, result.settings
    return Method(
        method=(
            say(
                "Every row read ends in one place: used, used with a field set to missing, or set aside; a "
                "row is set aside only where no honest outcome can be made of it."
            ),
            say(
                "Columns known at birth: the share filled for those lost against the others, as a "
                "difference with an interval that allows for litters. Said only where the interval lies "
                "wholly below 0."
            ),
            say(
                "Rounded: minutes on the quarter hour (4 in 60 by chance), weights on the half kilogram (2 "
                "in 10 by chance); called rounded where the interval lies above {times} times that.",
                times=printing.number(MANY_TIMES, 0),
            ),
            say(
                "How long {newborns} were watched: reverse Kaplan-Meier, deaths counted as the end of sight."
            ),
        ),
        settings=(
            say("End of follow-up: {days} days.", days=printing.number(settings.follow_up_d, 0)),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "Records cannot show births that nobody wrote down: dead {newborns} taken by scavengers, "
                "night births."
            ),
            say("All seasons that were read are looked at together, and by season where the table says so."),
        ),
        sources=(
            say("Schemper M, Smith TL (1996) Control Clin Trials 17:343-346."),
            say("Sargeant JM et al. (2016) STROBE-Vet, J Vet Intern Med 30:1887, items 12 to 14."),
        ),
    )
