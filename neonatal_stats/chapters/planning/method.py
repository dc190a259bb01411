"""How next season was planned."""

from __future__ import annotations

from neonatal_stats.chapters.planning.result import POWER, Planning
from neonatal_stats.measures.to_record import ENOUGH
from neonatal_stats.tables import printing
from neonatal_stats.words import Method
from neonatal_stats.words.planning import money
from neonatal_stats.words.windows import window_label


def method(result: Planning) -> Method:
    """Method, settings, limits and sources."""
    say, settings = result.voice.say, result.settings
    price = money(settings.price, settings.currency) if settings.price is not None else say("not set")
    return Method(
        method=(
            say(
                "{newborns} needed: two shares, normal approximation, a chance of {power} to see the fall, "
                "times the design effect of the last season's litters.",
                power=printing.percent(POWER, 0),
            ),
            say(
                "Avoidable losses: {newborns} of the group times the difference of its risk from the rest's, "
                "over all seasons recorded, divided by their number; the interval is Newcombe's, by litters."
            ),
            say(
                "{dams} that lost again: within each season and litter size, the litters that lost are dealt "
                "at random to the {dams} that gave birth; two or more for one {dam} is what chance gives."
            ),
            say(
                "A column counts as recorded where it says something; under {enough} of those it is asked "
                "of, it is on the list.",
                enough=printing.percent(ENOUGH, 0),
            ),
        ),
        settings=(
            say("Window: {window}.", window=window_label(result.window.name, result.window.end_h)),
            say("Price of a {newborn}: {price}.", price=price),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "What could be saved is an upper bound that holds only if the difference is the group's own "
                "doing; an association does not prove that, and no measure saves all."
            ),
            say("{dams} that lost are often culled and cannot lose again, so repeats are understated."),
        ),
        sources=(
            say(
                "Fleiss JL, Levin B, Paik MC (2003) Statistical Methods for Rates and Proportions, chapter 4."
            ),
            say("Newcombe RG (1998) Stat Med 17:873-890."),
            say("Eldridge SM et al. (2006) Int J Epidemiol 35:1292-1300 (uneven litters)."),
        ),
    )
