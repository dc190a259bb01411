"""Page one as it is drawn: the number, the strip, when and of what, who, the hours, the seasons, in that order."""

from __future__ import annotations

import re
from datetime import date
from functools import cache
from html import unescape
from typing import Any

import pytest

from neonatal_stats.report.at_a_glance import at_a_glance
from neonatal_stats.report.folder import HEADLINE
from neonatal_stats.report.page import page_html
from neonatal_stats.report.review import Review, build
from neonatal_stats.season.model import Season
from tests.chapters.build import season
from tests.chapters.flock import flock
from tests.chapters.flocks import flock as counted_flock
from tests.chapters.test_edges import SEASONS

pytestmark = pytest.mark.slow

MADE_ON = date(2026, 6, 1)
PARTS = ("how-bad", "yardstick", "strip", "when", "who", "hours", "seasons", "stands-out", "cannot-say")

Rows = list[dict[str, Any]]


def born(n: int, dam: str, **fate: Any) -> Rows:
    return [{"dam_id": f"{dam}{i}", "born_alive": "yes", **fate} for i in range(n)]


# 60 newborns: 3 born dead, 4 lost on the first day, 2 in the rest of the week, 1 later, 5 sold on day 3, 45 kept
FATES: Rows = [
    *born(3, "a", born_alive="no", cause="stillbirth"),
    *born(2, "b", died_after_h=5, cause="accident"),
    *born(1, "c", died_after_h=6, cause="infection"),
    *born(1, "d", died_after_h=7),
    *born(1, "e", died_after_h=60),
    *born(1, "f", died_after_h=70),
    *born(1, "g", died_after_h=400, cause="infection"),
    *born(5, "h", left_after_h=72),
    *born(45, "i", seen_after_h=1008),
]


def made(of: Season) -> Review:
    return build(of, made_on=MADE_ON, parts=(HEADLINE,))


@cache
def fates(language: str = "en") -> Review:
    return made(season(FATES, language=language))


@cache
def two_seasons() -> Review:
    """30 of 200 lost, then 60 of 200."""
    rows = [
        *counted_flock([({}, 30, 200)], season="2025", born_at="2025-03-02 06:00"),
        *counted_flock([({}, 60, 200)], season="2026"),
    ]
    return made(season(rows))


def text(html: str) -> str:
    body = re.sub(r"<svg.*?</svg>|<[^>]*>", " ", html[html.index("<body") :], flags=re.DOTALL)
    return " ".join(unescape(body).split())


def test_the_number_is_the_curves_and_the_counts_stand_beside_it() -> None:
    """9 of the 55 watched so long or lost; the curve over 60, 5 gone at 72 h after the last loss, says 9 of 60: 15."""
    lost = at_a_glance(fates()).lost
    assert lost is not None
    assert (lost.number, lost.words) == ("15", "in 100 lambs born were lost by 7 days")
    assert lost.counts == "Counted: 9 of 55 watched so long."
    low, high = map(int, re.findall(r"between (\d+) and (\d+) in 100", lost.range)[0])
    assert low < 15 < high


def test_when_and_of_what() -> None:
    """As written in `FATES`; stillbirth is a time, and a cause that is not written is unknown."""
    told = [(stage.n, stage.name, stage.cause) for stage in at_a_glance(fates()).stages]
    assert told == [
        ("3", "born dead", ""),
        ("4", "first day", "accident 2"),
        ("2", "rest of the first week", "cause unknown 2"),
        ("1", "later", "infection 1"),
    ]


def test_the_strip_holds_every_newborn_once() -> None:
    lost = at_a_glance(fates()).lost
    assert lost is not None
    marks = {
        found[1]: found[0].count("M")
        for found in re.findall(r'd="([^"]+)"><title>([^<]+)</title>', lost.strip)
    }
    assert marks == {
        "born dead: 3": 3, "first day: 4": 4, "rest of the first week: 2": 2, "later: 1": 1,
        "not watched so long: 5": 5, "not lost": 45,
    }  # fmt: skip
    assert lost.each == "One square: one lamb."
    assert [(note.name, note.n) for note in lost.notes] == [("not watched so long", "5")]


def test_many_newborns_share_a_square_and_the_page_says_so() -> None:
    lost = at_a_glance(made(season(counted_flock([({}, 90, 1800)])))).lost
    assert lost is not None
    assert lost.each == "One square: about 2 lambs."


def test_the_words_are_german_in_german() -> None:
    glance = at_a_glance(fates("de"))
    assert glance.lost is not None
    assert glance.lost.words == "von 100 geborenen Lämmern gingen in den ersten 7 Tagen verloren"
    assert [stage.name for stage in glance.stages] == [
        "tot geboren",
        "erster Tag",
        "Rest der ersten Woche",
        "später",
    ]


def test_a_question_is_a_dot_with_its_interval_and_the_ledgers_word() -> None:
    """15 in 100 lost against 30 in 100 of as many: the season question is clear."""
    (row,) = [row for row in at_a_glance(two_seasons()).who if row.name == "This season"]
    assert (row.word, row.counts, row.period) == (
        "Higher",
        "60 of 200 against 30 of 200",
        "2026 against 2025",
    )
    assert "<circle" in row.glyph
    assert row.clear


def test_what_is_too_few_or_not_recorded_has_no_picture() -> None:
    rows = at_a_glance(fates()).who
    assert len(rows) == 6
    assert all(
        not row.glyph for row in rows if "difference" not in row.word and row.word not in ("Higher", "Lower")
    )
    assert [row.word for row in rows if row.name == "This season"] == [
        "Not answered: there is no other season."
    ]


def test_seasons_stand_beside_one_another_with_this_one_in_ink() -> None:
    glance = at_a_glance(two_seasons())
    assert [(one.name, one.told, one.reviewed) for one in glance.seasons] == [
        ("2025", "15 in 100", False),
        ("2026", "30 in 100", True),
    ]
    assert "var(--ink)" in glance.seasons[1].glyph
    assert glance.same_mix.startswith("On the same mix of births, 2026 lost 15 in 100 more than 2025: ")


def test_a_mark_of_the_first_hours_is_a_share_of_those_observed() -> None:
    rows = [
        *born(18, "a", stood_after_min=20, seen_after_h=1008),
        *born(6, "b", stood_after_min=90, seen_after_h=1008),
        *born(4, "c", died_after_h=80, stood_after_min=30),
    ]
    (row,) = at_a_glance(made(season(rows))).hours
    assert f"{row.name}: {row.counts}".replace("\xa0", " ") == "Standing by 1 h: 22 of 28 (78.6 %)"
    assert row.word == ""  # no goal is published


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_parts_stand_in_order_each_with_its_id(language: str) -> None:
    page = page_html(made(flock().with_settings(language=language)))
    found = re.findall(r'id="([a-z-]+)" data-part="([a-z-]+)"', page)
    assert [part for _, part in found] == [part for part in PARTS if part in dict(found)]
    assert all(given == part for given, part in found)
    assert {"how-bad", "strip", "when", "who", "stands-out", "cannot-say"} <= dict(found).keys()


def test_a_farm_without_a_loss_has_a_calm_short_page() -> None:
    review = made(season(SEASONS["no deaths"]))
    glance = at_a_glance(review)
    assert glance.lost is not None
    assert (glance.lost.number, glance.lost.words) == ("None", "of 24 lambs born was lost by 7 days")
    assert glance.lost.range.startswith("With chance allowed for: up to ")
    assert (glance.stages, glance.who) == ((), ())
    page = text(re.sub("<details.*?</details>", "", page_html(review), flags=re.DOTALL))
    assert "None was lost, so no group lost more than another." in page
    assert len(page[: page.index("What these records cannot say")].split()) < 150


def test_a_small_season_is_told_in_counts() -> None:
    glance = at_a_glance(made(season(born(11, "a", seen_after_h=1008) + born(1, "b", died_after_h=3))))
    assert glance.lost is not None
    assert (glance.lost.number, glance.lost.words) == ("1", "of 12 lambs born were lost by 7 days")
    assert glance.lost.range == ""


def test_losses_of_no_known_age_are_not_said_to_be_early() -> None:
    glance = at_a_glance(made(season(SEASONS["died yes or no, dams known"])))
    assert glance.lost is not None
    assert glance.lost.words == "in 100 lambs born were lost"
    assert [(stage.name, stage.n) for stage in glance.stages] == [("after birth", "12")]


def test_what_to_record_is_asked_in_spoken_words_and_told_in_full_behind_a_fold() -> None:
    glance = at_a_glance(fates())
    assert glance.record_next.startswith("Write down of each lamb: ")
    assert glance.record_next.count(";") <= 2
    assert "_" not in glance.record_next
    assert glance.more_to_record
    assert glance.cannot_say[0].startswith("Not answered: ")


def test_what_a_farm_wrote_is_made_harmless() -> None:
    rows = [
        row | {"farm": "<script>x</script>", "cause": "other"} if "died_after_h" in row else row
        for row in FATES
    ]
    rows = [row | {"farm": "<script>x</script>", "season": '"><img>'} for row in rows]
    page = page_html(made(season(rows)))
    assert "<script>x" not in page
    assert "<img>" not in page


def prints_no_number_that_is_none(page: str) -> None:
    assert not re.search(r"\b(nan|inf|NaT)\b", text(page))
    assert not re.search(r"\bnan\b", " ".join(re.findall(r"<svg.*?</svg>", page, flags=re.DOTALL)))


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(SEASONS))
def test_seasons_at_the_edge_have_a_page_one(name: str) -> None:
    """In English; in German, with all that follows page one, in `tests/words/test_translation.py`."""
    prints_no_number_that_is_none(page_html(made(season(SEASONS[name]))))
