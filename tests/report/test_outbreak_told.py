"""An outbreak on page one: place and first day in few words; a bad pen and a bad week are told for what they are."""

from __future__ import annotations

from datetime import date
from functools import cache

import pytest

from neonatal_stats.chapters.outbreak import NAME
from neonatal_stats.report.first_page import Standing, first_page
from neonatal_stats.report.folder import HEADLINE
from neonatal_stats.report.in_short import MOST_WORDS
from neonatal_stats.report.review import Review, build
from neonatal_stats.season.read import read_season
from tests.chapters.sick_pens import Farm, farm_season
from tests.conftest import DEMO, MADE_ON
from tests.demo import HERDS, review_of

VALE = DEMO / "outbreak" / "vale_sheep_2026.csv"


@cache
def reviewed(farm: Farm, language: str = "en") -> Review:
    return build(farm_season(farm, 1, language=language), made_on=MADE_ON, parts=(HEADLINE,))


def outbreaks(review: Review) -> list[Standing]:
    return [point for point in first_page(review).stand_out if point.chapter == NAME]


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_pen_and_the_day_stand_on_page_one_in_few_words(language: str) -> None:
    # planted: from day 7 of the season, 9 March, on
    review = reviewed(Farm(sick=0.30), language)
    (point,) = outbreaks(review)
    assert point.short.startswith("Croft: ")
    assert len(point.short.split()) <= MOST_WORDS
    onset = date.fromisoformat(dict(point.claim.about)["onset"])
    assert abs((onset - date(2026, 3, 9)).days) <= 3
    assert review.voice.day(onset) in point.short


def test_a_bad_week_everywhere_is_told_of_no_pen() -> None:
    (point,) = outbreaks(reviewed(Farm(spell=4.0)))
    assert point.short.startswith("Everywhere: ")
    assert not any(pen in point.short for pen in ("Bank", "Croft", "Intake", "Top"))


def test_a_pen_that_is_always_worse_stands_out_as_no_outbreak() -> None:
    assert outbreaks(reviewed(Farm(worse=2.5))) == []


def test_the_demo_season_with_an_outbreak_names_its_pen_and_a_day_near_the_planted_one() -> None:
    # planted: Long Pen, from 18 March on (data/demo/outbreak/truth.toml)
    (point,) = outbreaks(build(read_season([VALE]), made_on=MADE_ON, parts=(HEADLINE,)))
    about = dict(point.claim.about)
    assert about["place"] == "Long Pen"
    assert abs((date.fromisoformat(about["onset"]) - date(2026, 3, 18)).days) <= 3
    assert about["onset_low"] <= "2026-03-18" <= about["onset_high"]


@pytest.mark.slow
@pytest.mark.parametrize("herd", HERDS)
def test_the_demo_seasons_without_one_say_so_in_one_sentence(herd: str) -> None:
    review = review_of(herd)
    assert outbreaks(review) == []
    section = next(one for one in review.sections if one.name == NAME)
    assert [sentence.role for sentence in section.sentences] == ["answer"]
