"""How the high-risk groups were found."""

from __future__ import annotations

from neonatal_stats.chapters.groups.result import Groups
from neonatal_stats.measures.risk_groups import TO_LEVELS
from neonatal_stats.tables import printing
from neonatal_stats.words import Method
from neonatal_stats.words.groups import factor_name
from neonatal_stats.words.windows import window_label


def method(result: Groups) -> Method:
    """Method, settings, limits and sources."""
    say, settings = result.voice.say, result.settings
    factors = ", ".join(factor_name(result.voice, factor) for factor in result.factors)
    return Method(
        method=(
            say(
                "Every level of every factor known at birth, and every two levels together, is held against "
                "all other {newborns} whose level is known. Excess losses are the losses less what the "
                "rest's risk would have given. Intervals and tests allow for litters."
            ),
            say(
                "q is the share of false alarms to expect among the groups at or below it (Benjamini and Hochberg), "
                "counted over everything tried; {levels} of what is allowed goes to single levels, the rest to "
                "pairs. It asks only who lost more. A pair must also lose more than the rest of each of its two "
                "levels.",
                levels=printing.percent(TO_LEVELS, 0),
            ),
            say(
                "The list begins with the groups that are clear ten times over (q at most a tenth of what is "
                "allowed), then the other clear ones, then the rest; within each, most excess losses first."
            ),
            say(
                "The share drawn in is the group's share drawn towards the {herd}'s, by as much as a group "
                "of its size would swing by chance (beta-binomial empirical Bayes)."
            ),
            say(
                "The model is a Cox regression of the levels that stand out, with errors by litter. "
                "{newborns} with a level missing are not in it."
            ),
            say(
                "The suck reflex groups only {newborns} born alive and checked; nothing that happened later "
                "is used to form a group."
            ),
        ),
        settings=(
            say("Factors: {factors}.", factors=factors),
            say("Window: {window}.", window=window_label(result.window.name, result.window.end_h)),
            say(
                "Smallest group tried: {minimum} {newborns}.", minimum=printing.count(settings.minimum_group)
            ),
            say(
                "False discoveries allowed: {share}.",
                share=printing.percent(settings.false_discovery_share, 0),
            ),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "A group that lost more is where losses were, not what caused them; groups overlap, and "
                "their excess losses must not be added up."
            ),
            say("Weights are of the {newborns} that were weighed, and those found dead are often not."),
        ),
        sources=(
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
            say("Rao JNK, Scott AJ (1992) Biometrics 48:577-585."),
            say("Newcombe RG (1998) Stat Med 17:873-890."),
            say("Carlin BP, Louis TA (2000) Bayes and Empirical Bayes Methods for Data Analysis, chapter 3."),
            say("Lin DY, Wei LJ (1989) J Am Stat Assoc 84:1074-1078."),
        ),
    )
