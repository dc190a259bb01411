"""Excess losses of farms, drawn in, and what the others lead one to expect: by hand, by a reference, at the edges."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special, stats
from statsmodels.stats.meta_analysis import combine_effects

from neonatal_stats.estimates import beta_binomial_shrink, beyond_the_others, shrunken_excess

EVENTS, N = np.array([31.0, 12, 45, 20, 26, 9]), np.array([300.0, 180, 310, 240, 260, 60])
EXPECTED = N * EVENTS.sum() / N.sum()
EFFECT = np.array([1.2, 1.0, 1.3, 1.1, 1.4, 1.0])


def test_the_others_are_a_random_effects_sample_as_the_reference_has_it() -> None:
    """statsmodels 0.14 (combine_effects, method_re="iterated": Paule and Mandel; use_t: Hartung and Knapp)."""
    found = beyond_the_others(EVENTS, N, EXPECTED, level=0.95, design_effect=EFFECT)
    size, centre = N / EFFECT, EVENTS.sum() / N.sum()
    lost = EVENTS / EFFECT
    odds, chance = np.log((lost + 0.5) / (size - lost + 0.5)), 1 / (size * centre * (1 - centre))
    root = np.arcsin(np.sqrt((lost + 3 / 8) / (size + 3 / 4)))  # Anscombe (1948): variance 1 / (4n + 2)
    for farm in range(len(N)):
        rest = np.delete(np.arange(len(N)), farm)
        other = combine_effects(odds[rest], chance[rest], method_re="iterated")
        assert found.between[farm] == pytest.approx(other.tau2, rel=1e-5)
        weight = 1 / (chance[rest] + other.tau2)
        mean = (weight * odds[rest]).sum() / weight.sum()
        spread = max(1.0, (weight * (odds[rest] - mean) ** 2).sum() / (len(rest) - 1)) / weight.sum()
        away = root[farm] - np.arcsin(np.sqrt(special.expit(mean)))
        # how far on log odds over the spread of farms, how far on roots over chance
        square = (other.tau2 + spread) / (odds[farm] - mean) ** 2 + 1 / (4 * size[farm] + 2) / away**2
        assert found.p[farm] == pytest.approx(2 * stats.t.sf(square**-0.5, len(rest) - 1), rel=1e-5)
        assert found.more[farm] == (away > 0)


def test_with_much_chance_the_distance_is_that_on_roots_and_with_little_that_on_log_odds() -> None:
    """The limits at the ends: farms of 20 that differ by chance alone, and farms of a million that do differ."""
    small = beyond_the_others([2.0, 3, 2, 3, 2, 3, 2, 0], np.full(8, 20.0), np.full(8, 17 / 8), level=0.95)
    assert small.between[7] == 0
    share = special.expit(np.log(0.12 / 0.88) + np.array([-0.5, 0.5, -0.2, 0.2, 0.1, -0.1, 1.6]))
    large = beyond_the_others(share * 1e6, np.full(7, 1e6), np.full(7, share.mean() * 1e6), level=0.95)
    odds = special.logit(share)
    error = odds[:6].std(ddof=1) * np.sqrt(1 + 1 / 6)
    assert large.p[6] == pytest.approx(2 * stats.t.sf((odds[6] - odds[:6].mean()) / error, 5), rel=0.01)


def test_a_small_farm_without_losses_lies_within_what_is_expected_and_any_farm_where_p_says_so() -> None:
    """No loss of twenty where 12 % are usual: chance alone gives that to one such farm in thirteen (0.88 ** 20)."""
    rng = np.random.default_rng(3)
    n = np.array([60.0] * 8 + [500.0] * 8)
    for _ in range(50):
        events = rng.binomial(n.astype(int), np.clip(rng.normal(0.12, 0.05, 16), 0, 1)).astype(float)
        found = beyond_the_others(events, n, n * events.sum() / n.sum(), level=0.95)
        within = (found.low <= found.share) & (found.share <= found.high)
        assert (within == (found.p >= 0.05)).all()
    events = np.array([0.0] + [0, 2, 3, 4, 3] * 3)
    small = beyond_the_others(events, np.full(16, 20.0), np.full(16, events.mean()), level=0.95)
    assert small.low[0] == 0
    assert 0.05 < small.p[0] < 0.5
    assert not small.more[0]


def test_the_excess_by_hand() -> None:
    """Two kinds of farm, expected by their mix: 20 of 100 where 10 were due is 0.2 at a common loss of 0.1."""
    events, n, due = [20.0, 10, 10, 10, 5, 5], [100.0] * 6, [10.0] * 6
    found = shrunken_excess(events, n, due, level=0.95)
    assert found.centre == pytest.approx(0.1)
    assert found.raw.tolist() == [10, 0, 0, 0, -5, -5]
    drawn = beta_binomial_shrink(events, n, level=0.95)
    assert found.excess == pytest.approx((drawn.share - 0.1) / 0.1 * 10)
    assert (np.abs(found.excess[[0, 4]]) < np.abs(found.raw[[0, 4]])).all()
    assert (found.low <= found.excess).all()
    assert (found.excess <= found.high).all()
    mixed = shrunken_excess(events, n, [20.0, *due[1:]], level=0.95)
    assert mixed.raw[0] == 0


def test_litters_draw_a_farm_in_further_and_tell_less_of_it() -> None:
    plain = shrunken_excess(EVENTS, N, EXPECTED, level=0.95)
    alike = shrunken_excess(EVENTS, N, EXPECTED, level=0.95, design_effect=[1, 1, 3, 1, 1, 1])
    assert abs(alike.excess[2]) < abs(plain.excess[2])
    clear, dim = (
        beyond_the_others(EVENTS, N, EXPECTED, level=0.95, design_effect=effect).p[2] for effect in (1, 3)
    )
    assert clear < dim


def test_where_farms_do_not_differ_all_stand_near_what_was_expected() -> None:
    found = shrunken_excess([10.0, 11, 9, 10], [100.0] * 4, [10.0] * 4, level=0.95)
    assert not found.spread
    assert np.abs(found.excess).max() < 0.1


def test_the_order_of_the_farms_changes_nothing() -> None:
    order = np.array([3, 0, 5, 1, 4, 2])
    for function in (shrunken_excess, beyond_the_others):
        one = function(EVENTS, N, EXPECTED, level=0.95, design_effect=EFFECT)
        other = function(EVENTS[order], N[order], EXPECTED[order], level=0.95, design_effect=EFFECT[order])
        name = "excess" if function is shrunken_excess else "p"
        assert getattr(other, name) == pytest.approx(getattr(one, name)[order], rel=1e-9)


def test_edges() -> None:
    three = beyond_the_others([1.0, 2, 9], [10.0, 10, 10], [4.0, 4, 4], level=0.95)
    assert np.isnan(three.p).all()
    assert three.share == pytest.approx([0.1, 0.2, 0.9])
    assert not three.more.any()
    none = beyond_the_others([0.0, 0, 0, 0], [10.0] * 4, [0.1] * 4, level=0.95)
    assert np.isnan(none.p).all()
    empty = beyond_the_others([3.0, 4, 5, 6, 0], [30.0, 40, 50, 60, 0], [3.0, 4, 5, 6, 0], level=0.95)
    assert np.isnan(empty.p).tolist() == [False] * 4 + [True]
    with pytest.raises(
        ValueError, match=r"expected: must be above 0 where there are newborns; found 0\.0 at position 1"
    ):
        shrunken_excess([1.0, 2], [10.0, 10], [1.0, 0], level=0.95)
