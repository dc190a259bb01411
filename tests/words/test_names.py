"""Terms of the vocabulary pass through the voice; a farm's own text is left as it is."""

from __future__ import annotations

from neonatal_stats.words import Voice
from neonatal_stats.words.names import label, phrase, window_label

COWS = Voice(species="cattle")


def test_a_farms_own_text_is_never_a_template() -> None:
    assert label(COWS, "pen {newborns} <b>") == "pen {newborns} <b>"
    assert phrase(COWS, "group", "{0} & co") == "calves of the group {0} & co"


def test_phrases_speak_the_species_words() -> None:
    assert phrase(COWS, "birth_type", "twin") == "twin calves"
    assert phrase(COWS, "parity_class", "first litter") == "calves of heifers and first-calvers"


def test_american_spelling_reaches_terms() -> None:
    assert label(Voice(spelling="american"), "caesarean") == "cesarean"


def test_the_last_window_is_named_by_the_age_watched_in_the_voices_language() -> None:
    assert window_label(COWS, "24 h", 1008) == "24 h"
    assert window_label(COWS, "end", 1008) == "42\u00a0d"
