"""Mantel-Haenszel: strata that cannot speak, litters, and invariants (values against R: test_reference)."""

from __future__ import annotations

import numpy as np
import pytest

from neonatal_stats.estimates.contrast import compare_counts
from neonatal_stats.estimates.stratified import MEASURES, mantel_haenszel
from tests.reference.counted import tables

SMOKING = ([19, 6, 5], [52, 10, 12], [4, 5, 20], [44, 16, 55])


def births() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    a, n1, c, n0 = (np.array(x) for x in SMOKING)
    counts = np.concatenate([[a[s], n1[s] - a[s], c[s], n0[s] - c[s]] for s in range(3)])
    return (
        np.repeat([1, 0, 1, 0] * 3, counts),
        np.repeat([1, 1, 0, 0] * 3, counts),
        np.repeat(np.repeat(range(3), 4), counts),
    )


@pytest.mark.parametrize("measure", MEASURES)
def test_one_stratum_is_the_plain_contrast(measure: str) -> None:
    summary, homogeneity = mantel_haenszel(**tables([30], [80], [20], [200]), measure=measure, level=0.95)
    assert summary.estimate == pytest.approx(
        compare_counts(30, 80, 20, 200, measure=measure, level=0.95).estimate, rel=1e-12
    )
    assert np.isnan(homogeneity.p)


@pytest.mark.parametrize("measure", MEASURES)
def test_births_give_what_counts_give(measure: str) -> None:
    one = mantel_haenszel(**tables(*SMOKING), measure=measure, level=0.95)
    two = mantel_haenszel(*births(), measure=measure, level=0.95)
    assert [two[0].low, two[0].high, two[1].statistic] == pytest.approx(
        [one[0].low, one[0].high, one[1].statistic]
    )


@pytest.mark.parametrize("measure", MEASURES)
def test_every_newborn_twice_in_one_litter_leaves_the_interval_as_it_was(measure: str) -> None:
    """Copies say nothing new: the clustered interval of doubled data is the single data's, nearly."""
    event, exposed, stratum = (np.tile(x, 2) for x in births())
    litter = np.tile(np.arange(len(event) // 2), 2)
    once = mantel_haenszel(*births(), measure=measure, level=0.95)[0]
    twice = mantel_haenszel(event, exposed, stratum, cluster=litter, measure=measure, level=0.95)[0]
    assert twice.estimate == pytest.approx(once.estimate)
    assert [twice.low, twice.high] == pytest.approx([once.low, once.high], rel=0.02)


def test_strata_with_one_group_are_left_out_and_counted() -> None:
    got, _ = mantel_haenszel(**tables([5, 1], [20, 3], [4, 0], [40, 0]), level=0.95)
    assert got.note == "1 of 2 strata hold one group only and say nothing"
    assert got.estimate == pytest.approx(
        mantel_haenszel(**tables([5], [20], [4], [40]), level=0.95)[0].estimate
    )


def test_no_events_is_no_number_and_no_warning() -> None:
    for measure in ("risk_ratio", "odds_ratio"):
        got, homogeneity = mantel_haenszel(
            **tables([0, 0], [5, 6], [0, 0], [7, 8]), measure=measure, level=0.95
        )
        assert np.isnan([got.estimate, got.low, got.high]).all()
        assert got.note.startswith("cannot be estimated: ")
        assert np.isnan(homogeneity.p)


def test_strata_in_another_order_give_the_same() -> None:
    turned = [list(reversed(x)) for x in SMOKING]
    assert mantel_haenszel(**tables(*turned), level=0.95)[0].high == pytest.approx(
        mantel_haenszel(**tables(*SMOKING), level=0.95)[0].high, rel=1e-13
    )


def test_score_limits_of_one_stratum_by_hand() -> None:
    """20/50 against 10/50: at the limits (0.2 - d)^2 = 1.96^2 (p1 q1 + p0 q0) / 50 with p1 - p0 = d, mean 0.3."""
    got, _ = mantel_haenszel(**tables([20], [50], [10], [50]), measure="risk_difference", level=0.95)
    for d in (got.low, got.high):
        p1, p0 = 0.3 + d / 2, 0.3 - d / 2
        assert (0.2 - d) ** 2 == pytest.approx(1.959964**2 * (p1 * (1 - p1) + p0 * (1 - p0)) / 50, rel=1e-5)


def test_the_design_effect_of_litters_by_hand() -> None:
    """Two strata: 2/4 exposed and 1/4 others lost, then 1/2 and 2/8; risk ratio (1 + 0.8) / (0.5 + 0.4) = 2.

    Risks under it are 1/2 and 1/4 in both. A newborn pulls by the others' share of its stratum (n0 / n, the others
    by 2 n1 / n) times outcome less risk: exposed -/+0.25 and -/+0.4, others -0.75, 0.25, then -0.3, 0.1. Squares
    sum to 1.56. Litters: the two lost and the two living exposed of the first stratum, and one lost of the others
    of each stratum: 0.5^2 + 0.5^2 + 1.05^2 + 3 x 0.25^2 + 2 x 0.4^2 + 0.3^2 + 6 x 0.1^2 = 2.26. Three times all of it
    changes neither but for the number of litters: 45 / 44 x 2.26 / 1.56.
    """
    event = [1, 1, 0, 0, 1, 0, 0, 0, 1, 0, 1, 1, 0, 0, 0, 0, 0, 0] * 3
    exposed = ([1] * 4 + [0] * 4 + [1] * 2 + [0] * 8) * 3
    stratum = ([0] * 8 + [1] * 10) * 3
    one = np.array([0, 0, 1, 1, 2, 3, 4, 5, 6, 7, 2, 8, 9, 10, 11, 12, 13, 14])
    litter = np.concatenate([one, one + 15, one + 30])
    alone, together = (
        mantel_haenszel(event, exposed, stratum, cluster=cluster, measure="risk_ratio", level=0.95)[0]
        for cluster in (None, litter)
    )
    assert together.estimate == pytest.approx(2, rel=1e-14)
    widened = np.log(together.high / together.low) / np.log(alone.high / alone.low)
    assert widened**2 == pytest.approx(45 / 44 * 2.26 / 1.56, rel=1e-12)
