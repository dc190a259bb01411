"""Deaths between two checks, held to the optimality conditions of the likelihood."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from neonatal_stats.estimates.interval_censored import IntervalCensored, turnbull

REFERENCE = Path(__file__).parents[1] / "reference" / "turnbull"
Rounds = tuple[list[float], list[float]]


def slopes(fit: IntervalCensored, low: list[float], high: list[float]) -> NDArray[np.float64]:
    """Directional derivatives the long way: every newborn against every innermost interval."""
    a, b = np.asarray(low)[:, None], np.asarray(high)[:, None]
    start, stop = fit.intervals.T
    exact = a == b
    covers = np.where(
        exact, (start == a) & (stop == a), (start >= a) & (stop <= b) & ~((start == stop) & (start == a))
    )
    return np.asarray((covers / (covers @ fit.mass)[:, None]).sum(axis=0), dtype=np.float64)


@st.composite
def rounds(draw: st.DrawFn) -> Rounds:
    """A few newborns: seen alive at a whole hour, found dead 0 to 6 h later or not at all."""
    low = draw(st.lists(st.integers(0, 12), min_size=1, max_size=40))
    gaps = draw(st.lists(st.sampled_from([0, 1, 2, 3, 6, np.inf]), min_size=len(low), max_size=len(low)))
    return [float(value) for value in low], [value + gap for value, gap in zip(low, gaps, strict=True)]


@settings(max_examples=150, deadline=None)
@given(rounds())
def test_optimality_conditions(checks: Rounds) -> None:
    """Gentleman & Geyer 1994: no slope above n, n wherever there is mass: no other curve is likelier."""
    fit = turnbull(*checks)
    n = len(checks[0])
    slope = slopes(fit, *checks)
    assert fit.converged
    assert slope.max() <= n * (1 + 1e-8)
    assert fit.mass @ (n - slope) == pytest.approx(0, abs=1e-7 * n)
    assert fit.mass.sum() == pytest.approx(1, abs=1e-12)
    assert fit.largest_derivative == pytest.approx(slope.max(), rel=1e-9)
    assert (np.diff(fit.share) <= 0).all()


def test_worked_by_hand_three_intervals() -> None:
    """Worked by hand: (0,2], (1,3], (2,4] leave (1,2] and (2,3]; p(1-p) is largest, 1/4, at p = 1/2."""
    fit = turnbull([0, 1, 2], [2, 3, 4])
    np.testing.assert_array_equal(fit.intervals, [[1, 2], [2, 3]])
    np.testing.assert_allclose(fit.mass, [0.5, 0.5], rtol=1e-9)
    assert fit.loglik == pytest.approx(np.log(0.25), rel=1e-12)


def test_intervals_are_open_on_the_left() -> None:
    """Dead by 2 and alive at 2 share no age: worked by hand, half in (0, 2], half in (2, 4]."""
    fit = turnbull([0, 2], [2, 4])
    np.testing.assert_array_equal(fit.intervals, [[0, 2], [2, 4]])
    np.testing.assert_allclose(fit.share, [0.5, 0], atol=1e-12)


def test_a_death_at_exactly_the_time_of_a_check() -> None:
    """A death at exactly 2 lies in (0, 2] but not in (2, 4]: worked by hand, 2/3 at 2 and 1/3 in (2, 4]."""
    fit = turnbull([0, 2, 2], [2, 2, 4])
    np.testing.assert_array_equal(fit.intervals, [[2, 2], [2, 4]])
    np.testing.assert_allclose(fit.mass, [2 / 3, 1 / 3], rtol=1e-9)


def test_deaths_at_birth() -> None:
    """Age 0 exactly is apart from (0, 1]: worked by hand, one of four each, two never found dead."""
    fit = turnbull([0, 0, 6, 6], [0, 1, np.inf, np.inf])
    np.testing.assert_array_equal(fit.intervals, [[0, 0], [0, 1], [6, np.inf]])
    np.testing.assert_allclose(fit.share, [0.75, 0.5, 0], atol=1e-10)


def test_exact_ages_give_kaplan_meier() -> None:
    """Deaths at exactly 1 and 3, one left at 2: Kaplan-Meier by hand 2/3, then 2/3 * (1 - 1/1) = 0."""
    fit = turnbull([1, 2, 3], [1, np.inf, 3])
    np.testing.assert_array_equal(fit.intervals, [[1, 1], [3, 3]])
    np.testing.assert_allclose(fit.share, [2 / 3, 0], atol=1e-9)


def test_nobody_found_dead_and_nobody_at_all() -> None:
    np.testing.assert_array_equal(turnbull([5, 9], [np.inf, np.inf]).intervals, [[9, np.inf]])
    assert len(turnbull([], []).mass) == 0


def test_against_r_which_stops_early() -> None:
    """R survival 3.5-3 (tests/reference/turnbull/turnbull.R) within 5e-3."""
    checks = pd.read_csv(REFERENCE / "checks.csv")
    answers = pd.read_csv(REFERENCE / "answers.csv")
    fit = turnbull(checks["low_h"], checks["high_h"])
    ends = np.searchsorted(fit.intervals[:, 1], answers["age_h"], side="right")
    ours = np.concatenate([[1.0], fit.share])[ends]
    np.testing.assert_allclose(ours, answers["share"], atol=5e-3)
    assert fit.converged


def test_counts_give_the_numbers_that_rows_give() -> None:
    checks = pd.read_csv(REFERENCE / "checks.csv")
    counted = checks.groupby(["low_h", "high_h"], as_index=False).size().sample(frac=1, random_state=1)
    rows = turnbull(checks["low_h"], checks["high_h"])
    ready = turnbull(counted["low_h"], counted["high_h"], weight=counted["size"])
    np.testing.assert_array_equal(ready.intervals, rows.intervals)
    np.testing.assert_allclose(ready.share, rows.share, atol=1e-12)


def test_days_for_hours_and_fractions() -> None:
    checks = pd.read_csv(REFERENCE / "checks.csv")
    hours = turnbull(checks["low_h"], checks["high_h"])
    days = turnbull(checks["low_h"] / 24, checks["high_h"] / 24)
    np.testing.assert_allclose(days.intervals * 24, hours.intervals, rtol=1e-12)
    np.testing.assert_allclose(days.share, hours.share, atol=1e-7)


def test_too_few_steps_are_admitted() -> None:
    checks = pd.read_csv(REFERENCE / "checks.csv")
    assert not turnbull(checks["low_h"], checks["high_h"], max_steps=1).converged


@pytest.mark.parametrize(
    ("low", "high", "weight", "message"),
    [
        ([1, -2], [3, 3], None, "low_h: ages must not be negative; found -2.0 at position 1"),
        ([1, np.inf], [3, np.inf], None, "low_h: ages must be finite; found inf at position 1"),
        (
            [1, 4],
            [3, 3],
            None,
            "high_h: found dead must not come before last seen alive; found 3.0 at position 1",
        ),
        (
            [1, 4],
            [np.nan, 5],
            None,
            "high_h: ages must not be missing (infinite where not found dead); found nan at position 0",
        ),
        ([1], [3, 3], None, "high_h: must be as long as low_h (1); found 2, they part at position 1"),
        ([1], [3], [-1], "weight: weights must not be negative; found -1.0 at position 0"),
    ],
)
def test_bad_arguments_are_named(
    low: list[float], high: list[float], weight: list[float] | None, message: str
) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        turnbull(low, high, weight=weight)
