"""Risks drawn towards the flock's: order, bounds, a prior recovered (against R: test_reference)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neonatal_stats.estimates.many_groups import beta_binomial_shrink

GROUPS = st.lists(st.tuples(st.integers(0, 30), st.integers(0, 60)), min_size=2, max_size=12)


def test_small_groups_move_most() -> None:
    got = beta_binomial_shrink([3, 30, 5, 60, 9], [10, 100, 100, 300, 30], level=0.95)
    crude = np.array([0.3, 0.3, 0.05, 0.2, 0.3])
    assert got.converged
    assert crude[0] - got.share[0] > crude[4] - got.share[4] > crude[1] - got.share[1] > 0


@pytest.mark.slow
@settings(deadline=None)
@given(GROUPS)
def test_shares_lie_between_their_own_and_the_common_risk(rows: list[tuple[int, int]]) -> None:
    events, others = (np.array(x) for x in zip(*rows, strict=True))
    n = events + others
    got = beta_binomial_shrink(events, n, level=0.95)
    used = n > 0
    assert np.isnan(got.share[~used]).all()
    assert ((got.low[used] <= got.share[used]) & (got.share[used] <= got.high[used])).all()
    if got.method.startswith("beta"):
        common = got.a / (got.a + got.b)
        own = events[used] / n[used]
        assert (got.share[used] >= np.minimum(own, common) - 1e-9).all()
        assert (got.share[used] <= np.maximum(own, common) + 1e-9).all()


@pytest.mark.slow
def test_a_known_prior_is_found_again() -> None:
    """2,000 groups of 50 drawn from Beta(4, 16): mean 0.2, weight 20."""
    rng = np.random.default_rng(11)
    got = beta_binomial_shrink(rng.binomial(50, rng.beta(4, 16, 2000)), np.full(2000, 50), level=0.95)
    assert got.a / (got.a + got.b) == pytest.approx(0.2, abs=0.006)
    assert got.a + got.b == pytest.approx(20, rel=0.1)


def test_groups_no_different_than_chance_are_given_one_risk() -> None:
    got = beta_binomial_shrink([10, 20, 30], [100, 200, 300], level=0.95)
    assert got.share == pytest.approx([0.1] * 3)
    assert not got.converged
    assert (got.high > got.low).all()


@pytest.mark.parametrize("events", [[0, 0], [5, 8]])
def test_no_deaths_or_only_deaths_or_one_group_learn_nothing(events: list[int]) -> None:
    got = beta_binomial_shrink(events, [5, 8], level=0.95)
    assert got.method == "Jeffreys' prior: no groups to learn from"
    assert np.isfinite(got.share).all()


def test_order_of_groups_changes_nothing() -> None:
    one = beta_binomial_shrink([3, 30, 5, 60], [10, 100, 100, 300], level=0.95)
    two = beta_binomial_shrink([60, 5, 30, 3], [300, 100, 100, 10], level=0.95)
    assert two.share[::-1] == pytest.approx(one.share, rel=1e-5)
    assert two.low[::-1] == pytest.approx(one.low, rel=1e-5)
