"""Shares and their intervals: by hand, at the edges, and what must not change them."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neonatal_stats.estimates.proportion import clopper_pearson, proportions, wilson

LITTERS = st.lists(st.lists(st.booleans(), min_size=1, max_size=4), min_size=2, max_size=40)


def rows(litters: list[list[bool]]) -> tuple[np.ndarray, np.ndarray]:
    events = np.array([dead for litter in litters for dead in litter], dtype=int)
    return events, np.repeat(np.arange(len(litters)), [len(litter) for litter in litters])


def test_design_effect_worked_by_hand() -> None:
    """Litters of two with 2, 0, 0, 0 deaths: 4/3 x (1.5^2 + 3 x 0.5^2) / 64 over 0.25 x 0.75 / 8 = 8/3."""
    got = proportions([1, 1, 0, 0, 0, 0, 0, 0], cluster=[0, 0, 1, 1, 2, 2, 3, 3], level=0.95)
    assert got.design_effect[0] == pytest.approx(8 / 3, rel=1e-14)
    assert got.clusters[0] == 4
    assert (got.events[0], got.n[0], got.share[0]) == (2, 8, 0.25)


def test_litters_that_agree_less_than_chance_do_not_narrow_the_interval() -> None:
    alternating = proportions([1, 0] * 30, cluster=np.repeat(np.arange(30), 2), level=0.95)
    low, high = wilson(30, 60, level=0.95)
    assert alternating.design_effect[0] == 1
    assert alternating.low[0] <= low
    assert alternating.high[0] >= high


@pytest.mark.parametrize("events", [0, 12])
def test_no_and_all_events_have_an_interval_with_width(events: int) -> None:
    dead = np.repeat([1, 0], [events, 12 - events])
    got = proportions(dead, cluster=np.repeat(np.arange(6), 2), level=0.95)
    assert 0 <= got.low[0] < got.high[0] <= 1
    assert got.share[0] in (got.low[0], got.high[0])


def test_a_group_without_events_borrows_how_much_littermates_agree() -> None:
    """Group 0 has no deaths; in group 1 whole litters die: littermates agree fully and 8 births are as 4."""
    dead = [0] * 8 + [1, 1, 0, 0] * 10
    group = [0] * 8 + [1] * 40
    got = proportions(dead, group=group, cluster=np.repeat(np.arange(24), 2), level=0.95)
    assert got.design_effect[0] == pytest.approx(2, abs=1e-12)
    assert got.high[0] > wilson(0, 8, level=0.95)[1]


def test_an_empty_group_is_nan_without_warning() -> None:
    got = proportions([1, 0, 1], group=[0, 0, 2], n_groups=4, level=0.95)
    assert np.isnan(got.share[[1, 3]]).all()
    assert np.isnan(got.low[[1, 3]]).all()
    assert got.n.tolist() == [2, 0, 1, 0]
    nothing = proportions(np.array([], dtype=int), cluster=np.array([], dtype=int), level=0.95)
    assert np.isnan(nothing.share[0])
    assert np.isnan(wilson(0, 0, level=0.95)).all()


def test_few_clusters_widen_by_students_t() -> None:
    """Three farms that lose all or nothing: the interval must be wider than the normal quantile gives."""
    dead, farm = np.repeat([1, 0, 0], 40), np.repeat([0, 1, 2], 40)
    got = proportions(dead, cluster=farm, level=0.95)
    effective = 120 / got.design_effect[0]
    normal = wilson(effective / 3, effective, level=0.95)
    assert got.low[0] < normal[0]
    assert got.high[0] > normal[1]


@settings(deadline=None)
@given(LITTERS)
def test_order_of_rows_and_names_of_litters_change_nothing(litters: list[list[bool]]) -> None:
    events, cluster = rows(litters)
    one = proportions(events, cluster=cluster, level=0.95)
    order = np.random.default_rng(5).permutation(len(events))
    two = proportions(events[order], cluster=(cluster * 7919 + 13)[order], level=0.95)
    assert two.low[0] == pytest.approx(one.low[0], rel=1e-12, abs=1e-15)
    assert two.high[0] == pytest.approx(one.high[0], rel=1e-12)


@settings(deadline=None)
@given(st.lists(st.booleans(), min_size=1, max_size=60))
def test_one_newborn_to_a_litter_is_the_plain_wilson_interval(dead: list[bool]) -> None:
    got = proportions(dead, cluster=np.arange(len(dead)), level=0.95)
    low, high = wilson(sum(dead), len(dead), level=0.95)
    assert (got.low[0], got.high[0]) == pytest.approx((float(low), float(high)), rel=1e-12)


@settings(deadline=None)
@given(LITTERS)
def test_bounds_and_frequency_weights(litters: list[list[bool]]) -> None:
    events, cluster = rows(litters)
    got = proportions(events, cluster=cluster, level=0.95)
    assert 0 <= got.low[0] <= got.share[0] <= got.high[0] <= 1
    folded, where = np.unique(np.column_stack([events, cluster]), axis=0, return_counts=True)
    counted = proportions(folded[:, 0], cluster=folded[:, 1], weight=where, level=0.95)
    assert counted.low[0] == pytest.approx(got.low[0], rel=1e-12, abs=1e-15)
    assert counted.design_effect[0] == pytest.approx(got.design_effect[0], rel=1e-12)


@settings(deadline=None)
@given(st.integers(1, 200), st.data())
def test_limits_rise_with_events(n: int, data: st.DataObject) -> None:
    events = data.draw(st.integers(0, n - 1))
    for limits in (wilson, clopper_pearson):
        low, high = limits([events, events + 1], [n, n], level=0.95)
        assert low[1] > low[0] or events == 0
        assert high[1] > high[0] or events == n - 1


@settings(deadline=None)
@given(st.integers(1, 300), st.data())
def test_mid_p_lies_inside_clopper_pearson(n: int, data: st.DataObject) -> None:
    events = data.draw(st.integers(0, n))
    outer, inner = clopper_pearson(events, n, level=0.95), clopper_pearson(events, n, mid_p=True, level=0.95)
    assert outer[0] - 1e-12 <= inner[0] <= events / n <= inner[1] <= outer[1] + 1e-12


def test_mid_p_limit_of_no_event_by_hand() -> None:
    """0 of n: half of (1 - p)^n equals 0.025, so p = 1 - 0.05^(1/n)."""
    assert clopper_pearson(0, 20, mid_p=True, level=0.95)[1] == pytest.approx(1 - 0.05 ** (1 / 20), rel=1e-10)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"event": [0, 2]}, "event: codes must be below 2; found 2 at position 1"),
        (
            {"event": [0, 1], "cluster": [0, -1]},
            "cluster: codes must not be negative; found -1 at position 1",
        ),
        (
            {"event": [0, 1], "weight": [1, -1]},
            "weight: weights must not be negative; found -1.0 at position 1",
        ),
        (
            {"event": [0, 1], "group": [0]},
            "group: must be as long as event (2); found 1, they part at position 1",
        ),
        ({"event": [0, 1], "level": 95}, "level: must lie between 0 and 1; found 95 at position 0"),
        (
            {"event": [0, 1], "group": [0, 3], "n_groups": 2},
            "group: codes must be below 2; found 3 at position 1",
        ),
    ],
)
def test_a_bad_argument_is_named_with_its_place(arguments: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        proportions(**({"level": 0.95} | arguments))


def test_more_events_than_newborns_are_refused() -> None:
    with pytest.raises(ValueError, match=re.escape("events: must not exceed n; found 5.0 at position 1")):
        wilson([1, 5], [3, 4], level=0.95)
