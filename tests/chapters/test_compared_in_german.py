"""A chapter asked in German outside any review is German throughout: its numbers, its intervals, its dashes."""

from __future__ import annotations

import re
from functools import cache
from importlib import import_module
from typing import Any

import pytest

from neonatal_stats.chapters.protocol import Chapter
from neonatal_stats.season.model import Season
from neonatal_stats.tables import printed
from tests.chapters.build import season
from tests.chapters.flocks import flock

ENGLISH = re.compile(r"\d\.\d+\s%|\d to [+-]?\d|\d of \d|\bat least\b|\bunder 0")


@cache
def _three_seasons(language: str) -> Season:
    rows: list[dict[str, Any]] = []
    for place, name in enumerate(("2024", "2025", "2026")):
        blocks = [({"suck_reflex": "weak", "cause": "infection"}, 20 + 5 * place, 60)]
        rows += flock([*blocks, ({"suck_reflex": "strong", "litter_size": 2}, 40, 500)], season=name)
        rows += flock([({"sex": "male"}, 1, 9)], season=name, farm="Dale", delivery="caesarean")
        rows += flock([({"sex": "male"}, 3, 40)], season=name, farm="Fell")
    return season(rows, language=language, price=1250.0)


def _everything(name: str, language: str) -> str:
    chapter: Chapter = import_module(f"neonatal_stats.chapters.{name}")
    result = chapter.answer(_three_seasons(language))
    how = chapter.method(result)
    said = [sentence.text for sentence in chapter.sentences(result)]
    shown = [printed(table).to_csv() + table.note for table in chapter.tables(result)]
    drawn = [figure.alt for figure in chapter.figures(result)]
    return "\n".join([*said, *shown, *drawn, *how.method, *how.settings])


@pytest.mark.quickly(4)
@pytest.mark.parametrize("name", ["years", "groups", "planning", "farms"])
def test_numbers_are_german_throughout(name: str) -> None:
    assert ENGLISH.search(_everything(name, "en"))
    assert ENGLISH.findall(_everything(name, "de")) == []
    assert re.search(r"\d,\d\s%", _everything(name, "de"))
