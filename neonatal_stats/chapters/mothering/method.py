"""How mothering-up was worked out."""

from __future__ import annotations

from neonatal_stats.chapters.mothering.result import Mothering
from neonatal_stats.tables import printing
from neonatal_stats.words import Method


def method(result: Mothering) -> Method:
    """Method, settings, limits and sources."""
    say = result.voice.say
    return Method(
        method=(
            say(
                "A failure is a {newborn} born alive that was written as not mothered up: rejected, "
                "abandoned or mismothered. Those not judged are counted apart, never as accepted. A {dam} "
                "counts once a season."
            ),
            say(
                "Shares carry Wilson's score interval on the number divided by the design effect of "
                "litters; ratios are risk ratios clustered on the litter, with q-values over all groups "
                "compared."
            ),
            say(
                "Handled before bonding is compared within easy and difficult births (Mantel-Haenszel risk "
                "ratio), because difficult births are both handled and rejected more."
            ),
        ),
        settings=(
            say(
                "Groups under {minimum} {newborns} are shown but not compared.",
                minimum=printing.count(result.settings.minimum_group),
            ),
        ),
        limits=(
            say(
                "A {newborn} has to live to be judged, and weak ones are both left and lost more: deaths "
                "after a failure are described, not explained."
            ),
            say("These figures show association in one farm's records, not proof of cause."),
            say(
                "For comparison: 51 of 103 fine-wool ewes with twins left one for good, 2 of 103 left both "
                "(Stevens and others 1982); other flocks 0 to 17 % (Alexander and others 1983)."
            ),
        ),
        sources=(
            "Stevens D, Alexander G, Lynch JJ (1982) Applied Animal Ethology 8:243-252.",
            "Alexander G et al. (1983) Applied "
            "Animal Ethology 10:301-317 (doi 10.1016/0304-3762(83)90181-5).",
            "Greenland S, Robins JM (1985) Biometrics 41:55-68.",
            "Rao JNK, Scott AJ (1992) Biometrics 48:577-585.",
        ),
    )
