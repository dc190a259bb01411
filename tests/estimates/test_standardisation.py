"""Standardised loss: by hand, missing strata, litters (values against R and Fay & Feuer: test_reference)."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from neonatal_stats.estimates.proportion import proportions, wilson
from neonatal_stats.estimates.standardisation import (
    directly_standardised,
    expected_events,
    indirectly_standardised,
)
from tests.reference.counted import mix

COUNTS = st.lists(
    st.tuples(st.integers(0, 20), st.integers(0, 40), st.integers(0, 9)), min_size=1, max_size=6
)


def test_one_stratum_is_the_exact_poisson_interval() -> None:
    """10 deaths of 100: chi-square quantiles over 2 x 100 (Garwood 1936)."""
    got = directly_standardised(**mix([10], [100]), standard=[1], limits="gamma", level=0.95)
    limits = stats.chi2.ppf([0.025, 0.975], [20, 22]) / 200
    assert [got.estimate, got.low, got.high] == pytest.approx([0.1, *limits], rel=1e-10)


def test_adjusted_risk_worked_by_hand() -> None:
    """Singles 5/50, twins 20/100, mix half and half: 0.5 x 0.1 + 0.5 x 0.2 = 0.15."""
    assert directly_standardised(
        **mix([5, 20], [50, 100]), standard=[1, 1], level=0.95
    ).estimate == pytest.approx(0.15, rel=1e-14)


def test_a_missing_stratum_is_named_and_the_rest_of_the_mix_used() -> None:
    got = directly_standardised(**mix([5, 0, 20], [50, 0, 100]), standard=[40, 20, 40], level=0.95)
    assert got.note == "0.2 of the standard mix had no newborns here; standardised to the rest of it"
    assert got.estimate == pytest.approx(0.15)


@pytest.mark.parametrize("limits", ["wilson", "gamma"])
def test_no_deaths_have_a_high_limit_and_no_births_have_none(limits: str) -> None:
    got = directly_standardised(**mix([0, 0], [50, 20]), standard=[1, 1], level=0.95, limits=limits)
    assert (got.estimate, got.low) == (0, 0)
    assert 0 < got.high < 0.5
    empty = directly_standardised(**mix([0], [0]), standard=[1], level=0.95, limits=limits)
    assert np.isnan([empty.estimate, empty.low, empty.high]).all()


@settings(deadline=None)
@given(COUNTS, st.sampled_from(["wilson", "gamma"]))
def test_scale_of_the_mix_does_not_matter_and_limits_hold_the_estimate(
    rows: list[tuple[int, int, int]], limits: str
) -> None:
    events, others, standard = (np.array(x) for x in zip(*rows, strict=True))
    counts = mix(events, events + others)
    one = directly_standardised(**counts, standard=standard, level=0.95, limits=limits)
    two = directly_standardised(**counts, standard=standard * 1000, level=0.95, limits=limits)
    if np.isnan(one.estimate):
        assert one.note.startswith("cannot be estimated")
        return
    assert two.high == pytest.approx(one.high, rel=1e-10)
    assert one.low <= one.estimate <= one.high < np.inf


def test_gamma_limits_of_litters_are_those_of_newborns_over_the_design_effect() -> None:
    rng = np.random.default_rng(9)
    litter, stratum = np.repeat(np.arange(80), 3), np.repeat(np.arange(80) % 2, 3)
    dead = (rng.random(80) < 0.3)[litter] & (rng.random(240) < 0.8)
    plain, wide = (
        directly_standardised(dead, stratum, [1, 1], cluster=cluster, level=0.95, limits="gamma")
        for cluster in (None, litter)
    )
    assert wide.estimate == plain.estimate
    assert wide.low < plain.low < plain.high < wide.high
    each = proportions(dead, group=stratum, cluster=litter, level=0.95)
    fewer = mix(each.events / each.design_effect, each.n / each.design_effect)
    alone = directly_standardised(**fewer, standard=[1, 1], level=0.95, limits="gamma")
    assert [wide.low, wide.high] == pytest.approx([alone.low, alone.high], rel=1e-12)


def test_births_of_one_stratum_are_the_clustered_proportion() -> None:
    rng = np.random.default_rng(8)
    litter = np.repeat(np.arange(60), rng.integers(1, 4, 60))
    dead = (rng.random(60) < 0.2)[litter] & (rng.random(len(litter)) < 0.8)
    got = directly_standardised(dead, np.zeros(len(litter), int), [3.0], cluster=litter, level=0.95)
    plain = proportions(dead, cluster=litter, level=0.95)
    assert [got.estimate, got.low, got.high] == pytest.approx(
        [plain.share[0], plain.low[0], plain.high[0]], rel=1e-10
    )


def test_ratio_of_seen_to_expected_and_its_p() -> None:
    """10 seen, 10 expected: mid-P of the median is 1; exact limits by chi-square."""
    got = indirectly_standardised(10, 10, level=0.95)
    assert got.estimate == 1
    assert got.p == pytest.approx(
        2 * min(stats.poisson.cdf(9, 10) + stats.poisson.pmf(10, 10) / 2, 0.5), abs=0.1
    )
    none = indirectly_standardised(0, 4, level=0.95)
    assert (none.estimate, none.low) == (0, 0)
    assert none.high == pytest.approx(-np.log(0.025) / 4)
    known = indirectly_standardised(30, 20, n=200, level=0.95)
    assert [known.low, known.high] == pytest.approx([float(x) * 10 for x in wilson(30, 200, level=0.95)])
    assert known.p == pytest.approx(2 * stats.norm.sf(10 / np.sqrt(20 * 0.9)))
    assert expected_events([50, 0, 100], [0.1, np.nan, 0.2]) == 25


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"standard": [1, -1]}, "standard: must be finite and not negative; found -1.0 at position 1"),
        ({"standard": [1]}, "stratum: codes must be below 1; found 1 at position 1"),
        (
            {"standard": [1, 1], "limits": "exact"},
            "limits: must be one of wilson, gamma; found exact at position 0",
        ),
    ],
)
def test_a_bad_argument_is_named_with_its_place(arguments: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        directly_standardised(**mix([1, 2], [5, 6]), level=0.95, **arguments)
