"""Seasons at the edge: each gets a clear answer or says what is missing; nothing warns, nothing prints nan."""

from __future__ import annotations

import re
from functools import cache
from importlib import import_module
from typing import Any

import pytest

from neonatal_stats.chapters import READING_ORDER
from neonatal_stats.chapters.protocol import Chapter
from neonatal_stats.season.model import Season
from neonatal_stats.tables import printed
from tests.chapters.build import season
from tests.thinned import EVERY_FORM

Rows = list[dict[str, Any]]
OF_EVERY_SEASON = ("records", "losses", "survival", "causes", "birth_type")
QUICKLY = ("one that died", "all stillborn", "no deaths", "one level of everything", "dates without times")
NOT_A_NUMBER = re.compile(r"\b(nan|inf|None|NaT|<NA>)\b")


def _alive(number: int, **more: Any) -> dict[str, Any]:
    return {"dam_id": str(number // 2), "born_alive": "yes", **more}


def _died(number: int, after_h: float, **more: Any) -> dict[str, Any]:
    return _alive(number, died="yes", died_after_h=after_h, **more)


def _told(number: int, **more: Any) -> dict[str, Any]:
    """Only that it died or not."""
    return {"born_at": None, "died": "yes" if number % 5 == 0 else "no", **more}


SEASONS: dict[str, Rows] = {
    "one alive": [_alive(0)],
    "one that died": [_died(0, 3, cause="infection")],
    "one stillborn": [_alive(0) | {"born_alive": "no"}],
    "all stillborn": [_alive(i) | {"born_alive": "no"} for i in range(24)],
    "no deaths": [
        _alive(i, birth_weight_kg=3 + i / 10, delivery="unassisted", sex="male") for i in range(24)
    ],
    "all dead at one hour": [
        _died(i, 5, cause="unknown", birth_weight_kg=3 + i / 10, sex=("male", "female")[i % 2])
        for i in range(24)
    ],
    "all dead at age 0": [_died(i, 0, cause="infection") for i in range(24)],
    "died yes or no, dams known": [_told(i, dam_id=str(i // 2)) for i in range(60)],
    "died yes or no, nothing else": [_told(i) for i in range(60)],
    "born alive or dead not written": [
        {"dam_id": str(i // 2)} | ({"died": "yes", "died_after_h": i} if i % 4 == 0 else {})
        for i in range(60)
    ],
    "one level of everything": [
        {"dam_id": str(i), "litter_size": 1, "sex": "male", "delivery": "unassisted"}
        | ({"died": "yes", "died_after_h": i + 1, "cause": "infection"} if i % 4 == 0 else {})
        for i in range(40)
    ],
    "dates without times": [
        {"dam_id": str(i // 2), "born_at": None, "born_on": f"2026-03-0{1 + i % 7}", "born_alive": "yes"}
        | ({} if i % 6 else {"died": "yes", "died_after_h": 24 * (i // 6)})
        for i in range(60)
    ],
    "half the ages unknown": [
        _died(i, i + 1, cause="infection") if i % 10 == 0 else _alive(i, died="yes" if i % 5 == 0 else "no")
        for i in range(60)
    ],
    "delivery alone written": [
        _alive(
            i, delivery=("unassisted", "hard assist", "caesarean")[i % 3], died="yes" if i % 5 == 0 else "no"
        )
        for i in range(60)
    ],
    "litters of the dam alone written": [
        _alive(i, dam_parity=1 + i % 4, died="yes" if i % 5 == 0 else "no") for i in range(60)
    ],
    "everyone left after two days": [_alive(i, left_after_h=50, left_reason="sold") for i in range(12)],
    "everyone left": [_alive(i, left_after_h=30, left_reason="sold") for i in range(12)],
    "several species": [
        _died(i, i, species=("sheep", "cattle")[i % 2], birth_weight_kg=(4.0, 40.0)[i % 2] + i / 9)
        for i in range(24)
    ],
}


@cache
def _season(edge: str) -> Season:
    return season(SEASONS[edge])


def _chapter(name: str) -> Chapter:
    module: Chapter = import_module(f"neonatal_stats.chapters.{name}")
    return module


def _everything_printed(chapter: Chapter, result: Any) -> list[str]:
    printed_tables = [printed(table).to_csv() + table.title + table.note for table in chapter.tables(result)]
    drawn = [figure.svg() and figure.alt + figure.title for figure in chapter.figures(result)]
    how = chapter.method(result)
    said = [sentence.text for sentence in chapter.sentences(result)]
    return [*said, *printed_tables, *drawn, *how.method, *how.settings, *how.limits, *how.sources]


ASKED = [
    pytest.param(name, edge, marks=() if edge in QUICKLY else pytest.mark.slow)
    for turn, name in enumerate(READING_ORDER)
    for place, edge in enumerate(SEASONS)
    if EVERY_FORM or name in OF_EVERY_SEASON or (turn + place) % 3 == 0
]
"""The chapters that nearly every season opens on every edge, each other one on a third of them, by turns."""


@pytest.mark.quickly(3)
@pytest.mark.parametrize(("name", "edge"), ASKED)
def test_a_clear_answer_or_what_is_missing(name: str, edge: str) -> None:
    chapter, made = _chapter(name), _season(edge)
    opened = getattr(chapter, "opened", None)
    if opened is not None and not opened(made):
        return
    missing = chapter.missing(made)
    if missing:
        assert all(text.startswith(("Not answered: ", "Nothing to ")) for text in missing)
        return
    texts = _everything_printed(chapter, chapter.answer(made))
    assert not [text for text in texts if NOT_A_NUMBER.search(text)]
    assert not [text for text in texts if "{" in text]


@pytest.mark.parametrize(
    ("edge", "closed"),
    [
        ("one alive", {"causes", "birth_type"}),
        ("one stillborn", {"survival", "birth_type"}),
        ("no deaths", {"causes", "birth_type"}),
        ("died yes or no, dams known", {"survival", "causes", "birth_type"}),
        ("half the ages unknown", {"survival", "birth_type"}),
        ("everyone left", {"causes", "birth_type"}),
    ],
)
def test_which_chapters_an_edge_closes(edge: str, closed: set[str]) -> None:
    made = _season(edge)
    assert {name for name in OF_EVERY_SEASON if _chapter(name).missing(made)} == closed
