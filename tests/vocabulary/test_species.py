"""Every species has its words in every language and its plausible and usual ranges."""

from __future__ import annotations

import pytest

from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.languages import languages
from neonatal_stats.vocabulary.shed import NEEDED as NEEDED_FIELDS
from neonatal_stats.vocabulary.shed import USUAL, shed_languages, shed_words
from neonatal_stats.vocabulary.species import ANY_SPECIES, FORMS, SPECIES, SpeciesEntry, plausible, usual
from neonatal_stats.words.voice import catalogue

NEEDED = ("birth_weight_kg", "gestation_d")
each_species = pytest.mark.parametrize("species", SPECIES, ids=lambda one: one.name)


@pytest.mark.parametrize("language", languages())
@each_species
def test_a_species_has_its_words_in_every_language(language: str, species: SpeciesEntry) -> None:
    spoken = catalogue(language)
    assert species.name in set(spoken.species), f"[species] of {language} has no {species.name}"
    assert len(spoken.species[species.name]) == len(spoken.forms)
    assert all(spoken.species[species.name])
    assert set(spoken.forms) >= set(FORMS)
    assert language == "en" or species.name in set(spoken.templates), f"{language} has no term {species.name}"


@pytest.mark.parametrize("language", languages())
def test_no_language_has_words_of_a_species_that_is_not(language: str) -> None:
    assert set(catalogue(language).species) == {"", *terms.SPECIES}


@each_species
def test_a_species_has_its_plausible_ranges_and_where_values_usually_lie_inside_them(
    species: SpeciesEntry,
) -> None:
    for column in NEEDED:
        assert column in species.plausible, f"{species.name} has no plausible {column}"
        assert column in species.usual, f"{species.name} has no usual {column}"
        (low, high), (inner_low, inner_high) = species.plausible[column], species.usual[column]
        assert low <= inner_low < inner_high <= high


@pytest.mark.parametrize("language", [one for one in shed_languages() if one != "en"])
@each_species
def test_a_species_has_its_word_on_every_sheet_for_the_shed(language: str, species: SpeciesEntry) -> None:
    known = shed_words(language).words["species"]
    assert species.name in known, f"[shed_words.species] of {language} has no word for {species.name}"


@each_species
def test_a_species_has_a_sheet_and_the_months_that_it_is_carried(species: SpeciesEntry) -> None:
    """The months agree with the usual length of gestation, a month being 30.4 days."""
    assert set(NEEDED_FIELDS) <= set(USUAL[species.name])
    low, high = species.usual["gestation_d"]
    assert low - 20 <= species.carried * 30.4 <= high + 20


@each_species
def test_no_range_is_wider_than_that_of_any_species(species: SpeciesEntry) -> None:
    for column, (low, high) in species.plausible.items():
        widest = ANY_SPECIES.get(column, (0, 1000))
        assert widest[0] <= low < high <= widest[1]


def test_a_setting_goes_before_the_species_and_the_species_before_the_default() -> None:
    assert plausible("gestation_d", "sheep", {}, {}) == (125, 165)
    assert plausible("gestation_d", "", {}, {}) == (100, 420)
    assert plausible("gestation_d", "sheep", {"gestation_d": (1, 2)}, {}) == (1, 2)
    assert plausible("gestation_d", "sheep", {"gestation_d": (1, 2)}, {"sheep": {"gestation_d": (3, 4)}}) == (
        3,
        4,
    )
    assert plausible("cause", "sheep", {}, {}) is None
    assert usual("birth_weight_kg", "cattle") == (18, 62)
    assert usual("dam_age_y", "cattle") == (1, 16)
