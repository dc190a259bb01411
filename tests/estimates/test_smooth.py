"""Smooth curves of risk and of means, against statsmodels and by hand."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from neonatal_stats.estimates.smooth import _knots, _natural_spline, smooth_mean, smooth_share


def lambs(number: int = 1, n: int = 1200) -> pd.DataFrame:
    """Invented: the lightest and the heaviest die most, litters of two share a risk."""
    rng = np.random.default_rng(number)
    litter = np.arange(n) // 2
    weight = np.round(rng.normal(4.2, 0.9, n), 1)
    odds = -2.2 + 0.7 * (weight - 4.4) ** 2 + rng.normal(0, 0.7, n)[litter]
    return pd.DataFrame({"weight": weight, "died": rng.random(n) < 1 / (1 + np.exp(-odds)), "litter": litter})


def test_the_spline_is_straight_beyond_its_knots_and_smooth_within() -> None:
    x = np.linspace(-5, 5, 2001)
    basis = _natural_spline(x, np.array([-1.0, 0.0, 0.5, 2.0]))
    bend = np.diff(basis, n=2, axis=0) / (x[1] - x[0]) ** 2
    assert np.abs(bend[(x[1:-1] < -1) | (x[1:-1] > 2.01)]).max() < 1e-6
    assert np.abs(np.diff(bend, axis=0)).max() < 0.05
    assert basis.shape == (2001, 4)


def test_few_distinct_values_take_fewer_knots() -> None:
    assert len(_knots(np.array([0.0, 1.0] * 50), 3)) == 0
    assert len(_knots(np.arange(100.0), 3)) == 4


def test_against_statsmodels_logit_with_clusters() -> None:
    """statsmodels 0.15: Logit on the same columns, cov_type cluster, with its correction for few clusters."""
    models = pytest.importorskip("statsmodels.api")
    rows = lambs()
    at = np.array([3.0, 4.0, 5.5])
    ours = smooth_share(rows["weight"], rows["died"], cluster=rows["litter"], at=at, df=3, level=0.95)
    placed = _knots(rows["weight"].to_numpy(), 3)
    basis = _natural_spline(rows["weight"].to_numpy(), placed)
    fit = models.Logit(rows["died"].astype(float), basis).fit(
        disp=False, tol=1e-12, cov_type="cluster", cov_kwds={"groups": rows["litter"]}
    )
    wanted = _natural_spline(at, placed)
    centre = wanted @ fit.params.to_numpy()
    spread = np.einsum("ij,jk,ik->i", wanted, fit.cov_params().to_numpy(), wanted)
    half = stats.t.ppf(0.975, 599) * np.sqrt(spread)
    np.testing.assert_allclose(ours.share, 1 / (1 + np.exp(-centre)), rtol=1e-7)
    np.testing.assert_allclose(ours.low, 1 / (1 + np.exp(half - centre)), rtol=1e-7)
    np.testing.assert_allclose(ours.high, 1 / (1 + np.exp(-half - centre)), rtol=1e-7)


def test_least_squares_against_statsmodels() -> None:
    models = pytest.importorskip("statsmodels.api")
    rows = lambs()
    y = np.sin(rows["weight"]) + rows["died"]
    at = np.array([3.0, 5.0])
    ours = smooth_mean(rows["weight"], y, cluster=rows["litter"], at=at, df=3, level=0.95)
    placed = _knots(rows["weight"].to_numpy(), 3)
    fit = models.OLS(y, _natural_spline(rows["weight"].to_numpy(), placed)).fit(
        cov_type="cluster", cov_kwds={"groups": rows["litter"]}, use_t=True
    )
    frame = fit.get_prediction(_natural_spline(at, placed)).summary_frame(alpha=0.05)
    np.testing.assert_allclose(ours.mean, frame["mean"], rtol=1e-9)
    half = stats.t.ppf(0.975, 599) * frame["mean_se"]
    np.testing.assert_allclose(ours.mean - ours.low, half, rtol=1e-9)
    np.testing.assert_allclose(ours.high - ours.mean, half, rtol=1e-9)


def test_a_straight_line_in_two_groups_by_hand() -> None:
    """x of 0 and 1, 12 of 40 and 20 of 50 died: the fitted risks are the shares themselves, 0.3 and 0.4."""
    x = np.repeat([0, 1], [40, 50])
    died = np.concatenate([np.arange(40) < 12, np.arange(50) < 20])
    found = smooth_share(x, died, at=[0, 1], level=0.95)
    np.testing.assert_allclose(found.share, [0.3, 0.4], rtol=1e-9)
    assert found.df == 1


def test_the_u_shape_is_seen() -> None:
    rows = lambs()
    found = smooth_share(rows["weight"], rows["died"], cluster=rows["litter"], at=[2.5, 4.3, 6.2], level=0.95)
    assert found.share[0] > 2 * found.share[1] < found.share[2]
    assert found.p < 1e-6
    assert (found.low < found.share).all()
    assert (found.share < found.high).all()


def test_nothing_beyond_the_values_seen() -> None:
    rows = lambs()
    found = smooth_share(rows["weight"], rows["died"], at=[0.1, 4.0, 12.0], level=0.95)
    np.testing.assert_array_equal(np.isnan(found.share), [True, False, True])


def test_too_few_deaths() -> None:
    found = smooth_share(np.arange(100.0), np.arange(100) < 9, at=[50], level=0.95)
    assert np.isnan(found.share).all()
    assert found.notes == ("Fewer than 10 deaths or survivors: no curve is drawn.",)


def test_few_deaths_carry_a_straight_line() -> None:
    rng = np.random.default_rng(3)
    assert smooth_share(rng.normal(size=300), rng.permutation(300) < 15, at=[0], level=0.95).df == 1


def test_separation_is_said() -> None:
    found = smooth_share(np.arange(100.0), np.arange(100) < 40, at=[10, 90], level=0.95)
    assert np.isnan(found.share).all()
    assert found.notes == ("The values separate those that died from those that lived: no curve is drawn.",)


def test_one_value_only() -> None:
    assert smooth_share(np.ones(60), np.arange(60) < 30, at=[1], level=0.95).notes == (
        "All values are the same: no curve is drawn.",
    )
    assert np.isnan(smooth_mean(np.ones(60), np.arange(60), at=[1], level=0.95).mean).all()


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 1000), st.floats(0.01, 1000), st.floats(-100, 100))
def test_unit_and_order_change_nothing(number: int, unit: float, shift: float) -> None:
    rows = lambs(n=400)
    mixed = rows.sample(frac=1, random_state=number)
    before = smooth_share(rows["weight"], rows["died"], cluster=rows["litter"], at=[3, 4, 5], level=0.95)
    at = np.array([3, 4, 5]) * unit + shift
    after = smooth_share(
        mixed["weight"] * unit + shift, mixed["died"], cluster=mixed["litter"], at=at, level=0.95
    )
    np.testing.assert_allclose(after.share, before.share, rtol=1e-6)
    np.testing.assert_allclose(after.high, before.high, rtol=1e-6)


@pytest.mark.parametrize(
    ("given_arguments", "message"),
    [
        ({"x": [1, np.nan]}, "x: values must be finite; found nan at position 1"),
        ({"event": [0, 3]}, "event: codes must be below 2; found 3 at position 1"),
        ({"event": [0]}, "event: must be as long as x (2); found 1, they part at position 1"),
        ({"at": [np.inf]}, "at: values must be finite; found inf at position 0"),
        ({"df": 9}, "df: must be 1 to 6; found 9 at position 0"),
    ],
)
def test_bad_arguments_are_named(given_arguments: dict[str, object], message: str) -> None:
    good: dict[str, object] = {"x": [1, 2], "event": [0, 1], "at": [1]}
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        smooth_share(**(good | given_arguments), level=0.95)  # type: ignore[arg-type]


def test_a_curve_of_many_columns_is_fitted_and_close_to_the_truth() -> None:
    """Invented: log odds -2.4 + 0.4 x^2 in 40,000; six columns come within 0.2, a line not within 0.4."""
    rng = np.random.default_rng(21)
    x = rng.standard_normal(40_000)
    died = rng.random(40_000) < 1 / (1 + np.exp(2.4 - 0.4 * x**2))
    at = np.array([-1.0, 0.0, 1.0])
    found = smooth_share(x, died, at=at, level=0.95)
    assert found.df == 6
    np.testing.assert_allclose(np.log(found.share / (1 - found.share)), -2.4 + 0.4 * at**2, atol=0.2)
