"""The registry of factors: the vocabulary's own lists, whole entries, the words of every level in every language."""

from __future__ import annotations

import re

import pandas as pd
import pytest

from neonatal_stats.measures.birth_factors import MAKERS, factors
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import BIRTHS
from neonatal_stats.vocabulary.factors import AT_BIRTH, BY_NAME, FACTORS, FactorEntry, family_of, references
from neonatal_stats.vocabulary.languages import languages
from neonatal_stats.words import Voice
from neonatal_stats.words.names import factor, factor_name, label, phrase

MADE_WHEN_FOLLOWED = {
    "birth_type",
    "born_by",
    "difficulty",
    "parity_class",
    "suck_class",
    "weight_class",
    "sex_mix",
}
OTHERS = [language for language in languages() if language != "en"]
COWS = Voice(species="cattle")


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("birth_type", terms.BIRTH_TYPES),
        ("delivery", terms.DELIVERIES),
        ("sex", terms.SEXES),
        ("weight_class", terms.WEIGHT_CLASSES),
        ("parity_class", terms.PARITY_CLASSES),
        ("birth_place", terms.BIRTH_PLACES),
    ],
)
def test_every_term_of_the_vocabulary_has_its_phrase(name: str, words: tuple[str, ...]) -> None:
    assert BY_NAME[name].levels == words


@pytest.mark.parametrize("entry", FACTORS, ids=lambda entry: entry.name)
def test_an_entry_is_whole(entry: FactorEntry) -> None:
    assert bool(entry.phrases) != bool(entry.own), (
        "phrases of its levels, or a phrase for the farm's own text"
    )
    assert "{level}" in (entry.own or "{level}")
    assert entry.reference is None or entry.reference in entry.levels
    assert not entry.standardisable or entry.at_birth


def test_names_are_their_own_and_every_factor_known_at_birth_can_be_read() -> None:
    assert len(BY_NAME) == len(FACTORS)
    assert set(AT_BIRTH) <= {column.name for column in BIRTHS} | set(MAKERS) | MADE_WHEN_FOLLOWED


def test_a_family_has_members() -> None:
    families = [entry.family for entry in FACTORS if entry.family]
    assert all(families.count(family) > 1 for family in families)
    assert family_of("birth_order") == family_of("several")


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("entry", FACTORS, ids=lambda entry: entry.name)
def test_every_level_has_words_in_every_language(language: str, entry: FactorEntry) -> None:
    said, english = Voice(language, species="sheep"), Voice(species="sheep")
    for level in entry.levels:
        assert phrase(said, entry.name, level) != phrase(english, entry.name, level)
        assert re.fullmatch(r"[\w ]+", level) is None or label(said, level) != level
    assert "{" not in factor_name(said, entry.name) + factor(said, entry.name)


def test_a_farms_own_text_is_put_into_the_factors_phrase_and_never_a_template() -> None:
    assert phrase(COWS, "breed", "{0} & co") == "calves of the breed {0} & co"
    assert phrase(COWS, "group", "A") == "calves of the group A"
    assert phrase(COWS, "no such factor", "A") == "calves of the group A"


def test_two_levels_together() -> None:
    assert phrase(COWS, "sex", "male", "birth_type", "twin") == "male calves that are also twin calves"


def test_references_are_those_of_the_registry() -> None:
    assert references("delivery", "sire_id") == {"delivery": "unassisted", "sire_id": None}


def test_levels_made_from_births_are_the_registrys_in_its_order() -> None:
    births = pd.DataFrame(
        {
            "birth_type": pd.Categorical(
                ["single", "twin", "twin", "triplet"], terms.BIRTH_TYPES, ordered=True
            ),
            "birth_order": [1, 1, 2, 3],
            "premature": [True, False, None, False],
            "dam_condition": [2.0, 2.5, 3.5, 3.6],
            "born_hour": [0, 6, 12, 23],
        }
    )
    made = {one.name: one for one in factors(births)}
    assert made["several"].levels == BY_NAME["several"].levels
    assert made["several"].code.tolist() == [0, 1, 1, 1]
    assert made["birth_order"].code.tolist() == [-1, 0, 1, 2]
    assert made["premature"].code.tolist() == [1, 0, -1, 0]
    assert made["dam_condition"].code.tolist() == [0, 1, 1, 2]
    assert made["time_of_birth"].code.tolist() == [0, 1, 2, 3]
    assert made["time_of_birth"].levels == BY_NAME["time_of_birth"].levels
