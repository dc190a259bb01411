"""Plain numbers round and nothing else; every column that may be asked for has spoken words."""

from __future__ import annotations

import pytest

from neonatal_stats.chapters.counted.planning import WANTED
from neonatal_stats.chapters.counted.records import AFTER_BIRTH, AT_BIRTH
from neonatal_stats.chapters.groups import WRITTEN_IN
from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.words import Voice
from neonatal_stats.words.plain import ASKS, asks, between, frequency, old, out_of, whole

SHEEP = Voice(species="sheep")


@pytest.mark.parametrize(
    ("share", "of", "said"),
    [(0.1108, 100, "11 in 100"), (0.0, 100, "0 in 100"), (0.004, 100, "under 1 in 100"), (1.0, 100, "100 in 100"),
     (0.004, 1000, "4 in 1\u202f000")],
)  # fmt: skip
def test_a_share_as_a_natural_frequency(share: float, of: int, said: str) -> None:
    assert frequency(SHEEP, share, of) == said


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [(0.0876, 0.1396, "between 9 and 14 in 100"), (0.0, 0.046, "up to 5 in 100"), (0.031, 0.034, "about 3 in 100")],
)  # fmt: skip
def test_a_range_in_words(low: float, high: float, said: str) -> None:
    assert between(SHEEP, low, high) == said


def test_what_stands_side_by_side_is_told_out_of_the_same_and_apart() -> None:
    assert out_of([0.164, 0.112]) == 100
    assert out_of([0.021, 0.024]) == 1000  # both 2 in 100
    assert out_of([0.004, 0.3]) == 1000  # none in 100
    assert out_of([0.112, float("nan")]) == 100


def test_numbers_are_german_in_german() -> None:
    german = Voice("de", species="sheep")
    assert between(german, 0.0876, 0.1396) == "zwischen 9 und 14 von 100"
    assert whole(german, 0.002) == "unter 1"
    assert old(german, 168) == "7 Tagen"


def test_an_age_keeps_the_unit_of_the_settings() -> None:
    assert old(Voice(windows=((48.0, "48 h"),)), 48) == "48 hours"
    assert old(Voice(), 48) == "2 days"


def test_every_column_that_may_be_asked_for_is_asked_in_spoken_words() -> None:
    named = {name for name, _ in WANTED} | {*AT_BIRTH, *AFTER_BIRTH} | set(WRITTEN_IN.values())
    assert named - set(ASKS) == set()
    assert set(ASKS) - {column.name for column in TABLES["births"]} == set()
    for column in ASKS:
        said = asks(SHEEP, column)
        assert "_" not in said
        assert "(" not in said
