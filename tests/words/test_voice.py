"""A voice prints its own numbers in its own language, says one animal in the singular, and remembers what it said."""

from __future__ import annotations

import pickle
import re
from dataclasses import dataclass, replace
from datetime import date

import pytest

from docs.list_templates import all_templates
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Said, Sentence, Voice, joined, voice_of
from neonatal_stats.words.voice import ENGLISH_NOUNS, UNDATED, catalogue, of_one

GERMAN = Voice("de", species="sheep")
TEMPLATE = "By {window} of age {lost} had been lost."


@dataclass
class Result:
    settings: Settings
    species: str


def _said(voice: Voice) -> str:
    return voice.say(TEMPLATE, window=voice.age(24), lost=voice.share_of(68, 600, 0.09, 0.142))


def test_german_is_german_throughout() -> None:
    assert GERMAN.percent(0.1234) == "12,3\u00a0%"
    assert GERMAN.counts(3, 7) == "3 von 7"
    assert [GERMAN.day(date(2026, month, 30)) for month in (3, 5, 9)] == [
        "30.\u00a0März",
        "30.\u00a0Mai",
        "30.\u00a0Sept.",
    ]
    assert "68 von 600 (11,3\u00a0%, 9,0 bis 14,2\u00a0%)" in _said(GERMAN)


def test_an_age_at_which_a_window_ends_has_the_name_of_the_window() -> None:
    voice = voice_of(Result(Settings(windows_h={"48 h": 48, "7 d": 168, "weaning": 1008}), "sheep"))
    assert Voice().age(48) == "2\u00a0d"
    assert voice.age(48) == "48\u00a0h"
    assert voice.age_span(24, 48) == "24 to 48\u00a0h"
    assert voice.age_span(48, 168) == "48\u00a0h to 7\u00a0d"
    assert voice.age_span(72, 168) == "3 to 7\u00a0d"
    assert voice.age(1008) == "weaning"


def test_a_sentence_keeps_its_template_and_values() -> None:
    sentence = Sentence(_said(GERMAN))
    assert sentence.template == TEMPLATE
    assert sentence.values["window"] == "24\u00a0h"
    assert Sentence("put together by hand").template == ""


def test_values_are_found_through_sentences_within_sentences() -> None:
    inner = Voice().say("p {p}", p="0.04")
    whole = joined([Voice().say("Weeks of birth: {said}", said=inner), "Plain."])
    assert whole == "Weeks of birth: p 0.04 Plain."
    assert isinstance(whole, Said)
    assert list(whole.filled()) == [("p", "0.04"), ("part_1", "Plain.")]


def test_what_was_said_survives_another_process() -> None:
    said = pickle.loads(pickle.dumps(_said(GERMAN)))
    assert said == _said(GERMAN)
    assert said.template == TEMPLATE


def test_the_voice_of_a_season_or_a_result_is_made_once() -> None:
    result = Result(Settings(language="de"), "sheep")
    assert voice_of(result) == replace(
        GERMAN, windows=tuple((h, name) for name, h in Settings().windows_h.items())
    )
    assert voice_of(result) is voice_of(Result(Settings(language="de"), "sheep"))


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
