"""The proportional hazards test against R's cox.zph, and with litters."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.estimates.cox_regression import proportional_hazards_test

REFERENCE = Path(__file__).parents[1] / "reference" / "cox"
NAMES = ("twin", "weight_kg", "score")


def flock() -> pd.DataFrame:
    """Ages an hour later, as in the R script, so that log of age is defined."""
    return pd.read_csv(REFERENCE / "flock.csv").assign(age_h=lambda d: d["age_h"] + 1)


@pytest.mark.parametrize("transform", ["identity", "rank", "km", "log"])
def test_as_in_r(transform: str) -> None:
    """R survival 3.5-3, cox.zph: tests/reference/cox/cox.R."""
    rows = flock()
    found = proportional_hazards_test(rows["age_h"], rows["died"], rows[list(NAMES)], transform=transform)
    expected = pd.read_csv(REFERENCE / "zph.csv").query("transform == @transform")
    ours = [*found.covariates, found.overall]
    np.testing.assert_allclose([test.statistic for test in ours], expected["chisq"], rtol=1e-8)
    np.testing.assert_allclose([test.p for test in ours], expected["p"], rtol=1e-8)
    assert [test.df for test in ours] == expected["df"].tolist()


def test_copies_in_one_cluster_add_no_evidence() -> None:
    """Each newborn twice in one cluster: score and robust spread both double, so nothing changes."""
    rows = flock()
    each = np.arange(len(rows))
    once = proportional_hazards_test(rows["age_h"] * 2, rows["died"], rows[list(NAMES)], cluster=each)
    twice = pd.concat([rows, rows.assign(age_h=rows["age_h"])])
    copied = proportional_hazards_test(
        twice["age_h"] * 2 + np.repeat([0, 1e-6], len(rows)), twice["died"], twice[list(NAMES)],
        cluster=np.tile(each, 2),
    )  # fmt: skip
    assert copied.overall.statistic == pytest.approx(once.overall.statistic, rel=0.02)


def test_a_covariate_that_works_only_early_is_found() -> None:
    """Simulated: the ratio is 4 in the first day and 1 later."""
    rng = np.random.default_rng(11)
    x = rng.integers(0, 2, 4000)
    early = rng.exponential(200 / np.where(x == 1, 4, 1))
    age = np.floor(np.where(early < 24, early, 24 + rng.exponential(800, 4000)))
    found = proportional_hazards_test(
        np.minimum(age, 336), age < 336, x, cluster=np.arange(4000) // 2, names=["weak"]
    )
    assert found.overall.p < 1e-6
    assert found.names == ("weak",)


def test_nothing_to_test() -> None:
    found = proportional_hazards_test([1, 2], [0, 0], [0, 1])
    assert np.isnan(found.overall.p)
    assert found.notes == ("No deaths: nothing can be tested.",)


def test_log_of_birth() -> None:
    with pytest.raises(
        ValueError, match=r"^age_h: log needs every death above age 0; found 0\.0 at position 0$"
    ):
        proportional_hazards_test([0, 2, 3], [1, 1, 0], [0, 1, 0], transform="log")


def test_unknown_transform() -> None:
    with pytest.raises(
        ValueError, match=r"^transform: must be one of rank, km, identity, log; found x at position 0$"
    ):
        proportional_hazards_test([1, 2, 3], [1, 1, 0], [0, 1, 0], transform="x")
