"""Deaths by age window with littermates."""

from __future__ import annotations

import numpy as np
import numpy.testing as npt
from scipy import stats

from neonatal_stats.estimates.life_tables import life_table

RNG = np.random.default_rng(17)
N = 800  # enough for forty litters and more in the last window
AGE, DIED, GROUP = RNG.integers(0, 60, N), RNG.integers(0, 2, N), RNG.integers(0, 2, N)
ENTRY = np.where(RNG.random(N) < 0.3, RNG.integers(0, 60, N), 0)
ENTRY = np.minimum(ENTRY, AGE)
EDGES = [0, 24, 48, 60]


def test_points_are_those_of_the_plain_life_table() -> None:
    plain = life_table(AGE, DIED, EDGES, group=GROUP, entry_h=ENTRY, level=0.95)
    litters = life_table(AGE, DIED, EDGES, cluster=np.arange(N) // 3, group=GROUP, entry_h=ENTRY, level=0.95)
    for name in ("at_risk", "deaths", "risk", "newborn_days", "hazard"):
        npt.assert_array_equal(getattr(litters, name), getattr(plain, name))
    for name in ("risk", "hazard"):
        assert (getattr(litters, f"{name}_low") <= getattr(plain, name)).all()
        assert (getattr(litters, f"{name}_high") >= getattr(plain, name)).all()


def test_one_newborn_a_litter_without_leaving_has_greenwoods_limits() -> None:
    plain = life_table(AGE, np.ones(N, dtype=int), EDGES, level=0.95)
    alone = life_table(AGE, np.ones(N, dtype=int), EDGES, cluster=range(N), level=0.95)
    npt.assert_allclose(alone.risk_low[:, :2], plain.risk_low[:, :2], rtol=1e-10)
    npt.assert_allclose(alone.risk_high[:, :2], plain.risk_high[:, :2], rtol=1e-10)
    assert (alone.hazard_low <= plain.hazard_low + 1e-12).all()  # a design effect below 1 is not used


def test_twins_that_share_their_fate_are_worth_one() -> None:
    once = life_table(AGE, DIED, EDGES, cluster=range(N), level=0.95)
    twins = life_table(
        np.repeat(AGE, 2), np.repeat(DIED, 2), EDGES, cluster=np.repeat(range(N), 2), level=0.95
    )
    npt.assert_allclose(twins.risk_low, once.risk_low, rtol=1e-10)
    npt.assert_allclose(twins.risk_high, once.risk_high, rtol=1e-10)
    ignored = life_table(np.repeat(AGE, 2), np.repeat(DIED, 2), EDGES, level=0.95)
    assert (twins.hazard_low < ignored.hazard_low).all()
    assert (twins.hazard_high > ignored.hazard_high).all()


def test_the_design_effect_of_a_hazard_by_hand() -> None:
    # two litters of two over one day: one loses both at 12 h, the other none. hazard 2/3 a day; deaths less hazard x
    # days: 2 - 2/3 x 1 = 4/3 and 0 - 2/3 x 2 = -4/3; variance 32/9 over 2 deaths, 16/9. Twenty such pairs of litters:
    # Garwood's limits of 40 / (16/9) = 22.5 deaths in 60 / (16/9) = 33.75 days
    age, died, litter = [12, 12, 24, 24] * 20, [1, 1, 0, 0] * 20, np.repeat(range(40), 2)
    table = life_table(age, died, [0, 24], cluster=litter, level=0.95)
    npt.assert_allclose(table.hazard, [[2 / 3]])
    npt.assert_allclose(table.hazard_low, [[stats.gamma.ppf(0.025, 22.5) / 33.75]], rtol=1e-10)
    npt.assert_allclose(table.hazard_high, [[stats.gamma.ppf(0.975, 23.5) / 33.75]], rtol=1e-10)


def test_the_hazard_of_few_litters_is_less_sure() -> None:
    # three such pairs: the effect 16/9 times 6/5 (six litters of one size), and limits that normal quantiles would have
    # widened by Student's t of 5 x ((effect + 5) / (effect + 4))^2
    table = life_table(
        [12, 12, 24, 24] * 3, [1, 1, 0, 0] * 3, [0, 24], cluster=np.repeat(range(6), 2), level=0.95
    )
    effect = 16 / 9 * 6 / 5
    student = stats.t.ppf(0.975, 5 * ((effect + 5) / (effect + 4)) ** 2)
    wide = effect * (student / stats.norm.ppf(0.975)) ** 2
    npt.assert_allclose(table.hazard_low, [[stats.gamma.ppf(0.025, 6 / wide) / (9 / wide)]], rtol=1e-9)
    npt.assert_allclose(table.hazard_high, [[stats.gamma.ppf(0.975, 6 / wide + 1) / (9 / wide)]], rtol=1e-9)


def test_a_window_that_nobody_reached_has_no_answer() -> None:
    table = life_table([3, 4], [1, 0], [0, 24, 48], cluster=[0, 1], group=[0, 0], n_groups=2, level=0.95)
    assert np.isnan(table.risk_low[0, 1])
    assert np.isnan(table.risk_high[1]).all()
