"""Tests between groups in litters, and trends (values against R and published: test_reference)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import ArrayLike

from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.results import Test
from neonatal_stats.estimates.risk_tests import (
    clustered_test,
    cochran_armitage,
    risk_slope,
)
from tests.reference.counted import groups


def of_counts(events: ArrayLike, n: ArrayLike) -> Test:
    """The trend of deaths among newborns in groups 0, 1, 2, ..."""
    event, place, weight = groups(events, n)
    return cochran_armitage(event, place, weight=weight)


def flock(number: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Invented litters: deaths, sex, litter."""
    rng = np.random.default_rng(number)
    size = rng.integers(1, 5, 150)
    risk = np.repeat(rng.beta(0.6, 2.4, 150), size)
    return (
        (rng.random(len(risk)) < risk).astype(int),
        rng.integers(0, 2, len(risk)),
        np.repeat(np.arange(150), size),
    )


def test_without_litters_it_is_pearson_by_hand() -> None:
    """10/50 and 5/50: 100 x (10 x 45 - 40 x 5)^2 / (50 x 50 x 15 x 85)."""
    dead, group = np.repeat([1, 0, 1, 0], [10, 40, 5, 45]), np.repeat([0, 1], 50)
    assert clustered_test(dead, group).statistic == pytest.approx(
        100 * 250**2 / (50 * 50 * 15 * 85), rel=1e-12
    )


def test_every_newborn_twice_halves_the_statistic_back() -> None:
    dead, group, _ = flock(1)
    plain = clustered_test(dead, group)
    twice = clustered_test(np.tile(dead, 2), np.tile(group, 2), np.tile(np.arange(len(dead)), 2))
    assert twice.statistic == pytest.approx(plain.statistic, rel=0.02)
    assert twice.method == "Rao-Scott chi-square"


def test_litters_that_span_groups_use_the_score_of_compare() -> None:
    dead, sex, litter = flock(2)
    got = clustered_test(dead, sex, litter)
    assert got.method == "score chi-square, exchangeable littermates"
    assert got.p == pytest.approx(compare(dead, sex, cluster=litter, level=0.95).p, rel=1e-9)


def test_more_groups_have_more_degrees_of_freedom_and_order_does_not_matter() -> None:
    dead, _, litter = flock(3)
    colour = np.random.default_rng(4).integers(0, 4, len(dead))
    one = clustered_test(dead, colour, litter)
    order = np.random.default_rng(5).permutation(len(dead))
    two = clustered_test(dead[order], 3 - colour[order], litter[order] + 9)
    assert one.df == 3
    assert two.statistic == pytest.approx(one.statistic, rel=1e-9)


@pytest.mark.parametrize(("dead", "group"), [([0, 0, 0], [0, 1, 1]), ([1, 0, 1], [4, 4, 4])])
def test_nothing_to_test_is_said(dead: list[int], group: list[int]) -> None:
    got = clustered_test(dead, group, [0, 1, 2])
    assert np.isnan(got.p)
    assert got.note == "cannot be tested: one group or one outcome"


def test_trend_worked_by_hand() -> None:
    """1, 2, 3 of 10: sum of score x (deaths - 2) = 2; 0.2 x 0.8 x (50 - 900 / 30) = 3.2; 4 / 3.2 = 1.25."""
    assert of_counts([1, 2, 3], [10, 10, 10]).statistic == pytest.approx(1.25, rel=1e-14)
    assert risk_slope([1, 2, 3], [10, 10, 10]) == pytest.approx(0.1, rel=1e-14)


def test_trend_of_births_is_the_trend_of_counts_and_litters_weaken_it() -> None:
    dead, _, litter = flock(6)
    season = litter % 5
    counts = [np.bincount(season, weights=dead), np.bincount(season)]
    plain = cochran_armitage(dead, season)
    assert plain.statistic == pytest.approx(of_counts(*counts).statistic, rel=1e-12)
    single = cochran_armitage(dead, season, cluster=np.arange(len(dead)))
    assert single.statistic == pytest.approx(plain.statistic, rel=1e-9)
    assert cochran_armitage(dead, season, cluster=litter).statistic < plain.statistic


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 9), st.integers(1, 9)), min_size=2, max_size=6))
def test_two_groups_trend_is_pearson_and_turning_scores_changes_only_the_sign(
    rows: list[tuple[int, int]],
) -> None:
    events, others = (np.array(x) for x in zip(*rows, strict=True))
    n = events + others
    one, two = of_counts(events, n), of_counts(events[::-1], n[::-1])
    assert two.statistic == pytest.approx(one.statistic, rel=1e-9, nan_ok=True)
    assert risk_slope(events[::-1], n[::-1]) == pytest.approx(
        -risk_slope(events, n), rel=1e-9, abs=1e-12, nan_ok=True
    )
