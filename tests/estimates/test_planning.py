"""Next season's numbers, many looks, checks and unmeasured weakness: by hand and at the edges."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from neonatal_stats.estimates.formulas import e_value, screening
from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.estimates.planning import (
    design_effect,
    fall_seen,
    losses_avoidable,
    newborns_a_season,
    newborns_needed,
    ratio_seen,
    seasons_needed,
)

RISK = st.floats(0.01, 0.99)


@settings(deadline=None)
@given(RISK, RISK, st.floats(1, 4))
def test_smaller_changes_and_bigger_litters_need_more_newborns(p0: float, p1: float, effect: float) -> None:
    if abs(p0 - p1) < 0.02:
        return
    need = newborns_needed(p0, p1, power=0.8, level=0.95)
    assert need == newborns_needed(p1, p0, power=0.8, level=0.95)
    assert newborns_needed(p0, (p0 + p1) / 2, power=0.8, level=0.95) > need
    assert (
        (need - 1) * effect
        <= newborns_needed(p0, p1, design_effect=effect, power=0.8, level=0.95)
        <= need * effect + 1
    )


def hayes_and_bennett(p0: float, p1: float, n: float, k: float) -> float:
    """Clusters in each arm, not rounded: Hayes RJ, Bennett S (1999) Int J Epidemiol 28:319-326, proportions, unmatched.

    c = 1 + (z(alpha/2) + z(beta))^2 [p0 (1 - p0) / n + p1 (1 - p1) / n + k^2 (p0^2 + p1^2)] / (p0 - p1)^2; formula from
    memory, its worked example unchecked.
    """
    z = stats.norm.isf(0.025) + stats.norm.isf(0.2)
    within = p0 * (1 - p0) / n + p1 * (1 - p1) / n
    return float(1 + z**2 * (within + k**2 * (p0**2 + p1**2)) / (p0 - p1) ** 2)


@pytest.mark.parametrize("swing", [0.0, 0.1, 0.2, 0.35])
@pytest.mark.parametrize(("p0", "p1", "n"), [(0.15, 0.10, 600), (0.12, 0.06, 80), (0.3, 0.24, 2000)])
def test_seasons_needed_are_the_clusters_of_hayes_and_bennett(
    p0: float, p1: float, n: int, swing: float
) -> None:
    asked = {"swing": swing, "power": 0.8, "level": 0.95}
    exact = hayes_and_bennett(p0, p1, n, swing)
    assert seasons_needed(p0, p1, n, **asked) == max(2, np.ceil(exact))
    assert seasons_needed(p0, p1, n * 1.5, design_effect=1.5, **asked) == max(2, np.ceil(exact))
    for seasons in (2, 4, 8, 30):
        each = newborns_a_season(p0, p1, seasons, **asked)
        if np.isnan(each):
            assert (
                hayes_and_bennett(p0, p1, 1e12, swing) >= seasons
            )  # no number of newborns buys off the swing
        else:
            assert (
                hayes_and_bennett(p0, p1, each, swing) <= seasons < hayes_and_bennett(p0, p1, each - 1, swing)
            )
        fall = fall_seen(p0, n, seasons, **asked)
        if not np.isnan(fall):
            assert hayes_and_bennett(p0, p0 * (1 - fall), n, swing) == pytest.approx(seasons, abs=1e-4)


def test_what_seasons_would_show_is_seen_that_often() -> None:
    """Eight seasons before and eight after, true risks that swing by a fifth: Student's t sees it 8 times in 10."""
    fall = fall_seen(0.15, 600, 8, swing=0.2, power=0.8, level=0.95)
    rng = np.random.default_rng(20260712)
    mean = np.repeat([0.15, 0.15 * (1 - fall)], 8)
    risk = np.clip(mean * (1 + 0.2 * rng.normal(size=(4000, 16))), 0, 1)
    share = rng.binomial(600, risk) / 600
    seen = stats.ttest_ind(share[:, :8], share[:, 8:], axis=1).pvalue < 0.05
    assert seen.mean() == pytest.approx(
        0.8, abs=0.03
    )  # the formula allows for t by one season more, a little roughly


def test_one_season_against_one_shows_nothing_and_halves_of_one_share_its_swing() -> None:
    asked = {"swing": 0.2, "power": 0.8, "level": 0.95}
    assert np.isnan(fall_seen(0.15, 1e9, 1, **asked))
    assert np.isnan(newborns_a_season(0.15, 0.14, 2, **asked))
    fall = fall_seen(0.15, 600, 0, **asked)
    assert newborns_needed(0.15, 0.15 * (1 - fall), power=0.8, level=0.95) == 600
    assert fall_seen(0.15, 600, 0, **asked | {"swing": 0.0}) == fall
    for bad in ({"swing": -0.1}, {"swing": np.inf}, {"power": 1.2}):
        with pytest.raises(ValueError, match=next(iter(bad))):
            seasons_needed(0.15, 0.1, 600, **asked | bad)


def test_design_effect_by_hand() -> None:
    """Litters 1, 2, 3: sum of squares 14 over 6; 1 + (14/6 - 1) x 0.2."""
    assert design_effect([1, 2, 3], 0.2) == pytest.approx(1 + 8 / 6 * 0.2)
    assert design_effect([2, 2], -0.5) == 1
    assert design_effect([], 0.3) == 1


def test_losses_avoidable_by_hand() -> None:
    dead, twin = np.repeat([1, 0, 1, 0], [10, 40, 5, 45]), np.repeat([1, 0], 50)
    got = losses_avoidable(dead, twin, level=0.95)
    assert got.estimate == pytest.approx(5)
    assert got.low < 0 < got.high
    none = losses_avoidable(dead, np.ones(100, int), level=0.95)
    assert none.note == "cannot be estimated: no newborns in one of the groups"


def test_ratio_seen_is_what_the_usual_formula_finds_in_large_groups() -> None:
    """Fleiss, Levin & Paik (2003) ch. 4, two proportions: at that ratio its power is 0.8, or just over."""
    n1, n0, risk = 3000, 27000, 0.10
    found = ratio_seen(n1, n0, risk, power=0.8, p=0.05)
    p1 = found * risk
    pooled = (n1 * p1 + n0 * risk) / (n1 + n0)
    null = np.sqrt(pooled * (1 - pooled) * (1 / n1 + 1 / n0))
    power = stats.norm.cdf(
        (p1 - risk - 1.959964 * null) / np.sqrt(p1 * (1 - p1) / n1 + risk * (1 - risk) / n0)
    )
    assert 0.79 < power < 0.85


def test_ratio_seen_grows_with_litters_and_small_p_and_may_not_exist() -> None:
    plain = ratio_seen(60, 540, 0.10, power=0.8, p=0.01)
    assert ratio_seen(60, 540, 0.10, power=0.8, p=0.0001) > plain
    assert ratio_seen(60, 540, 0.10, power=0.8, p=0.01, design_effect=1.5) > plain
    assert np.isnan(ratio_seen(3, 60, 0.10, power=0.8, p=1e-5))


def test_q_values_leave_out_what_could_not_be_tested() -> None:
    q = benjamini_hochberg([0.01, np.nan, 0.04, 0.03])
    assert q[[0, 2, 3]] == pytest.approx([0.03, 0.04, 0.04])
    assert np.isnan(q[1])
    assert np.isnan(benjamini_hochberg([np.nan])).all()
    assert len(benjamini_hochberg([])) == 0


@settings(deadline=None)
@given(st.lists(st.floats(0, 1), min_size=1, max_size=30))
def test_q_is_never_below_p_and_keeps_the_order(p: list[float]) -> None:
    q = benjamini_hochberg(p)
    assert (q >= np.array(p) - 1e-12).all()
    assert (np.diff(q[np.argsort(p, kind="stable")]) >= -1e-12).all()


def test_screening_by_hand() -> None:
    """8 of 10 that died had no suck reflex, 9 of 90 that lived."""
    got = screening([1] * 8 + [0] * 2 + [1] * 9 + [0] * 81, [1] * 10 + [0] * 90, level=0.95)
    assert got.sensitivity.estimate == 0.8
    assert got.specificity.estimate == 0.9
    assert got.positive_predictive_value.estimate == pytest.approx(8 / 17)
    assert got.negative_predictive_value.estimate == pytest.approx(81 / 83)
    assert got.positive_likelihood_ratio.estimate == pytest.approx(8)
    assert got.negative_likelihood_ratio.estimate == pytest.approx(0.2 / 0.9)
    assert got.prevalence.estimate == 0.1
    assert got.n == 100


def test_screening_without_deaths_says_so() -> None:
    got = screening([1, 0, 0], [0, 0, 0], level=0.95)
    assert got.sensitivity.note == "cannot be estimated: no newborns of this kind"
    assert np.isnan(got.positive_likelihood_ratio.estimate)
    assert got.specificity.estimate == pytest.approx(2 / 3)


def test_e_value_is_one_when_the_interval_holds_one_and_turns_round() -> None:
    assert e_value(1.5, 0.9, 2.5).limit == 1
    assert e_value(1.0, 0.5, 2.0).estimate == 1
    up, down = e_value(2.0, 1.25, 3.2), e_value(0.5, 1 / 3.2, 0.8)
    assert [down.estimate, down.limit] == pytest.approx([up.estimate, up.limit])
    assert up.estimate == pytest.approx(2 + np.sqrt(2))


def test_e_value_of_odds_and_hazards_of_common_deaths() -> None:
    """Odds ratio 4 is taken as 2; hazard ratio h as (1 - 0.5^sqrt(h)) / (1 - 0.5^sqrt(1/h))."""
    assert e_value(4, 1, 16, measure="odds_ratio").estimate == pytest.approx(2 + np.sqrt(2))
    assert e_value(4, 1, 16, measure="odds_ratio", rare=True).estimate == pytest.approx(4 + np.sqrt(12))
    ratio = (1 - 0.5**2) / (1 - 0.5**0.5)
    assert e_value(4, 1, 16, measure="hazard_ratio").estimate == pytest.approx(
        ratio + np.sqrt(ratio * (ratio - 1))
    )
    assert np.isnan(e_value(np.nan, np.nan, np.nan).estimate)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: newborns_needed(0.1, 0.1, power=0.8, level=0.95),
            "p1: must differ from p0 (0.1); found 0.1 at position 0",
        ),
        (
            lambda: newborns_needed(0, 0.1, power=0.8, level=0.95),
            "p0: must lie between 0 and 1; found 0 at position 0",
        ),
        (
            lambda: newborns_needed(0.1, 0.2, design_effect=0.5, power=0.8, level=0.95),
            "design_effect: must be finite and at least 1; found 0.5 at position 0",
        ),
        (
            lambda: design_effect([1, -2], 0.1),
            "cluster_sizes: must be finite and not negative; found -2.0 at position 1",
        ),
        (lambda: benjamini_hochberg([0.1, 1.5]), "p: must lie between 0 and 1; found 1.5 at position 1"),
        (lambda: e_value(2, -1, 3), "low: must be a finite ratio, not negative; found -1 at position 0"),
    ],
)
def test_a_bad_argument_is_named_with_its_place(call: object, message: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        call()
