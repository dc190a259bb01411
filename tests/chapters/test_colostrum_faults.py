"""Records of feeding that cannot be: each is caught with a sentence, nothing is lost, and the chapter still
answers.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from neonatal_stats.chapters import colostrum, first_hours
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season

BIRTHS = """season,species,newborn_id,dam_id,born_at,born_alive,stood_after_min,fed_after_min,died,died_at
2026,sheep,A1,1,2026-03-02 06:00,yes,20,600,yes,2026-03-02 09:00
2026,sheep,A2,2,2026-03-02 06:00,yes,20,60,no,
2026,sheep,A3,3,2026-03-02 06:00,no,20,,yes,
2026,sheep,A4,4,2026-03-02 06:00,yes,20,60,no,
"""
FEEDS = """newborn_id,fed_at,volume_ml,source
A2,2026-03-01 06:00,200,stored
A4,2026-03-02 07:00,2,stored
A4,2026-03-02 08:00,2000000,stored
A2,2026-03-02 07:00,200,stored
"""


@pytest.fixture
def faulty(tmp_path: Path) -> Season:
    (tmp_path / "births.csv").write_text(BIRTHS)
    (tmp_path / "feeds.csv").write_text(FEEDS)
    return read_season([tmp_path / "births.csv", tmp_path / "feeds.csv"])


@pytest.mark.parametrize(
    ("table", "row", "column", "said"),
    [
        ("births", 2, "fed_after_min", "fed after it died"),
        ("births", 4, "stood_after_min", "born dead, and yet it stood"),
        ("feeds", 2, "fed_at", "fed before it was born"),
        ("feeds", 3, "volume_ml", "outside the plausible"),
        ("feeds", 4, "volume_ml", "outside the plausible"),
    ],
)
def test_each_is_caught_with_a_sentence(faulty: Season, table: str, row: int, column: str, said: str) -> None:
    problems = faulty.problems
    found = problems[(problems["table"] == table) & (problems["row"] == row) & (problems["column"] == column)]
    assert said in found["problem"].item()
    assert found["remedy"].item()


def test_nothing_is_lost(faulty: Season) -> None:
    for balance, rows in zip(faulty.balances, (4, 4), strict=True):
        assert balance.used + balance.used_with_missing + balance.set_aside == rows


def test_the_chapters_answer_on_what_is_left(faulty: Season) -> None:
    # worked by hand: three born alive; A2 and A4 fed at 1 h, A1 died at 3 h with no feed left written down
    timing = colostrum.answer(faulty).timing
    assert timing is not None
    assert timing.marks["share"].iloc[0] == pytest.approx(2 / 3)
    states = first_hours.answer(faulty).states.set_index("key")
    assert states.loc["standing", ["met", "n"]].tolist() == [3, 3]
