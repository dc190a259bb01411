"""Parts stand under their broader group, and every group once."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.measures.risk_groups import nested
from neonatal_stats.vocabulary.factors import BY_NAME, SAME, WITHIN


def _rows(*names: tuple[str, str]) -> pd.DataFrame:
    return pd.DataFrame(names, columns=["factor", "group"]).assign(n=range(len(names)))


def test_parts_come_right_after_their_whole_indented_and_the_rest_keeps_its_order() -> None:
    rows = _rows(
        ("several", "twin or more"), ("sex", "male"), ("birth_type", "twin"), ("several", "single"),
        ("birth_type", "triplet"),
    )  # fmt: skip
    found = nested(rows)
    assert list(zip(found["group"], found["depth"], found["n"], strict=True)) == [
        ("twin or more", 0, 0), ("twin", 1, 2), ("triplet", 1, 4), ("male", 0, 1), ("single", 0, 3),
    ]  # fmt: skip


def test_without_its_whole_a_part_stands_where_it_was() -> None:
    rows = _rows(("birth_type", "single"), ("birth_type", "twin"))
    assert nested(rows)["depth"].tolist() == [0, 0]
    assert nested(rows)["group"].tolist() == ["single", "twin"]


def test_the_same_newborns_under_two_names_stand_once() -> None:
    rows = _rows(
        ("several", "single"),
        ("birth_type", "single"),
        ("delivery", "caesarean"),
        ("born_by", "born by surgery"),
    )
    assert nested(rows)["group"].tolist() == ["single", "caesarean"]


def test_two_levels_together_are_no_part_of_one() -> None:
    rows = _rows(("several", "twin or more"), ("birth_type", "twin"), ("birth_type", "twin"))
    found = nested(rows.assign(with_factor=["", "sex", ""], with_group=["", "male", ""]))
    assert list(zip(found["n"], found["depth"], strict=True)) == [(0, 0), (2, 1), (1, 0)]


def test_of_no_rows_none_are_left() -> None:
    assert nested(_rows()).empty


def test_parts_and_wholes_are_levels_of_the_vocabulary_and_nest_once() -> None:
    for part, whole in (*WITHIN.items(), *SAME.items()):
        for factor, level in (part, whole):
            assert level in BY_NAME[factor].levels
    assert not set(WITHIN) & set(WITHIN.values())
