"""What a change between two seasons is called follows from its three intervals alone."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import pytest

from neonatal_stats.chapters.counted.years_side_by_side import PARTS, Split, split_of
from neonatal_stats.chapters.years_side_by_side import split_sentence
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.measures.contrasts import cells_of, contrast_rows
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Verdict, Voice

CLEAR_UP = Estimate(0.05, 0.02, 0.08, 0.001, "")
CLEAR_DOWN = Estimate(-0.05, -0.08, -0.02, 0.001, "")
UNCLEAR = Estimate(0.01, -0.02, 0.04, 0.5, "")


def pair(change: Estimate, mix: Estimate, rate: Estimate, events: int = 40) -> dict[str, dict[Hashable, Any]]:
    """Two seasons of 400, as many lost in each."""
    seasons = {"season": "2026", "versus": "2025", "measure": "risk difference"}
    counts = {"events": events, "n": 400, "events_versus": events, "n_versus": 400}
    found = zip(PARTS, (change, mix, rate), strict=True)
    rows = [{"part": name, **seasons, **counts, **cells_of(part)} for name, part in found]
    frame = contrast_rows(rows, ("part", "season"), settings=Settings())
    return {row["part"]: row for row in frame.to_dict("records")}


@pytest.mark.parametrize(
    ("change", "mix", "rate", "split"),
    [
        (CLEAR_UP, CLEAR_UP, UNCLEAR, Split.MIX),
        (CLEAR_UP, UNCLEAR, CLEAR_UP, Split.RATE),
        (CLEAR_UP, CLEAR_UP, CLEAR_UP, Split.BOTH),
        (UNCLEAR, CLEAR_UP, CLEAR_DOWN, Split.CANCEL),
        (CLEAR_UP, CLEAR_UP, CLEAR_DOWN, Split.OPPOSED),
        (CLEAR_UP, UNCLEAR, UNCLEAR, Split.UNSPLIT),
        (UNCLEAR, UNCLEAR, UNCLEAR, Split.NEITHER),
    ],
)
def test_the_split_follows_from_the_intervals(
    change: Estimate, mix: Estimate, rate: Estimate, split: Split
) -> None:
    found = pair(change, mix, rate)
    assert split_of(found) is split
    clear = split not in (Split.UNSPLIT, Split.NEITHER)
    sentence = split_sentence(Voice(species="sheep"), found)
    assert sentence.verdict is (Verdict.CLEAR if clear else Verdict.NO_CLEAR)
    assert sentence.deaths == pytest.approx(20 if clear else 0)  # 0.05 of 400


def test_few_losses_say_nothing_whatever_the_numbers() -> None:
    found = pair(CLEAR_UP, CLEAR_UP, UNCLEAR, events=2)
    assert split_of(found) is Split.TOO_FEW
    assert split_sentence(Voice(), found).text == "Too few to say whether mix or rate changed."
