"""How the first hours were worked out."""

from __future__ import annotations

from neonatal_stats.chapters.first_hours.result import FirstHours
from neonatal_stats.tables import printing
from neonatal_stats.words import Method


def method(result: FirstHours) -> Method:
    """Method, settings, limits and sources."""
    say, marks = result.voice.say, result.settings.marks
    return Method(
        method=(
            say(
                "Each mark has four answers kept apart: met, not met, died before it was due, and not "
                "observed. Shares are of those observed, with Wilson's score interval on the number "
                "divided by the design effect of litters."
            ),
            say(
                "Time to a milestone is a cumulative incidence (Aalen-Johansen) in which death before it "
                "competes; one seen not to have yet counts until it was last seen. A {newborn} with "
                "nothing written that died within the hours shown counts as died first."
            ),
            say(
                "A check as a predictor: only {newborns} alive when it was due, observed, and followed to "
                "the end of the window; not met is the positive test. Risk ratios and intervals are "
                "clustered on the litter."
            ),
            say(
                "Group comparisons carry a q-value: the share of false alarms among those called clear at "
                "that value."
            ),
        ),
        settings=(
            say(
                "Marks (common practice, all adjustable): breathing {breathing} s, suck reflex at {suck} "
                "min, standing {standing} and at the latest {late}, fed {fed}, meconium {meconium}.",
                breathing=printing.number(marks.breathing_s, 0),
                suck=printing.number(marks.suck_reflex_min, 0),
                standing=printing.age(marks.standing_h),
                late=printing.age(marks.standing_late_h),
                fed=printing.age(marks.fed_h),
                meconium=printing.age(marks.meconium_h),
            ),
        ),
        limits=(
            say("Deaths are known to the hour: a death in the hour of a check counts as after it."),
            say(
                "{newborns} watched closely have more written down; those not observed may differ from "
                "those observed."
            ),
            say(
                "A check that goes with loss may mark a {newborn} that was weak already; these are "
                "associations, not causes, and those who were resuscitated were chosen because they needed "
                "it."
            ),
        ),
        sources=(
            say("Marks: common practice, no published source."),
            "Aalen OO, Johansen S (1978) Scandinavian Journal of Statistics 5:141-150.",
            "Rao JNK, Scott AJ (1992) Biometrics 48:577-585.",
            "Benjamini Y, Hochberg Y (1995) Journal of the Royal Statistical Society B 57:289-300.",
        ),
    )
