"""Counting newborns by group, age and outcome."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from neonatal_stats.estimates.counts import count_events


def test_the_table_of_five_newborns_counted_by_hand() -> None:
    table = count_events([0, 2, 2, 2, 5], [1, 2, 0, 2, 0])
    assert table.age_h.tolist() == [0, 2, 5]
    assert table.at_risk.tolist() == [[5, 4, 1]]
    assert table.events.tolist() == [[[1, 0], [0, 2], [0, 0]]]
    assert table.left.tolist() == [[0, 1, 1]]


def test_fractional_ages_and_whole_hours_give_the_same_counts() -> None:
    rng = np.random.default_rng(3)
    hours, outcome, group = rng.integers(0, 30, 200), rng.integers(0, 3, 200), rng.integers(0, 4, 200)
    whole = count_events(hours, outcome, group=group)
    days = count_events(hours / 24, outcome, group=group)
    np.testing.assert_allclose(days.age_h * 24, whole.age_h, rtol=1e-14)
    np.testing.assert_array_equal(days.events, whole.events)
    np.testing.assert_array_equal(days.at_risk, whole.at_risk)


@pytest.mark.parametrize("kind", [np.int8, np.uint8, np.int32, np.int64, np.float32, np.float64])
def test_the_type_the_columns_came_in_does_not_matter(kind: type) -> None:
    age_h, outcome, group = np.array([[3, 1, 3], [1, 0, 2], [0, 1, 1]], dtype=kind)
    table = count_events(age_h, outcome, group=group)
    assert table.events.tolist() == [[[0, 0], [1, 0]], [[0, 0], [0, 1]]]


def test_small_integer_types_do_not_overflow() -> None:
    group = np.full(10, 200, dtype=np.uint8)
    table = count_events(np.full(10, 250, dtype=np.uint8), np.full(10, 6, dtype=np.uint8), group=group)
    assert table.events.shape == (201, 1, 6)
    assert table.events[200, 0, 5] == 10


def test_weights_count_as_repeated_rows() -> None:
    once = count_events([1, 2, 3], [1, 0, 2], weight=[3, 2, 1])
    often = count_events([1, 1, 1, 2, 2, 3], [1, 1, 1, 0, 0, 2])
    np.testing.assert_array_equal(once.events, often.events)
    np.testing.assert_array_equal(once.at_risk, often.at_risk)


def test_a_late_arrival_is_at_risk_only_at_later_ages() -> None:
    table = count_events([2, 4, 6, 6], [1, 1, 1, 0], entry_h=[0, 2, 3, 0])
    assert table.age_h.tolist() == [2, 3, 4, 6]
    assert table.at_risk.tolist() == [[2, 2, 3, 2]]
    assert table.entered is not None
    assert table.entered.tolist() == [[1, 1, 0, 0]]


def test_watched_from_birth_is_at_risk_at_age_0_and_one_that_ended_where_it_entered_at_that_age() -> None:
    table = count_events([0, 5, 5], [1, 1, 0], entry_h=[0, 5, 0])
    assert table.at_risk[0, 0] == 2  # the first and the third; the second came later
    assert table.at_risk[0, -1] == 2


def test_groups_and_causes_may_be_told_though_none_occur() -> None:
    table = count_events([1, 2], [0, 1], group=[0, 0], n_groups=3, n_causes=2)
    assert table.events.shape == (3, 2, 2)
    assert table.at_risk[1:].sum() == 0


def test_no_newborns_give_an_empty_table() -> None:
    table = count_events([], [], group=[], n_groups=2, n_causes=3)
    assert table.events.shape == (2, 0, 3)


@pytest.mark.parametrize(
    ("columns", "sentence"),
    [
        ({"age_h": [1, -2, -3]}, "age_h: ages must not be negative; found -2.0 at position 1"),
        ({"age_h": [1, 2, np.inf]}, "age_h: ages must be finite; found inf at position 2"),
        ({"age_h": [np.nan, 2, 1]}, "age_h: ages must be finite; found nan at position 0"),
        ({"age_h": [1, "two", None]}, "age_h: must be numbers; found 'two' at position 1"),
        ({"age_h": [[1, 2, 3]]}, "age_h: must have one dimension; found 2"),
        ({"outcome": [0, 1, -1]}, "outcome: codes must not be negative; found -1 at position 2"),
        ({"outcome": [0, 3, 1], "n_causes": 2}, "outcome: codes must be below 3; found 3 at position 1"),
        ({"outcome": [0, 0.5, 1]}, "outcome: codes must be whole numbers; found 0.5 at position 1"),
        ({"outcome": [0, 1]}, "outcome: must be as long as age_h (3); found 2, they part at position 2"),
        ({"group": [0, 1, 5], "n_groups": 2}, "group: codes must be below 2; found 5 at position 2"),
        ({"weight": [1, -1, 1]}, "weight: weights must not be negative; found -1.0 at position 1"),
        ({"entry_h": [0, 3, 0]}, "entry_h: entry must not come after exit; found 3.0 at position 1"),
    ],
)
def test_bad_columns_are_named_with_the_first_bad_place(columns: dict[str, object], sentence: str) -> None:
    good: dict[str, object] = {"age_h": [1, 2, 3], "outcome": [0, 1, 1]}
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        count_events(**(good | columns))  # type: ignore[arg-type]


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(0, 2)), min_size=1, max_size=20))
def test_at_risk_is_who_was_watched_at_each_age(stays: list[tuple[int, int, int]]) -> None:
    entry, end = np.sort(np.array([stay[:2] for stay in stays]), axis=1).T
    group = np.array([stay[2] for stay in stays])
    table = count_events(end, end % 2, group=group, entry_h=entry, n_groups=3)
    for place, age in enumerate(table.age_h):
        watched = (
            ((entry < age) | (entry == 0) | (entry == end)) & (age <= end) & ((entry < end) | (age == end))
        )
        np.testing.assert_array_equal(table.at_risk[:, place], np.bincount(group[watched], minlength=3))
    assert table.events.sum() + table.left.sum() == len(stays)
