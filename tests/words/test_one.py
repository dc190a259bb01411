"""One animal is said in the singular, in both languages, and whatever is more than one is not."""

from __future__ import annotations

import re

import pytest

from docs.list_templates import all_templates
from neonatal_stats.words.one import ENGLISH_NOUNS, of_one
from neonatal_stats.words.voice import UNDATED, Voice, catalogue

COUNT_AND_NOUN = re.compile(r"\{(?:n|rows|lost|events|tried|total|mobs)\} ([a-z]+s)\b")
NO_NOUNS = {"as", "has", "is", "its", "less", "minus", "plus", "this", "times", "was"}
"""Words in s that stand after a count and are no plural, or whose template has another for once."""


@pytest.mark.parametrize(
    ("language", "template", "n", "text"),
    [
        (
            "en",
            "{treatment}, {n} {newborns}: {lost} lost afterwards",
            "1",
            "energy, 1 lamb: 0 lost afterwards",
        ),
        (
            "en",
            "{treatment}, {n} {newborns}: {lost} lost afterwards",
            "2",
            "energy, 2 lambs: 0 lost afterwards",
        ),
        (
            "en",
            "{treatment}, {n} {newborns}: {lost} lost afterwards",
            "11",
            "energy, 11 lambs: 0 lost afterwards",
        ),
        ("en", "{n} {newborns} are undecided.", "1", "1 lamb is undecided."),
        ("de", "{season}, {n} mobs", "1", "2026, 1 Teilherde"),
    ],
)
def test_a_count_of_one_takes_the_singular(language: str, template: str, n: str, text: str) -> None:
    said = Voice(language=language, species="sheep").say(
        template, n=n, treatment="energy", lost="0", season="2026"
    )
    assert said == text


@pytest.mark.parametrize(
    ("template", "n", "text"),
    [
        ("{n} {newborns} sind offen.", "1", "{n} {newborn} ist offen."),
        ("{n} {newborns} sind offen.", "21", "{n} {newborns} sind offen."),
        ("Es waren {n} {newborns}.", "1", "Es war {n} {newborn}."),
        ("Von {n} Teilherden", "1", "Von {n} Teilherde"),
        ("mit {n} {newborns_dative}", "1", "mit {n} {newborn}"),
    ],
)
def test_german_has_its_own_singulars(template: str, n: str, text: str) -> None:
    known = catalogue("de")
    assert of_one(template, {"n": n}, known.one_noun, known.one_verb) == text


def test_every_plural_beside_a_count_has_a_singular() -> None:
    """Templates found in the source: what stands right after a count in them."""
    found = {noun for template in all_templates() for noun in COUNT_AND_NOUN.findall(template)}
    assert found >= {"mobs", "samples"}
    assert found - NO_NOUNS - set(ENGLISH_NOUNS) == set()


def test_a_season_without_a_name_is_said_in_each_language() -> None:
    assert Voice().say("In {season}.", season="season not recorded") == f"In {UNDATED}."
    german = Voice(language="de").say("{season}, {n} mobs", season="season not recorded", n="3")
    assert german == "Saison ohne Jahr, 3 Teilherden"
