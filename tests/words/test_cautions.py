"""Cautions stand where a reader would act, with their thresholds, in every language and on every review."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from functools import cache
from html import escape
from importlib import import_module
from typing import Any

import pytest

from neonatal_stats.chapters.protocol import Chapter
from neonatal_stats.measures.milestones import not_asked, taken_off
from neonatal_stats.report.at_a_glance import at_a_glance
from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import Review, build
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Marks, Settings
from neonatal_stats.words import Voice
from neonatal_stats.words.cautions import cautions, touching, weak_and_cold
from tests.chapters.build import season
from tests.chapters.twelve import twelve

pytestmark = pytest.mark.usefixtures("undrawn")


@cache
def reviewed(language: str) -> Review:
    return build(replace_language(twelve(), language), made_on=date(2026, 6, 1))


def said(name: str, of: Season) -> list[str]:
    chapter: Chapter = import_module(f"neonatal_stats.chapters.{name}")
    return [one.text for one in chapter.sentences(chapter.answer(of)) if one.role == "caution"]


@pytest.mark.parametrize(
    ("chapter", "caution"),
    [
        ("losses", "isolate the ewe, keep foetus and afterbirth for the laboratory"),
        ("losses", "report where the law says so. Gloves; no pregnant women near"),
        ("first_hours", "put the lamb down without delay"),
        ("first_hours", "energy before warming"),
        ("first_hours", "Care for navels at birth"),
        ("mothering", "can end in rejection, in sheep above all"),
        ("colostrum", "cannot hold up its head or swallow, or that is under 37 °C"),
    ],
)
def test_each_chapter_in_which_a_reader_acts_has_its_caution(chapter: str, caution: str) -> None:
    assert [text for text in said(chapter, twelve()) if caution in text]


def test_warming_and_energy_stand_in_their_order_with_their_thresholds() -> None:
    # common practice: 37 to 39 C dry, shelter, feed; under 37 C up to 5 h dry and warm, older: energy, then warm
    text = weak_and_cold(Voice(species="sheep"), Marks()).text
    assert "37 to 39 °C: dry, shelter, feed." in text
    assert re.search(r"Under 37 °C: up to about 5\u00a0h old, dry and warm first", text)
    assert text.index("dry and warm first") < text.index("older, energy before warming")
    own = weak_and_cold(Voice(species="sheep"), Marks(cold_c=36.0, energy_first_h=6.0)).text
    assert "Under 36 °C: up to about 6\u00a0h" in own


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_review_says_all_of_them_where_one_acts_or_at_its_end(language: str) -> None:
    texts = cautions(Voice(language=language, species="goat"), Marks())
    words = {
        "en": ("Pregnant women", "barrier", "laboratory", "law", "energy", "swallow", "navels", "put the", "Touch"),
        "de": ("Schwangere", "ohne Schutz", "Labor", "Gesetz", "Energie", "schlucken", "Nabel", "töten", "anfassen"),
    }  # fmt: skip
    assert [word for word in words[language] if not any(word in text for text in texts)] == []
    page = page_html(reviewed(language))
    standing = re.sub("<details.*?</details>", "", page, flags=re.DOTALL)
    assert [word for word in words[language] if word not in standing] == []
    assert [text for text in texts if standing.count(escape(text)) > 1] == []


def replace_language(of: Season, language: str) -> Season:
    return replace(of, settings=replace(of.settings, language=language))


def test_the_keepers_sheet_says_them_in_the_fewest_words() -> None:
    page = keeper_html(reviewed("en"))
    for caution in (
        "Pregnant women",
        "Abortions; weak, cold or suffering ones: agree beforehand with your vet",
    ):
        assert caution in page


def test_nothing_asks_for_touching_every_newborn_without_saying_what_it_costs() -> None:
    """Weight is asked for on page one, in the chapter and on the keeper's sheet: each says when to touch."""
    review = build(_unweighed(), made_on=date(2026, 6, 1))
    assert "its weight at birth" in at_a_glance(review).record_next
    assert at_a_glance(review).record_next.endswith("Touch it for this only once its dam has taken it.")
    assert "Touch it for this only once its dam has taken it." in keeper_html(review)
    planned = next(section for section in review.sections if section.name == "planning")
    assert [
        one for one in planned.sentences if "Touch a lamb for this only once its dam has taken it" in one.text
    ]
    assert touching(Voice(), ["cause", "died_at"]) == ()


def _unweighed(**shared: Any) -> Season:
    row = {"born_alive": "yes", "delivery": "unassisted", "litter_size": 1, "seen_after_h": 1100, **shared}
    return season([{**row, "dam_id": f"E{place}"} for place in range(30)])


def test_nobody_is_asked_to_time_the_first_breath_of_every_calf() -> None:
    rows = [{"species": "cattle", "breathing_after_s": 20 if place < 10 else None} for place in range(30)]
    rows = [
        {**row, "dam_id": f"C{n}", "born_alive": "yes", "seen_after_h": 900} for n, row in enumerate(rows)
    ]
    asked = {column for one in _asked(season(rows)) for column in one}
    assert "breathing_after_s" not in asked
    lambs = season([{**row, "species": "sheep"} for row in rows])
    assert "breathing_after_s" in {column for one in _asked(lambs) for column in one}


def _asked(of: Season) -> list[tuple[str, ...]]:
    sections = build(of, made_on=date(2026, 6, 1), parts=("headline",)).sections
    return [one.columns for section in sections for one in section.sentences if one.role == "record next"]


def test_mothering_up_is_not_asked_where_newborns_are_taken_off_at_birth() -> None:
    by_hand = _unweighed(species="goat", rearing="artificial", mothered_up="not judged")
    assert taken_off(by_hand.births, by_hand.settings)
    assert "mothered_up" not in {column for one in _asked(by_hand) for column in one}
    review = build(by_hand, made_on=date(2026, 6, 1), parts=("headline",))
    closed = next(section for section in review.sections if section.name == "mothering")
    assert closed.missing[0].startswith("Not asked: these kids are taken off their does")
    assert "its dam has taken it" not in at_a_glance(review).record_next
    suckled = _unweighed(species="goat", rearing="dam")
    assert not taken_off(suckled.births, suckled.settings)
    assert "mothered_up" in {column for one in _asked(suckled) for column in one}


def test_a_herd_that_judges_mothering_up_is_asked_for_it_whatever_its_kind() -> None:
    judged = _unweighed(species="goat", rearing="artificial", mothered_up="yes")
    assert not taken_off(judged.births, judged.settings)
    assert not_asked(judged.births, Settings()) == frozenset()
