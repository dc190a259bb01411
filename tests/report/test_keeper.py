"""The keeper's sheet: one side of spoken words out of 100, from the marks and the ledger alone."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import cache
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.ledger import decide
from neonatal_stats.report.folder import HEADLINE
from neonatal_stats.report.keeper import Sheet, keeper_sheet, shared_out
from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import Review, build
from neonatal_stats.season.model import Season
from neonatal_stats.vocabulary.columns import TABLES
from tests.chapters.build import season
from tests.chapters.flock import flock
from tests.chapters.test_edges import SEASONS
from tests.demo import GOATS, HERDS, LAST, SHEEP, review_of
from tests.report.browser import opened
from tests.report.test_at_a_glance import FATES, Rows, born, text, two_seasons
from tests.report.test_first_page import FLOCK

pytestmark = pytest.mark.slow

MADE_ON = date(2026, 6, 1)
MOST_WORDS, MOST_NUMBERS = 250, 30
NUMBER = re.compile(r"\d[\d\u202f]*(?:[.,]\d+)?")
LANGUAGES = ("en", "de")
SEEN: dict[str, Any] = {"seen_after_h": 1008}


def made(of: Season) -> Review:
    return build(of, made_on=MADE_ON, parts=(HEADLINE,))


def sheet(rows: Rows, **settings: Any) -> Sheet:
    return keeper_sheet(made(season(rows, **settings)))


def no_loss(language: str) -> Season:
    return season(SEASONS["no deaths"], language=language)


def forty_ewes(language: str) -> Season:
    return season(FLOCK, language=language)


def a_flock(language: str) -> Season:
    return flock().with_settings(language=language)


SMALL = (no_loss, forty_ewes, a_flock)


@cache
def small(records: Callable[[str], Season], language: str) -> Review:
    return made(records(language))


def is_short_and_plain(review: Review) -> None:
    """250 words, 30 numbers; no ratio, no q, no code, no name of a column, none of the words of statistics."""
    told = text(keeper_html(review))
    assert len(told.split()) <= MOST_WORDS, told
    assert len(NUMBER.findall(told)) <= MOST_NUMBERS, told
    assert "%" not in told
    columns = {column.name for table in TABLES.values() for column in table if "_" in column.name}
    assert not [name for name in columns if name in told]
    banned = r"\b(ratio|interval|confidence|hazard|risk|odds|q|p|nan|Intervall|Risiko|Konfidenz)\b"
    assert not re.search(banned, told), told


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("records", SMALL)
def test_it_is_short_and_plain(records: Callable[[str], Season], language: str) -> None:
    is_short_and_plain(small(records, language))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "language"), [*((name, language) for name in HERDS for language in LANGUAGES), (LAST, "en")]
)
def test_it_is_short_and_plain_for_the_demo_herds(name: str, language: str) -> None:
    review = review_of(name, language)
    assert len(review.season.seasons) == {SHEEP: 4, GOATS: 2}.get(name, 1)
    is_short_and_plain(review)
    assert 0 < len(keeper_sheet(review).change) <= 3
    assert len(keeper_sheet(review).well) <= 3


def test_the_picture_is_a_hundred_with_the_lost_marked_by_when() -> None:
    """15 in 100 by 7 days (see test_at_a_glance): of 3, 4 and 2 lost 5, 7 and 3; later 2 more by the curve."""
    told = sheet(FATES)
    assert told.lead == "Of every 100 lambs born, 15 were lost by 7 days."
    by_when = {one.name: int(one.n) for one in told.legend}
    assert [by_when[name] for name in ("born dead", "first day", "rest of the first week")] == [5, 7, 3]
    assert by_when["later"] == 2
    assert told.picture.count("M") == 100
    assert re.fullmatch(r"Allowing for chance: \d+ to \d+\.", told.range)


def test_whole_numbers_are_shared_out_and_add_up() -> None:
    """9 : 4 : 2 of 10 are 6.0, 2.67 and 1.33."""
    assert shared_out(10, {"a": 9, "b": 4, "c": 2}) == {"a": 6, "b": 3, "c": 1}
    assert shared_out(0, {"a": 9}) == {"a": 0}
    assert shared_out(3, {"a": 0, "b": 0}) == {"a": 0, "b": 0}


def test_what_at_least_eight_in_ten_met_went_well_and_what_fewer_met_is_to_change() -> None:
    """By chance allowed for: 190 of 200 stood, 60 of 200 had fed, by their marks."""
    rows = [
        {"dam_id": f"d{i}", "born_alive": "yes", **SEEN, "stood_after_min": 20 if i < 190 else 90,
         "fed_after_min": 60 if i < 60 else 300}
        for i in range(200)
    ]  # fmt: skip
    told = sheet(rows)
    assert "95 of 100 watched stood within 1 hour." in told.well
    assert told.change == ("Feed sooner: only 30 of 100 watched had fed within 2 hours.",)


def test_what_chance_leaves_open_is_neither() -> None:
    """16 of 20 is 8 in 10 and may be far from it."""
    rows = [
        {"dam_id": f"d{i}", "born_alive": "yes", **SEEN, "fed_after_min": 60 if i < 16 else 300}
        for i in range(20)
    ]
    told = sheet([*rows, *born(4, "x", died_after_h=30)])
    assert (told.well, told.change) == ((), ())


def group(factor: str, level: str, versus: str, **more: Any) -> Claim:
    """30 of 100 lost against 40 of 400, clear beyond doubt unless it is said otherwise."""
    key = f"groups/{factor}/{level}"
    about = (
        ("factor", factor),
        ("group", level),
        ("with_factor", ""),
        ("with_group", ""),
        ("versus", versus),
    )
    given: dict[str, Any] = {"p": 1e-9, "family": "place", "about": about, "period": ("2026",)} | more
    return Claim(key, "groups", line=key, measure="risk ratio", estimate=3.0, low=2.0, high=4.5, events=30, n=100,
                 events_versus=40, n_versus=400, excess=20.0, **given)  # fmt: skip


def with_claims(*claims: Claim) -> Sheet:
    review = made(season(FLOCK))
    return keeper_sheet(replace(review, ledger=decide(claims, review.season.settings)))


def test_only_what_management_can_change_and_the_ledger_calls_clear_is_to_change() -> None:
    outdoors = group("birth_place", "outdoors", "the rest")
    twins = group("several", "twin or more", "the rest")
    leaning = group("breed", "hill", "the rest", p=0.1)
    of_a_person = group("person", "Anna", "the rest")
    assert with_claims(outdoors, twins, leaning, of_a_person).change == (
        "Look again at birth place. Of 100 lambs born outdoors, 30 were lost; of the others, 10.",
    )


def test_what_several_seasons_say_is_told_so() -> None:
    several = group("birth_place", "outdoors", "the rest", period=("2025", "2026"))
    assert with_claims(several).change[0].endswith("of the others, 10. (All seasons together.)")


def test_plain_shares_that_point_the_other_way_are_not_told() -> None:
    """Clear among births alike, though of all together fewer were lost: 30 of 100 against 240 of 400."""
    odd = group("birth_place", "outdoors", "the rest")
    assert with_claims(replace(odd, events_versus=240)).change == (
        "Look again at birth place. Of births alike, more lambs born outdoors were lost than others.",
    )
    about = (("how", "landmark"), ("mark_h", "8.0"), ("adjusted", "True"), ("versus", "fed"))
    late = replace(
        odd, chapter="colostrum", family="feeding", asked="fed late", about=about, events_versus=240
    )
    assert with_claims(late).change == (
        "Feed early: of lambs alike, more of those not fed by 8 hours were lost.",
    )


def test_a_clear_late_feed_is_told_as_what_to_do() -> None:
    about = (("how", "landmark"), ("mark_h", "8.0"), ("adjusted", "True"), ("versus", "fed"))
    late = replace(group("x", "y", "z"), chapter="colostrum", family="feeding", asked="fed late", about=about)
    assert with_claims(late).change == (
        "Feed early: of 100 not fed by 8 hours, 30 were lost; of those fed, 10.",
    )


def test_a_season_that_clearly_lost_more_is_no_thing_to_change_and_one_that_lost_fewer_went_well() -> None:
    assert keeper_sheet(two_seasons()).change == ()
    better = replace(two_seasons(), ledger=decide(
        [replace(group("x", "y", "z"), chapter="years", family="season", asked="season", measure="risk difference",
                 period=("2025", "2026"), against=("2025",), estimate=-0.2, low=-0.3, high=-0.1, events=10,
                 n_versus=100, excess=-30.0)],
        two_seasons().season.settings))  # fmt: skip
    assert keeper_sheet(better).well == ("Fewer lost: 10 of 100, and 40 in 2025.",)


def test_no_loss_is_something_that_went_well() -> None:
    told = keeper_sheet(small(no_loss, "en"))
    assert told.lead == "No lamb was lost, of 24 born."
    assert told.well == ("No lamb was lost.",)
    assert told.legend == ()


def test_a_small_season_is_told_and_drawn_in_counts() -> None:
    told = sheet([*born(10, "a", **SEEN), *born(2, "b", died_after_h=3)])
    assert told.lead == "Of 12 lambs born, 2 were lost by 7 days."
    assert told.picture.count("M") == 12
    assert told.range == ""


def test_there_is_room_for_what_is_agreed_and_care_is_asked_for() -> None:
    page = keeper_html(made(season(FATES)))
    assert page.count("<tr>") == 4
    assert "Pregnant women" in page
    assert "keep away" in page
    assert "only with your vet" in page
    assert "Local rules" in page
    assert "not what caused it" in page


def test_what_a_farm_wrote_is_made_harmless() -> None:
    rows = [row | {"farm": "<script>x</script>", "season": '"><img>'} for row in FATES]
    page = keeper_html(made(season(rows)))
    assert "<script>x" not in page
    assert "<img>" not in page
    assert "<script>x</script>" in unescape(page)


@pytest.mark.browser
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("records", SMALL)
def test_it_prints_on_one_side_and_so_does_page_one(
    records: Callable[[str], Season], language: str, tmp_path: Path
) -> None:
    review = small(records, language)
    (tmp_path / "keeper.html").write_text(keeper_html(review), encoding="utf-8")
    (tmp_path / "page.html").write_text(page_html(review), encoding="utf-8")
    assert sides(tmp_path / "keeper.html") == 1
    last = review.voice.say(
        "These figures show association in one set of records, not proof of cause. Decisions on treatment are for a "
        "veterinary surgeon."
    )
    sides(tmp_path / "page.html")
    first = subprocess.run(
        ["pdftotext", "-l", "1", str(tmp_path / "page.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    assert last in " ".join(first.split())


def sides(file: Path) -> int:
    """How many sides of A4 it prints on."""
    with opened(file) as (page, _, _errors):
        page.pdf(path=str(file.with_suffix(".pdf")), prefer_css_page_size=True, print_background=True)
    told = subprocess.run(
        ["pdfinfo", str(file.with_suffix(".pdf"))], capture_output=True, text=True, check=True
    )
    return int(re.findall(r"Pages:\s+(\d+)", told.stdout)[0])


@pytest.mark.browser
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.parametrize("width", [360, 768, 1280])
def test_nothing_scrolls_sideways_and_no_letter_is_small(width: int, tmp_path: Path) -> None:
    review = small(a_flock, "de")
    for name, html in (("keeper", keeper_html(review)), ("page", page_html(review))):
        file = tmp_path / f"{name}.html"
        file.write_text(html, encoding="utf-8")
        with opened(file, width=width) as (page, _, _errors):
            where = "body" if name == "keeper" else "#top"
            assert page.evaluate(FURTHEST, where) <= width
            assert page.evaluate(SMALL_LETTERS, where) == []


FURTHEST = """where => Math.max(...[...document.querySelectorAll(where + ' *')].map(
    node => Math.floor(node.getBoundingClientRect().right)
))"""
SMALL_LETTERS = """where => [...document.querySelectorAll(where + ' *')].filter(
    node => [...node.childNodes].some(one => one.nodeType === 3 && one.textContent.trim())
        && parseFloat(getComputedStyle(node).fontSize) < 11
).map(node => node.textContent)"""
