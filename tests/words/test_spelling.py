"""American spelling: every British word that the templates use, and nothing that the farm wrote."""

from __future__ import annotations

import re

from docs.list_templates import all_templates
from neonatal_stats.words import Voice
from neonatal_stats.words.voice import AMERICAN, american

BRITISH = re.compile(
    r"\w*(?:isation\w*|is(?:e|es|ed|ing)|ys(?:e|ed|ing)|ours?|our(?:ed|ing|able)|tres?|ae\w+|oe\w+|ogues?|grey\w*|"
    r"ll(?:ed|ing)|judgement|programmes?|ageing|whilst|towards|ence)"
)
SAME_IN_BOTH = {
    *(
        "our",
        "hour",
        "hours",
        "four",
        "your",
        "yours",
        "otherwise",
        "rise",
        "rises",
        "rising",
        "raise",
        "raised",
    ),
    *("called", "culled", "killed", "filled", "filling", "falling", "telling", "spelled", "pulled", "scours"),
    *("does", "goes", "schoenfeld", "haenszel", "heyse", "whoever", "israel", "boer"),
    *(
        "confidence",
        "difference",
        "evidence",
        "incidence",
        "influence",
        "science",
        "sentence",
        "absence",
        "silence",
        "reference",
    ),
}


def test_every_british_word_of_the_templates_has_its_american_spelling() -> None:
    words = {word for text in all_templates() for word in re.findall(r"[a-z]+", text.lower())}
    british = {word for word in words if BRITISH.fullmatch(word)} - SAME_IN_BOTH
    assert british - set(AMERICAN) == set()


def test_american_voice() -> None:
    voice = Voice(spelling="american", species="sheep")
    assert voice.say("caesarean") == "cesarean"
    assert voice.say("{newborns} born by caesarean") == "lambs born by cesarean"


def test_capitals_and_placeholders_stay() -> None:
    assert american("Standardised {standardised}") == "Standardized {standardised}"


def test_the_farms_own_spelling_stays() -> None:
    voice = Voice(spelling="american")
    assert voice.say("{name}, {farm}", name="Grey", farm="Labour Farm") == "Grey, Labour Farm"
