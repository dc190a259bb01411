"""Terms of the vocabulary pass through the voice; a farm's own text is left as it is."""

from __future__ import annotations

import pytest

from neonatal_stats.vocabulary import terms
from neonatal_stats.words import Voice
from neonatal_stats.words.labels import PHRASES, label, phrase

COWS = Voice(species="cattle")


def test_a_farms_own_text_is_never_a_template() -> None:
    assert label(COWS, "pen {newborns} <b>") == "pen {newborns} <b>"
    assert phrase(COWS, "group", "{0} & co") == "calves of the group {0} & co"


def test_phrases_speak_the_species_words() -> None:
    assert phrase(COWS, "birth_type", "twin") == "twin calves"
    assert phrase(COWS, "parity_class", "first litter") == "calves of cows with their first litter"


@pytest.mark.parametrize(
    ("column", "words"),
    [
        ("birth_type", terms.BIRTH_TYPES),
        ("delivery", terms.DELIVERIES),
        ("sex", terms.SEXES),
        ("weight_class", terms.WEIGHT_CLASSES),
        ("parity_class", terms.PARITY_CLASSES),
        ("birth_place", terms.BIRTH_PLACES),
    ],
)
def test_every_term_has_its_phrase(column: str, words: tuple[str, ...]) -> None:
    assert {word for name, word in PHRASES if name == column} == set(words)


def test_american_spelling_reaches_terms() -> None:
    assert label(Voice(spelling="american"), "caesarean") == "cesarean"
