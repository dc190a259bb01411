"""A season without losses, or a small one, has a page of at most six screens, and nothing of it is lost."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from neonatal_stats.report import page as page_module
from neonatal_stats.report.at_a_glance import at_a_glance
from neonatal_stats.report.first_page import first_page
from neonatal_stats.report.page import page_html
from neonatal_stats.report.review import Review, build
from neonatal_stats.report.shown import FEW_LOST, is_short
from tests.chapters.build import season
from tests.chapters.flocks import flock
from tests.conftest import MADE_ON
from tests.report.browser import opened
from tests.report.test_first_page import FLOCK
from tests.thinned import thinned

pytestmark = pytest.mark.slow

SCREEN, SCREENS = 800, 6
Rows = list[dict[str, Any]]


def small_herd(species: str, n: int, lost: int, litter: int) -> Rows:
    """A herd whose records hold every column that opens a chapter of one season; the lost at four different ages."""
    chance = random.Random(3)
    gone = set(chance.sample(range(n), lost))
    return [
        {
            "species": species,
            "dam_id": f"d{place // litter}",
            "litter_size": litter,
            "born_at": f"2026-03-{1 + place % 25:02d} {place % 24:02d}:15",
            "born_alive": "yes",
            "sex": chance.choice(["female", "male"]),
            "delivery": chance.choice(["unassisted"] * 8 + ["easy assist", "caesarean"]),
            "dam_parity": chance.randint(1, 5),
            "birth_weight_kg": (38 if species == "cattle" else 3.5) + chance.gauss(0, 0.5),
            "stood_after_min": chance.randint(15, 80),
            "fed_after_min": chance.randint(30, 300),
            "mothered_up": chance.choice(["yes"] * 9 + ["no"]),
            **({"died_after_h": (3, 20, 60, 300)[place % 4], "cause": "infection"} if place in gone else {}),
            **({} if place in gone else {"seen_after_h": 1100}),
        }
        for place in range(n)
    ]  # fmt: skip


SMALL: dict[str, Callable[[], Rows]] = {
    "120 lambs, none lost": lambda: small_herd("sheep", 120, 0, 2),
    "40 ewes, 7 lost": lambda: [dict(row) for row in FLOCK],
    "40 goats' kids, 5 lost": lambda: small_herd("goat", 40, 5, 2),
    "40 does with twins, 8 lost": lambda: small_herd("goat", 80, 8, 2),
    "30 calves, 3 lost": lambda: small_herd("cattle", 30, 3, 1),
}


@cache
def reviewed(name: str, language: str) -> Review:
    return build(season(SMALL[name](), language=language), made_on=MADE_ON, parts=("page",))


@cache
def page_of(name: str, language: str) -> str:
    return page_html(reviewed(name, language))


BOTH = [(name, "en") for name in SMALL] + [(name, "de") for name in thinned(list(SMALL), 3)]
"""Each in English, every third one in German, whose words are longer."""


@pytest.mark.browser
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.parametrize(("name", "language"), BOTH)
def test_the_whole_page_is_at_most_six_screens(name: str, language: str, tmp_path: Path) -> None:
    file = tmp_path / "review.html"
    file.write_text(page_of(name, language), encoding="utf-8")
    with opened(file, width=1280, height=SCREEN) as (page, _, _errors):
        assert page.evaluate("document.documentElement.scrollHeight") <= SCREENS * SCREEN
        for link in page.locator(".bar a").all()[1:]:
            link.click()
            place = page.locator(str(link.get_attribute("href")))
            assert place.locator("h2, h3").first.is_visible()


def parts_of(page: str) -> set[str]:
    """What a page holds: every id, and every paragraph, row and item in its words."""
    body = page[page.index("<body") :]
    texts = re.findall(r"<(p|li|tr|h3|text)\b[^>]*>(.*?)</\1>", body, flags=re.DOTALL)
    told = {" ".join(re.sub("<[^>]*>", " ", text).split()) for _, text in texts}
    return told | set(re.findall(r'id="([^"]+)"', body))


@pytest.mark.parametrize("name", ["40 goats' kids, 5 lost", "30 calves, 3 lost"])
def test_nothing_is_lost_but_its_place(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    short = parts_of(page_of(name, "en"))
    monkeypatch.setattr(page_module, "is_short", lambda review: False)
    assert parts_of(page_html(reviewed(name, "en"))) - short == set()


@pytest.mark.parametrize(("name", "language"), BOTH)
def test_page_one_says_in_at_most_three_sentences_what_such_a_season_can_show(
    name: str, language: str
) -> None:
    review = reviewed(name, language)
    said = first_page(review).nothing
    assert 1 <= len(said) <= 3
    assert all(len(re.findall(r"[.!?](?:\s|$)", text)) == 1 for text in said)
    page = page_of(name, language)
    assert " ".join(said) in re.sub(r"\s+", " ", page)


def test_no_question_that_was_asked_is_left_out_where_all_are_too_few() -> None:
    glance = at_a_glance(reviewed("40 ewes, 7 lost", "en"))
    assert glance.who == ()
    named = [part.strip(" .") for part in re.split(r"[:;]|\. ", glance.no_groups)]
    assert len(named) == 6 + named.count("Too few to say") + named.count(
        "Not recorded, or nothing to compare with"
    )


def test_what_is_clear_stands_open_in_a_small_season_too() -> None:
    """8 of 10 lost by surgery and 1 of 39 born naturally: 49 newborns."""
    blocks = [({"delivery": "caesarean"}, 8, 10), ({"delivery": "unassisted"}, 1, 39)]
    review = build(season(flock(blocks)), made_on=MADE_ON, parts=("page",))
    assert is_short(review)
    page = page_html(review)
    chapter = page[page.index('id="birth_type"') :]
    assert 'class="clear"' in chapter[: chapter.index("<details")]
    assert "brief" not in page[page.index('id="birth_type"') - 60 : page.index('id="birth_type"')]


def test_a_season_of_ordinary_size_and_loss_is_not_cut_short() -> None:
    for lost, n, short in (
        (FEW_LOST, 200, False),
        (FEW_LOST - 1, 200, True),
        (20, 49, True),
        (20, 50, False),
    ):
        made = season(flock([({}, lost, n)]))
        assert is_short(Review(made, "2026", (), None, MADE_ON)) is short  # type: ignore[arg-type]
