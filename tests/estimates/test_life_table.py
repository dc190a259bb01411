"""Deaths by age window."""

from __future__ import annotations

import numpy as np
import numpy.testing as npt
import pytest

from neonatal_stats.estimates.life_tables import life_table


def test_two_days_by_hand() -> None:
    table = life_table([0, 12, 24, 36, 48, 48], [1, 1, 0, 1, 1, 0], [0, 24, 48], level=0.95)
    assert table.at_risk.tolist() == [[6, 4]]
    assert table.deaths.tolist() == [[2, 2]]  # the last window takes its own end
    # 1 - 5/6 x 4/5; 1 - 2/3 x 1/2, the newborn that left at 24 h not at risk at 36 h
    npt.assert_allclose(table.risk, [[1 / 3, 2 / 3]])
    # hours watched: 0 + 12 + 4 x 24, then 12 + 24 + 24
    npt.assert_allclose(table.newborn_days, [[108 / 24, 60 / 24]])
    npt.assert_allclose(table.hazard, [[2 / 4.5, 2 / 2.5]])


def test_hazard_has_the_exact_poisson_limits() -> None:
    # limits of a count of 2: 0.242209, 7.224688, of a count of 0: 0, 3.688879 (chi-square tables: half the 2.5 %
    # point of 4 and the 97.5 % points of 6 and 2 degrees of freedom)
    table = life_table([24, 24, 24, 72], [1, 1, 0, 0], [0, 48, 72], level=0.95)
    npt.assert_allclose(table.hazard_low, [[0.242209 / 5, 0]], rtol=1e-5)
    npt.assert_allclose(table.hazard_high, [[7.224688 / 5, 3.688879 / 1]], rtol=1e-6)


def test_a_window_without_deaths_has_an_interval_and_one_without_newborns_no_answer() -> None:
    table = life_table([30, 30], [0, 1], [0, 24, 48, 72], level=0.95)
    assert table.risk[0, 0] == 0
    assert 0 < table.risk_high[0, 0] < 1
    assert np.isnan(table.risk[0, 2])
    assert np.isnan(table.hazard[0, 2])


def test_late_arrivals_count_from_when_they_came() -> None:
    table = life_table([48, 48, 30], [0, 0, 1], [0, 24, 48], entry_h=[0, 12, 24], level=0.95)
    assert table.at_risk.tolist() == [[1, 2]]
    # 24 + 12, then 24 + 24 + 6
    npt.assert_allclose(table.newborn_days, [[36 / 24, 54 / 24]])


def test_newborn_days_add_up_over_any_windows() -> None:
    rng = np.random.default_rng(2)
    age_h, died, group = rng.integers(0, 100, 50), rng.integers(0, 2, 50), rng.integers(0, 3, 50)
    fine = life_table(age_h, died, [0, 7, 24, 50, 99], group=group, level=0.95)
    whole = life_table(age_h, died, [0, 99], group=group, level=0.95)
    npt.assert_allclose(fine.newborn_days.sum(axis=1), whole.newborn_days[:, 0], rtol=1e-13)
    npt.assert_allclose(np.prod(1 - fine.risk, axis=1), 1 - whole.risk[:, 0], rtol=1e-12)
    assert fine.deaths.sum() == died.sum()


@pytest.mark.parametrize(
    ("edges", "sentence"),
    [
        ([0, 24, 24], "edges_h: edges must rise; found 24.0 at position 2"),
        ([24], "edges_h: at least two edges are needed; found 1"),
        ([-1, 24], "edges_h: ages must not be negative; found -1.0 at position 0"),
    ],
)
def test_bad_edges_are_named(edges: list[float], sentence: str) -> None:
    with pytest.raises(ValueError, match=f"^{sentence}$"):
        life_table([1], [1], edges, level=0.95)
