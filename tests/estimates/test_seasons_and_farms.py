"""Control chart, funnel, repeat losers, correlation in litters, chill: by hand and at the edges."""

from __future__ import annotations

import re

import numpy as np
import pytest

from neonatal_stats.estimates.control_limits import funnel, intraclass_correlation, p_chart, repeat_losers
from neonatal_stats.estimates.formulas import sheep_chill_index


def test_p_chart_worked_by_hand() -> None:
    """10, 20, 10 of 100: centre 0.1333; z -0.981, 1.961, -0.981; moving range 2.942, over 1.128."""
    got = p_chart([10, 20, 10], [100, 100, 100])
    error = np.sqrt(0.4 / 3 * (1 - 0.4 / 3) / 100)
    assert got.centre == pytest.approx(0.4 / 3)
    assert got.sigma_z == pytest.approx(0.1 / error / 1.128, rel=1e-12)
    assert got.high[0] == pytest.approx(0.4 / 3 + 3 * got.sigma_z * error)
    assert not got.outside.any()
    assert not p_chart([10, 20, 10], [100, 100, 100], laney=False).outside.any()


def test_p_chart_flags_the_season_that_is_out_of_line_and_never_narrows() -> None:
    calm = p_chart([10] * 8 + [30], [100] * 9)
    assert calm.outside.tolist() == [False] * 8 + [True]
    assert p_chart([10] * 9, [100] * 9).sigma_z == 1
    one = p_chart([3, 0], [10, 0])
    assert np.isnan(one.share[1])
    assert not one.outside.any()
    assert np.isfinite(one.high[0])


def test_funnel_limits_worked_by_hand() -> None:
    """Common risk 0.1, a farm of 100: 0.1 -/+ 1.959964 x sqrt(0.09 / 100)."""
    got = funnel([10, 20, 30], [100, 200, 300], level=0.95)
    assert got.phi == 1
    assert got.centre == pytest.approx(0.1)
    assert [got.low[0], got.high[0]] == pytest.approx([0.1 - 0.0587989, 0.1 + 0.0587989], abs=1e-6)


def test_funnel_allows_for_mix_and_for_farms_that_spread() -> None:
    """A farm of twins only is not flagged once its mix is allowed for."""
    events, n = [10, 12, 9, 11, 20], [100] * 5
    assert funnel(events, n, level=0.95).outside[-1]
    mixed = funnel(events, n, expected=[10, 10, 10, 10, 20], level=0.95)
    assert not mixed.outside[-1]
    spread = funnel([2, 20, 3, 22, 1, 25, 4, 18, 2, 24], [100] * 10, level=0.95)
    assert spread.phi > 3
    assert not spread.outside.any()
    assert np.isnan(funnel([0, 5], [0, 50], level=0.95).share[0])


def test_repeat_losers_by_hand() -> None:
    """Ten dams, two seasons, two lose in each: each dam repeats with chance 0.2 x 0.2, so 0.4 expected."""
    dead = np.tile([1, 1] + [0] * 8, 2)
    got = repeat_losers(dead, np.tile(np.arange(10), 2), np.repeat([0, 1], 10), level=0.95)
    assert (got.observed, got.dams) == (2, 10)
    assert got.expected == pytest.approx(0.4, rel=1e-12)
    assert got.p == pytest.approx(1 / 45, abs=0.01)  # the two losers of season 2 are one pair of 45
    assert got.p == repeat_losers(dead, np.tile(np.arange(10), 2), np.repeat([0, 1], 10), level=0.95).p


def test_a_dam_is_counted_once_a_season_whatever_her_litter() -> None:
    got = repeat_losers([1, 1, 0, 1], [0, 0, 1, 1], [0, 0, 0, 1], level=0.95)
    assert got.observed == 0
    nobody = repeat_losers([1, 0], [0, 1], [0, 0], level=0.95)
    assert nobody.note == "cannot be estimated: no dam seen in two seasons"


def test_losses_are_dealt_within_strata() -> None:
    """Only twins ever lose, every twin litter loses: chance within litter size gives what is seen."""
    dead, dam = np.tile([1, 1, 0, 0], 2), np.tile([0, 1, 2, 3], 2)
    got = repeat_losers(dead, dam, np.repeat([0, 1], 4), stratum=np.tile([2, 2, 1, 1], 2), level=0.95)
    assert (got.observed, got.expected, got.p) == (2, 2.0, 1.0)


def test_intraclass_correlation_at_its_ends() -> None:
    litter = np.repeat(np.arange(20), 2)
    assert intraclass_correlation(np.repeat([1, 0], 20), litter) == pytest.approx(1)
    assert intraclass_correlation(np.tile([1, 0], 20), litter) == pytest.approx(-1)
    assert np.isnan(intraclass_correlation([0, 0, 0], [0, 0, 1]))
    assert np.isnan(intraclass_correlation([0, 1], [0, 1]))


def test_chill_rises_with_wind_and_rain_and_falls_with_warmth() -> None:
    base, wind, rain, warm = sheep_chill_index([4, 9, 4, 4], [10, 10, 10, 20], [0, 0, 5, 0])
    assert base == pytest.approx(1018)
    assert warm < base < min(wind, rain)
    assert np.isnan(sheep_chill_index(np.nan, 10, 0))


@pytest.mark.parametrize(
    ("values", "message"),
    [
        (([4, -1], 10, 0), "wind_m_s: must be finite and not negative; found -1.0 at position 1"),
        ((4, 10, [0, -2]), "rain_mm: must be finite and not negative; found -2.0 at position 1"),
        ((4, np.inf, 0), "temperature_c: must be finite; found inf at position 0"),
    ],
)
def test_weather_that_cannot_be_is_refused(values: tuple[float, float, float], message: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        sheep_chill_index(*values)
