"""The three chapters of the first hours on seasons that hold next to nothing: clear answers, no warnings, no
blanks.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

import pytest

from neonatal_stats.chapters import colostrum, first_hours, mothering
from neonatal_stats.chapters.protocol import Chapter
from neonatal_stats.season.model import Season
from neonatal_stats.tables import printed
from tests.chapters.build import season
from tests.report.test_numbers import numbers, settings_numbers, table_numbers

pytestmark = pytest.mark.quickly(3)

FULL = {
    "born_alive": "yes",
    "suck_reflex": "weak",
    "stood_after_min": 70,
    "fed_after_min": 100,
    "meconium_after_min": 200,
    "mothered_up": "no",
    "handled": "yes",
    "resuscitation": "stimulated",
    "birth_weight_kg": 3.0,
    "delivery": "hard assist",
}
FEED = {
    "newborn_id": "1",
    "fed_after_h": 1.7,
    "volume_ml": 300,
    "source": "stored",
    "person": "me",
    "igg_g_per_l": 60,
}
SAMPLE = {"newborn_id": "1", "sampled_after_h": 30, "igg_g_per_l": 20, "brix_pct": 9.5}


def born(n: int, **cells: Any) -> list[dict[str, Any]]:
    return [FULL | {"dam_id": str(k)} | cells for k in range(n)]


SEASONS: Mapping[str, Callable[[], Season]] = {
    "one newborn": lambda: season(born(1), feeds=[FEED], samples=[SAMPLE]),
    "one that died": lambda: season(born(1, died="yes", died_after_h=3), feeds=[FEED], samples=[SAMPLE]),
    "no deaths": lambda: season(born(30, died="no"), feeds=[FEED], samples=[SAMPLE]),
    "all dead": lambda: season(born(30, died="yes", died_after_h=3)),
    "all dead in hour 0": lambda: season(
        born(30, died="yes", died_after_h=0.2, fed_after_min=None, stood_after_min=None)
    ),
    "all stillborn": lambda: season([{"dam_id": str(k), "born_alive": "no"} for k in range(5)]),
    "no word on born alive": lambda: season([row | {"born_alive": None} for row in born(12, died="no")]),
    "died with no age": lambda: season(born(12, died="yes")),
    "calves": lambda: season(
        born(30, species="cattle", birth_weight_kg=40.0), feeds=[FEED], samples=[SAMPLE]
    ),
    "unknown species": lambda: season(born(3, species=""), feeds=[FEED], samples=[SAMPLE]),
    "fed, nothing else": lambda: season([{"dam_id": "A", "born_alive": "yes", "fed_after_min": 60}]),
    "samples alone": lambda: season([{"dam_id": "A", "born_alive": "yes"}], samples=[SAMPLE]),
    "feeds alone": lambda: season([{"dam_id": "A", "born_alive": "yes"}], feeds=[FEED]),
}
CHAPTERS: tuple[Chapter, ...] = (first_hours, colostrum, mothering)
QUICKLY = ("one that died", "no deaths", "all stillborn", "calves", "feeds alone")
BLANK = re.compile(r"(?<![A-Za-z])(?:nan|inf|None|<NA>|NaT)(?![A-Za-z])")


@cache
def made(name: str) -> Season:
    return SEASONS[name]()


@cache
def answered(chapter: Chapter, name: str) -> Any:
    return chapter.answer(made(name))


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=() if name in QUICKLY else pytest.mark.slow) for name in SEASONS]
)
@pytest.mark.parametrize("chapter", CHAPTERS, ids=lambda chapter: chapter.NAME)
def test_clear_answers_or_what_is_missing(chapter: Chapter, name: str) -> None:
    given = made(name)
    lacking = chapter.missing(given)
    if lacking:
        assert all("Not answered" in line for line in lacking)
        return
    result = answered(chapter, name)
    tables = chapter.tables(result)
    texts = [sentence.text for sentence in chapter.sentences(result)]
    texts += [text for figure in chapter.figures(result) for text in (figure.title, figure.alt)]
    texts += [str(cell) for table in tables for cell in printed(table).to_numpy().ravel()]
    texts += [table.note for table in tables] + [
        *chapter.method(result).method,
        *chapter.method(result).settings,
    ]
    assert [text for text in texts if BLANK.search(text)] == []
    assert chapter.sentences(result)
    assert result.counted.total == len(given.births)


@pytest.mark.slow
@pytest.mark.parametrize("name", SEASONS)
@pytest.mark.parametrize("chapter", CHAPTERS, ids=lambda chapter: chapter.NAME)
def test_every_number_said_stands_in_a_table(chapter: Chapter, name: str) -> None:
    given = made(name)
    if chapter.missing(given):
        return
    result = answered(chapter, name)
    known = settings_numbers(given.settings).union(
        *(table_numbers(table) for table in chapter.tables(result)), *map(numbers, given.seasons)
    )
    lost = [
        (sorted(numbers(s.text) - known), s.text)
        for s in chapter.sentences(result)
        if numbers(s.text) - known
    ]
    assert lost == []


@pytest.mark.slow
@pytest.mark.parametrize("chapter", CHAPTERS, ids=lambda chapter: chapter.NAME)
def test_shuffled_rows_change_nothing(chapter: Chapter) -> None:
    rows = [row | {"newborn_id": str(k)} for k, row in enumerate(born(20, died="no"))]
    rows += [
        row | {"newborn_id": f"d{k}", "dam_id": f"d{k}"}
        for k, row in enumerate(born(8, died="yes", died_after_h=4))
    ]
    one, other = (chapter.answer(season(order)) for order in (rows, rows[::-1]))
    assert [s.text for s in chapter.sentences(one)] == [s.text for s in chapter.sentences(other)]
    for table, again in zip(chapter.tables(one), chapter.tables(other), strict=True):
        assert printed(table).equals(printed(again)), table.name
