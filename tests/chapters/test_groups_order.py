"""The watch list's order: what is clear ten times over first, whatever another group's number of losses."""

from __future__ import annotations

import pytest

from neonatal_stats.chapters import groups
from neonatal_stats.words import Verdict
from tests.chapters.build import season
from tests.chapters.flocks import Block, flock

NATURAL = {"delivery": "unassisted", "birth_place": "outdoors"}
SURGERY = {"delivery": "caesarean", "dam_parity": 2}
BLOCKS: list[Block] = [
    (NATURAL | {"sex": "male", "dam_parity": 2}, 64, 450),
    (NATURAL | {"sex": "male", "dam_parity": 1}, 6, 50),
    (NATURAL | {"sex": "female", "dam_parity": 2}, 42, 450),
    (NATURAL | {"sex": "female", "dam_parity": 1}, 3, 50),
    (SURGERY | {"sex": "male", "birth_place": "indoors"}, 9, 12),
    (SURGERY | {"sex": "female", "birth_place": "outdoors"}, 9, 12),
]


def test_the_clearest_groups_stand_first_even_where_another_lost_more() -> None:
    # worked by hand: by surgery 18 of 24 against 115 of 1000, 18 - 24 x 0.115 = 15.24 more; males 79 of 512 against
    # 54 of 512, 25 more, which chance alone brings about far more often
    result = groups.answer(season(flock(BLOCKS)))
    listed = result.groups[["factor", "group", "with_factor"]].head(3).to_numpy().tolist()
    assert listed == [["born_by", "born by surgery", ""], ["birth_place", "indoors", ""], ["sex", "male", ""]]
    assert result.groups["excess"].head(3).round(2).tolist() == [15.24, 7.53, 25.0]
    assert (result.groups["q"].head(2) <= 0.01).all()
    assert 0.01 < result.groups["q"].iloc[2] <= 0.1
    assert len(result.watch) == 3


def test_what_is_not_clear_comes_last_even_with_more_excess() -> None:
    # worked by hand: second litters 124 of 924 against 9 of 100 first ones, 124 - 924 x 0.09 = 40.84 more
    result = groups.answer(season(flock(BLOCKS)))
    (place,) = (result.groups["group"] == "second or third").to_numpy().nonzero()[0][:1]
    assert result.groups["excess"].iloc[place] == pytest.approx(40.84)
    assert result.groups["verdict"].iloc[place] is not Verdict.CLEAR
    assert place == len(result.watch)
