"""The first feed as an exposure that takes time to happen: split rows and landmarks."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.estimates.cox_regression import cox
from neonatal_stats.estimates.time_dependent import (
    JUST_AFTER_BIRTH,
    apart,
    fed_hazard_ratio,
    landmark,
    split_at_feed,
)

REFERENCE = Path(__file__).parents[1] / "reference" / "cox"
NAMES = ["twin", "weight_kg", "score"]


def flock() -> pd.DataFrame:
    return pd.read_csv(REFERENCE / "flock.csv").assign(fed_h=pd.read_csv(REFERENCE / "fed.csv")["fed_h"])


def answers(case: str) -> pd.DataFrame:
    """R survival 3.5-3: tests/reference/cox/cox.R."""
    table = pd.read_csv(REFERENCE / "answers.csv")
    return table[table["case"] == case]


def test_split_rows_by_hand() -> None:
    """Worked by hand: fed at 2 dies at 5; fed in the hour of its death; never fed; fed and dead in hour 0."""
    rows = split_at_feed([5, 5, 7, 0], [1, 1, 0, 1], [2, 5, np.nan, 0])
    np.testing.assert_array_equal(rows.index, [0, 0, 1, 2, 3])
    np.testing.assert_array_equal(rows.start_h, [0, 2, 0, 0, 0])
    np.testing.assert_array_equal(rows.stop_h, [2, 5, 5, 7, 0])
    np.testing.assert_array_equal(rows.event, [0, 1, 1, 0, 1])
    np.testing.assert_array_equal(rows.fed, [0, 1, 0, 0, 0])


def test_fed_in_hour_0_is_unfed_in_hour_0() -> None:
    rows = split_at_feed([9], [1], [0])
    np.testing.assert_array_equal(rows.start_h, [0, JUST_AFTER_BIRTH])
    np.testing.assert_array_equal(rows.stop_h, [0, 9])
    np.testing.assert_array_equal(rows.event, [0, 1])


def test_tagged_late_and_fed_before_or_after() -> None:
    rows = split_at_feed([9, 9, 9], [1, 1, 1], [3, 5, 4], entry_h=[4, 4, 4])
    np.testing.assert_array_equal(rows.index, [0, 1, 1, 2])
    np.testing.assert_array_equal(rows.start_h, [4, 4, 5, 4])
    np.testing.assert_array_equal(rows.fed, [1, 0, 1, 1])


def test_every_newborn_hour_and_death_is_kept_once() -> None:
    births = flock()
    rows = split_at_feed(births["age_h"], births["died"], births["fed_h"])
    assert rows.event.sum() == births["died"].sum()
    hours = np.bincount(rows.index, rows.stop_h - rows.start_h)
    np.testing.assert_allclose(hours, births["age_h"], atol=1e-9)


def test_time_dependent_cox_as_in_r() -> None:
    births = flock()
    fit = fed_hazard_ratio(
        births["age_h"],
        births["died"],
        births["fed_h"],
        births[NAMES],
        cluster=births["litter"],
        names=NAMES,
        level=0.95,
    )
    expected = answers("time-dependent")
    np.testing.assert_allclose(fit.coefficient, expected["coefficient"], rtol=1e-10)
    np.testing.assert_allclose(fit.se, expected["se"], rtol=1e-10)
    assert fit.names == ("fed", *NAMES)


def test_time_dependent_weighted_cox_as_in_r() -> None:
    births = flock()
    rows = split_at_feed(births["age_h"], births["died"], births["fed_h"])
    carried = births.iloc[rows.index]
    z = np.column_stack([rows.fed, carried[NAMES]])
    fit = cox(
        rows.stop_h,
        rows.event,
        z,
        entry_h=rows.start_h,
        cluster=carried["litter"],
        weight=carried["case_weight"],
        level=0.95,
    )
    expected = answers("time-dependent, weighted")
    np.testing.assert_allclose(fit.coefficient, expected["coefficient"], rtol=1e-10)
    np.testing.assert_allclose(fit.se, expected["se"], rtol=1e-10)


def test_landmark_as_in_r() -> None:
    births = flock()
    fit = landmark(
        births["age_h"],
        births["died"],
        births["fed_h"],
        births[NAMES],
        mark_h=6,
        cluster=births["litter"],
        level=0.95,
    )
    expected = answers("landmark 6 h")
    np.testing.assert_allclose(fit.coefficient, expected["coefficient"], rtol=1e-10)
    np.testing.assert_allclose(fit.se, expected["se"], rtol=1e-10)
    assert fit.fed + fit.unfed + fit.dead_before + fit.left_before == len(births)
    assert fit.fed_deaths + fit.unfed_deaths == fit.events


def test_landmark_counts_by_hand() -> None:
    """Mark 6: dead at 3 or 6 or left at 5 are out; fed at 6 is fed, at 7 unfed; a death at 30 is unseen."""
    fit = landmark(
        [3, 6, 5, 20, 20, 30, 30, 40], [1, 1, 0, 1, 1, 1, 0, 0], [1, 2, np.nan, 6, 7, 4, np.inf, 2],
        mark_h=6, until_h=24, level=0.95
    )  # fmt: skip
    assert (fit.dead_before, fit.left_before, fit.fed, fit.unfed) == (2, 1, 3, 2)
    assert (fit.fed_deaths, fit.unfed_deaths, fit.names) == (1, 1, ("fed",))


def test_a_death_at_the_very_end_of_the_window_is_counted_and_one_after_it_is_not() -> None:
    """Dead at 24 of a window to 24; dead at 25, and at 24.5, seen alive at its end."""
    fit = landmark(
        [24, 25, 24.5, 30, 30], [1, 1, 1, 0, 0], [2, 2, np.nan, 3, np.nan], mark_h=6, until_h=24, level=0.95
    )
    assert (fit.fed_deaths, fit.unfed_deaths, fit.events, fit.n) == (1, 0, 1, 5)


def test_a_feed_after_the_end_of_watching_was_not_seen() -> None:
    np.testing.assert_array_equal(split_at_feed([5], [0], [8]).fed, [0])


@pytest.mark.parametrize(
    ("fed", "message"),
    [
        ([1, 8], "fed_h: a newborn cannot be fed after it died; found 8.0 at position 1"),
        ([-1, 2], "fed_h: ages must not be negative; found -1.0 at position 0"),
        ([1], "fed_h: must be as long as age_h (2); found 1, they part at position 1"),
    ],
)
def test_bad_feeds_are_named(fed: list[float], message: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        split_at_feed([5, 5], [0, 1], fed)


def test_strata_are_never_at_risk_together() -> None:
    # the second season is the first with every hour three times as long: a ratio within seasons is the same in both,
    # and stratified it is that of either; a death in hour 0 is kept in the second as in the first
    rng = np.random.default_rng(3)
    age, died = np.floor(rng.exponential(20, 200)), (rng.random(200) < 0.6).astype(int)
    x = rng.normal(size=200)
    one = cox(age, died, x, level=0.95)
    entry, stop = apart(np.zeros(400), np.concatenate([age, 3 * age]), np.repeat([0, 1], 200))
    both = cox(stop, np.tile(died, 2), np.tile(x, 2), entry_h=entry, level=0.95)
    assert both.coefficient == pytest.approx(one.coefficient, rel=1e-9)
    assert both.loglik == pytest.approx(2 * one.loglik, rel=1e-9)


def test_a_lag_leaves_out_the_deaths_just_after_the_mark() -> None:
    # worked by hand: alive at 8 h are four; of the two unfed one died at 10 h and is out with a lag of 4 h
    age, died, fed = [10, 50, 60, 100], [1, 1, 1, 0], [np.inf, np.inf, 2, 3]
    plain, lagged = (landmark(age, died, fed, mark_h=8, lag_h=lag, level=0.95) for lag in (0, 4))
    assert (plain.unfed, plain.unfed_deaths) == (2, 2)
    assert (lagged.unfed, lagged.unfed_deaths, lagged.dead_before) == (1, 1, 1)


def test_hours_that_hardly_differ_stay_apart_however_far_they_move() -> None:
    """A feed just before a death: hours moved by a large number would fall together, and the death before its entry."""
    fed, died = 10.85, np.nextafter(10.85, 11)
    start, stop = apart([0, 0, fed, 0], [72.0, fed, died, 48.0], [0, 9, 9, 9])
    assert start[2] == stop[1]
    assert start[2] < stop[2] < stop[3]
    assert start[1] > stop[0]
