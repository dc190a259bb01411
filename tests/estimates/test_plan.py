"""What a plan rests on: one season less the one before, Holm's procedure, and the rule of what became of a measure."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import confint_proportions_2indep, proportions_ztest

from neonatal_stats.estimates import holm, later_less_earlier, wilson
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.verdict import Outcome, follow_up

LEVEL = 0.95


def held(lost: list[int], n: list[int], **more: float) -> Estimate:
    """Two seasons without litters."""
    counts, sizes = np.array(lost), np.array(n)
    pooled = counts.sum() / sizes.sum()
    low, high = wilson(counts, sizes, level=LEVEL)
    return later_less_earlier(counts / sizes, low, high, pooled * (1 - pooled) / sizes, level=LEVEL, **more)


@pytest.mark.parametrize(("lost", "n"), [([48, 56], [80, 70]), ([150, 255], [300, 300]), ([9, 3], [10, 10])])
def test_without_swing_it_is_the_pooled_test_and_newcombes_interval(lost: list[int], n: list[int]) -> None:
    """statsmodels: the z test of two shares with pooled variance, and its "newcomb" interval."""
    found = held(lost, n)
    assert found.p == pytest.approx(proportions_ztest(lost[::-1], n[::-1])[1], rel=1e-10)
    low, high = confint_proportions_2indep(lost[1], n[1], lost[0], n[0], method="newcomb", compare="diff")
    assert (found.low, found.high) == (pytest.approx(low, abs=1e-10), pytest.approx(high, abs=1e-10))


def test_newcombes_own_examples() -> None:
    """Newcombe (1998) Stat Med 17:873-890, table II, method 10: 56/70 and 48/80; 9/10 and 3/10."""
    first, second = held([48, 56], [80, 70]), held([3, 9], [10, 10])
    assert (round(first.low, 4), round(first.high, 4)) == (0.0524, 0.3339)
    assert (round(second.low, 4), round(second.high, 4)) == (0.1705, 0.8090)


def test_swing_of_both_seasons_is_added() -> None:
    """Worked by hand: 12 % and 8 % of 600, each season swinging by 2 points."""
    plain, swung = held([72, 48], [600, 600]), held([72, 48], [600, 600], swing=0.02)
    variance = 0.1 * 0.9 / 600 * 2 + 2 * 0.02**2
    assert swung.p == pytest.approx(2 * stats.norm.sf(0.04 / np.sqrt(variance)), rel=1e-12)
    z = stats.norm.isf(0.025)
    assert swung.high - swung.estimate == pytest.approx(
        np.sqrt((plain.high - plain.estimate) ** 2 + 2 * (z * 0.02) ** 2), rel=1e-12
    )
    assert swung.estimate == plain.estimate


def test_it_takes_two_and_no_negative_swing() -> None:
    with pytest.raises(ValueError, match="share: must hold two, the earlier first; found 3"):
        later_less_earlier([0.1] * 3, [0.0] * 3, [0.2] * 3, [0.001] * 3, level=LEVEL)
    with pytest.raises(ValueError, match="swing: must be finite and not negative"):
        held([1, 2], [10, 10], swing=-1.0)


@pytest.mark.parametrize("p", [[0.01, 0.04, 0.03], [0.5, 0.5], [0.2], [1e-4, 0.9, 1e-4, 0.03, 0.03], []])
def test_holm_is_that_of_statsmodels(p: list[float]) -> None:
    reference = multipletests(p, method="holm")[1] if p else []
    assert holm(p).tolist() == pytest.approx(list(reference))


def test_what_could_not_be_tested_was_not_tried() -> None:
    assert np.isnan(holm([np.nan, 0.02])).tolist() == [True, False]
    assert holm([np.nan, 0.02, 0.03])[1:].tolist() == pytest.approx([0.04, 0.04])
    with pytest.raises(ValueError, match="p: must lie between 0 and 1"):
        holm([1.2])


@pytest.mark.parametrize(
    ("change", "after", "target", "clear", "more", "outcome"),
    [
        (0.35, 0.86, 0.85, True, True, Outcome.REACHED),
        (0.35, 0.85, 0.85, True, True, Outcome.REACHED),
        (0.35, 0.84, 0.85, True, True, Outcome.MOVED),
        (0.35, 0.86, np.nan, True, True, Outcome.MOVED),
        (0.35, 0.86, 0.85, False, True, Outcome.NO_CHANGE),
        (-0.10, 0.90, 0.85, True, True, Outcome.WORSE),
        (-0.06, 0.07, 0.08, True, False, Outcome.REACHED),
        (-0.06, 0.09, 0.08, True, False, Outcome.MOVED),
        (0.06, 0.15, 0.08, True, False, Outcome.WORSE),
        (np.nan, 0.15, 0.08, True, False, Outcome.NO_CHANGE),
    ],
)
def test_the_rule(
    change: float, after: float, target: float, clear: bool, more: bool, outcome: Outcome
) -> None:
    """At its target already and no clear change is no clear change; clear and the other way is worse even beyond it."""
    assert follow_up(change, after, target, clear=clear, more_is_better=more) is outcome
