"""Every number a sentence says stands in one of its chapter's tables, and shuffled rows change nothing."""

from __future__ import annotations

import random
import re
from functools import cache
from importlib import import_module
from typing import Any

import pytest

from neonatal_stats.chapters import READING_ORDER
from neonatal_stats.chapters.protocol import Chapter, NotRecorded
from neonatal_stats.season.model import Season
from neonatal_stats.tables import printed
from tests.chapters.build import season
from tests.chapters.flock import flock
from tests.chapters.twelve import FEEDS, ROWS, SAMPLES, rows, twelve

pytestmark = pytest.mark.quickly(3)

CHAPTERS = ("records", "losses", "survival", "causes", "birth_type")
NUMBER = re.compile(r"\d+(?:[\u202f\u00a0]\d{3})*(?:\.\d+)?")
SETTINGS = {"42", "95", "24", "7", "20", "08"}


def _chapter(name: str) -> Chapter:
    module: Chapter = import_module(f"neonatal_stats.chapters.{name}")
    return module


@cache
def _answer(name: str, of: Season) -> Any:
    return _chapter(name).answer(of)


def _said(chapter: Chapter, of: Season) -> list[str]:
    return [sentence.text for sentence in chapter.sentences(_answer(chapter.NAME, of))]


def _shown(chapter: Chapter, of: Season) -> str:
    tables = chapter.tables(_answer(chapter.NAME, of))
    return " ".join(f"{printed(table).to_csv()} {table.title} {table.note}" for table in tables)


@pytest.mark.parametrize("name", CHAPTERS)
@pytest.mark.parametrize("of", [twelve, flock], ids=["twelve", "flock"])
def test_numbers_said_are_numbers_shown(name: str, of: object) -> None:
    assert callable(of)
    made, chapter = of(), _chapter(name)
    shown = set(NUMBER.findall(_shown(chapter, made))) | SETTINGS
    missing = {
        (number, text)
        for text in _said(chapter, made)
        for number in NUMBER.findall(text)
        if number not in shown
    }
    assert not missing


@pytest.mark.parametrize("name", CHAPTERS)
def test_no_sentence_or_table_holds_what_is_not_a_number(name: str) -> None:
    made, chapter = flock(), _chapter(name)
    text = " ".join([*_said(chapter, made), _shown(chapter, made)])
    assert not re.search(r"\b(nan|inf|None|NaT|<NA>)\b", text)
    assert "{" not in text


@pytest.mark.slow
@pytest.mark.parametrize("name", CHAPTERS)
def test_shuffled_rows_and_relabelled_dams_change_nothing(name: str) -> None:
    shuffled = [{**row, "newborn_id": str(place)} for place, row in enumerate(ROWS, start=1)]
    straight = season(shuffled, feeds=rows(FEEDS), samples=rows(SAMPLES))
    random.Random(5).shuffle(shuffled)
    other = season([{**row, "dam_id": f"ewe {row['dam_id']}"} for row in shuffled])
    chapter = _chapter(name)
    assert _said(chapter, straight) == _said(chapter, other)
    assert _shown(chapter, straight) == _shown(chapter, other)
    first, second = (chapter.figures(_answer(name, one)) for one in (straight, other))
    assert [figure.svg() for figure in first] == [figure.svg() for figure in second]


def test_figures_have_words_and_names_of_their_own() -> None:
    opened = [name for name in READING_ORDER if not _chapter(name).missing(flock())]
    assert set(CHAPTERS) < set(opened)
    for name in opened:
        figures = _chapter(name).figures(_answer(name, flock()))
        assert len({figure.name for figure in figures}) == len(figures)
        for figure in figures:
            assert figure.name.startswith(f"{name}-")
            assert len(figure.alt) > 40
            assert re.search(r"\d", figure.alt)


@pytest.mark.parametrize("name", CHAPTERS)
def test_results_show_themselves(name: str) -> None:
    result = _answer(name, twelve())
    html = result._repr_html_()
    assert html.startswith("<p>")
    assert "<table>" in html


def test_a_notebook_is_told_no_more_than_the_page_would_say() -> None:
    one = season([{"dam_id": "A", "died": "yes"}])
    closed = {name: said for name in READING_ORDER if (said := _chapter(name).missing(one))}
    assert {"survival", "causes", "birth_type"} <= set(closed)
    for name, said in closed.items():
        with pytest.raises(NotRecorded) as told:
            _chapter(name).answer(one)
        assert str(told.value) == " ".join(said)
