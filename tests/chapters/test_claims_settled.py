"""Chapters say clear, higher and lower only where the page's verdicts do."""

from __future__ import annotations

from types import ModuleType
from typing import Any

import pytest

from neonatal_stats.chapters import birth_type, causes, losses, survival
from neonatal_stats.season.model import Season
from neonatal_stats.words import Verdict
from tests.chapters.build import season

STRONG = ("higher", "lower", "more than chance explains")


@pytest.fixture(scope="module")
def planted() -> Season:
    """Singles and twins; twins are killed four times as often, and so do those born in the second week."""
    rows: list[dict[str, Any]] = []
    for i in range(240):
        size, week = 1 + i % 2, i // 120
        row = {
            "dam_id": str(i // 2 if size == 1 else i),
            "litter_size": size,
            "born_at": f"2026-03-{2 + 7 * week:02d} {i % 24:02d}:00",
            "born_alive": "yes",
        }
        dead = i % 20 in ((1, 3, 5, 7) if week else (1, 3, 6))
        rows.append(row | ({"died": "yes", "died_after_h": 30, "cause": "predation"} if dead else {}))
    return season(rows)


@pytest.mark.parametrize("chapter", [birth_type, causes, losses, survival])
def test_no_strong_word_but_by_the_ledger(chapter: ModuleType, planted: Season) -> None:
    result = chapter.answer(planted)
    claims = chapter.claims(result)
    assert claims
    assert all(one.period == planted.seasons for one in claims)
    refused = chapter.sentences(result, {one.key: Verdict.NO_CLEAR for one in claims})
    assert not [one.text for one in refused if any(word in one.text for word in STRONG)]
    passed = chapter.sentences(result, {one.key: Verdict.CLEAR for one in claims})
    clear = {one.claim for one in passed if one.verdict is Verdict.CLEAR}
    assert clear == {one.key for one in claims}
