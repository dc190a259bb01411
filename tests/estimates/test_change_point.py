"""The day on which deaths rose: against a change point of which others have published the answer, and by simulation."""

from __future__ import annotations

import numpy as np
import pytest

from neonatal_stats.estimates.change_point import rise

DISASTERS = [int(digit) for digit in (
    "45410434063340263354531441553425223421321111130010110031032201110101"
    "00021000110223112111124200014000100000100100"
)]  # fmt: skip
"""British coal mining disasters a year, 1851 to 1962 (Jarrett 1979, Biometrika 66:191-193)."""


def test_the_coal_mining_disasters_fall_after_1891() -> None:
    """Read backwards they rise into 1891: the last year of the higher rate, as Carlin, Gelfand & Smith (1992, Appl Stat
    41:389-405) have it, with most of the chance on 1889 to 1892; from memory, unchecked.
    """
    found = rise(DISASTERS[::-1], np.ones(112), level=0.95)
    years = 1962 - np.array([found.high, found.day, found.low])
    assert years[1] in (1890, 1891)
    assert 1884 <= years[0] <= years[1] <= years[2] <= 1897


def test_days_on_which_nothing_is_expected_begin_no_rise() -> None:
    found = rise([0, 1, 0, 1, 6, 7, 5], [1, 1, 1, 1, 1, 1, 1], level=0.95)
    assert found.day == 4
    closed = rise([0, 1, 0, 1, 0, 6, 7], [1, 1, 1, 1, 0, 1, 1], level=0.95)
    assert closed.day == 5
    assert closed.chance[4] == 0


def test_nothing_rises_where_there_is_one_day_or_no_death() -> None:
    for deaths in ([0, 0, 0], [3], []):
        found = rise(deaths, [1.0] * len(deaths), level=0.95)
        assert (found.day, found.low, found.high) == (-1, -1, -1)


def test_a_place_held_to_the_others_is_known_to_the_day_sooner() -> None:
    # before the rise the place has few days of its own; the others lose half a death a day
    deaths, usual = [1, 0, 1, 3, 4, 3, 4, 3], [0.5] * 8
    free, held = (rise(deaths, usual, level=0.95, held_to=one) for one in (0.0, 2.0))
    assert held.day == free.day == 3
    assert held.chance[3] > free.chance[3]


@pytest.mark.quickly(2)
def test_the_interval_holds_the_day_as_often_as_it_says() -> None:
    """Rates of 0.4 and then, from a day drawn at random to 8 days later, 3 a day; 400 seasons of 40 days."""
    rng = np.random.default_rng(4)
    held = 0
    for _ in range(400):
        start = int(rng.integers(8, 24))
        rate = np.where((np.arange(40) >= start) & (np.arange(40) < start + 8), 3.0, 0.4)
        found = rise(rng.poisson(rate), np.ones(40), level=0.95)
        held += found.low <= start <= found.high
    assert 0.93 <= held / 400 <= 0.995
