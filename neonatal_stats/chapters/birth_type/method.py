"""How the groups known at birth were compared."""

from __future__ import annotations

from neonatal_stats.chapters.birth_type.result import BirthType
from neonatal_stats.tables import printing
from neonatal_stats.words import Method
from neonatal_stats.words.verdict import MINIMUM_EVENTS, RULE


def method(result: BirthType) -> Method:
    """Method, settings, limits and sources."""
    say, settings = result.voice.say, result.settings
    return Method(
        method=(
            say(
                "Lost of all born, the stillborn included. Wilson intervals on the number of {newborns} "
                "divided by the design effect; risk ratios and differences (Newcombe) with variances "
                "clustered on the litter, exact where counts are small."
            ),
            say(
                "Within birth types: Mantel-Haenszel risk ratio over single, twin and larger litters, so "
                "that another mix of litter sizes does not pass for a difference."
            ),
            say(
                RULE,
                minimum_group=printing.count(settings.minimum_group),
                minimum_events=printing.count(MINIMUM_EVENTS),
            ),
            say(
                "A comparison is called clear only if its q (Benjamini-Hochberg over all comparisons here) "
                "is at most {share} too.",
                share=printing.number(settings.false_discovery_share, 2),
            ),
            say(
                "Birth weight: logistic regression on a natural cubic spline, its band from litters. Weight "
                "classes are fifths within species."
            ),
        ),
        settings=(
            say("Groups under {n} {newborns} are not compared.", n=printing.count(settings.minimum_group)),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "{newborns} that are born by surgery or with help were in trouble before; the comparison "
                "does not show what the help did."
            ),
            say(
                "Small {newborns} are small for reasons (litter size, feeding, early birth) that also matter."
            ),
            say("{newborns} that left alive count as not lost."),
        ),
        sources=(
            say("Newcombe RG (1998) Stat Med 17:873-890. Greenland S, Robins JM (1985) Biometrics 41:55-68."),
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
        ),
    )
