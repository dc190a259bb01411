"""Cox regression against R, published answers, other libraries and its own invariants."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neonatal_stats.estimates.cox_regression import NO_DEATHS, RUNAWAY_NOTE, CoxFit, cox

REFERENCE = Path(__file__).parents[1] / "reference" / "cox"
NAMES = ("twin", "weight_kg", "score")
THERNEAU: dict[str, list[int]] = {
    "age_h": [1, 1, 6, 6, 8, 9],
    "died": [1, 0, 1, 1, 0, 1],
    "covariates": [1, 1, 1, 0, 0, 0],
}


def flock() -> pd.DataFrame:
    return pd.read_csv(REFERENCE / "flock.csv")


def in_r(case: str) -> pd.DataFrame:
    """R survival 3.5-3: tests/reference/cox/cox.R."""
    answers = pd.read_csv(REFERENCE / "answers.csv")
    return answers[answers["case"] == case]


def same_as_r(fit: CoxFit, case: str) -> None:
    expected = in_r(case)
    np.testing.assert_allclose(fit.coefficient, expected["coefficient"], rtol=1e-10)
    np.testing.assert_allclose(fit.se, expected["se"], rtol=1e-10)
    np.testing.assert_allclose(fit.se_model, expected["se_model"], rtol=1e-10)
    assert fit.loglik == pytest.approx(expected["loglik"].iloc[0], rel=1e-12)
    assert (fit.n, fit.events) == (expected["n"].iloc[0], expected["events"].iloc[0])


@pytest.mark.parametrize(
    ("case", "clustered", "weighted", "delayed"),
    [
        ("plain", False, False, False),
        ("clustered", True, False, False),
        ("weighted", True, True, False),
        ("delayed entry", True, False, True),
        ("delayed entry, weighted", True, True, True),
    ],
)
def test_a_flock_as_in_r(case: str, clustered: bool, weighted: bool, delayed: bool) -> None:
    rows = flock()
    fit = cox(
        rows["age_h"],
        rows["died"],
        rows[list(NAMES)],
        cluster=rows["litter"] if clustered else None,
        weight=rows["case_weight"] if weighted else None,
        entry_h=rows["entry_h"] if delayed else None,
        level=0.95,
    )
    same_as_r(fit, case)
    assert fit.converged
    assert fit.notes == ()


def test_rats_of_mantel_1977() -> None:
    """Female rats in litters, Mantel, Bohidar & Ciminera 1977 Cancer Res 37:3863; R survival 3.5-3."""
    rats = pd.read_csv(REFERENCE / "rats_female.csv")
    fit = cox(rats["time"], rats["status"], rats["rx"], cluster=rats["litter"], level=0.95)
    same_as_r(fit, "rats")
    assert fit.n_clusters == 50


def test_remission_under_6_mp() -> None:
    """Freireich et al. 1963 Blood 21:699; Efron 1.572125 in R survival 3.5-3."""
    weeks = pd.read_csv(REFERENCE / "six_mp.csv")
    same_as_r(cox(weeks["weeks"], weeks["relapsed"], weeks["placebo"], level=0.95), "six_mp")


def test_miller_aml() -> None:
    """Maintained or not, Miller 1981; the survival package prints Efron 0.9155 (0.5119)."""
    time = [9, 13, 13, 18, 23, 28, 31, 34, 45, 48, 161, 5, 5, 8, 8, 12, 16, 23, 27, 30, 33, 43, 45]
    status = [1, 1, 0, 1, 1, 0, 1, 1, 0, 1, 0, 1, 1, 1, 1, 1, 0, 1, 1, 1, 1, 1, 1]
    fit = cox(time, status, [0] * 11 + [1] * 12, level=0.95)
    assert fit.coefficient[0] == pytest.approx(0.9155, abs=5e-5)
    assert fit.se[0] == pytest.approx(0.5119, abs=5e-5)


def test_therneau_first_test() -> None:
    """Validation example of the survival package, test 1: Efron 1.676857 (its appendix)."""
    assert cox(THERNEAU["age_h"], THERNEAU["died"], THERNEAU["covariates"], level=0.95).coefficient[
        0
    ] == pytest.approx(1.676857, abs=5e-7)


def test_worked_by_hand_without_ties() -> None:
    """Deaths at 1 (x=1), 2 (x=0), 3 (x=1): L = r/(2r+1) * 1/(1+r) is largest at 2r^2 = 1, r = 1/sqrt 2."""
    fit = cox([1, 2, 3], [1, 1, 1], [1, 0, 1], level=0.95)
    assert fit.hazard_ratio[0] == pytest.approx(np.sqrt(0.5), rel=1e-12)


def test_a_death_at_birth_counts() -> None:
    """Only the order of ages matters: an hour later for everyone changes nothing."""
    rows = flock()
    assert ((rows["age_h"] == 0) & (rows["died"] == 1)).sum() > 5
    at_birth = cox(rows["age_h"], rows["died"], rows[list(NAMES)], cluster=rows["litter"], level=0.95)
    later = cox(rows["age_h"] + 1, rows["died"], rows[list(NAMES)], cluster=rows["litter"], level=0.95)
    np.testing.assert_allclose(at_birth.coefficient, later.coefficient, rtol=1e-12)
    np.testing.assert_allclose(at_birth.se, later.se, rtol=1e-12)


@pytest.mark.slow
@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.01, 50))
def test_order_of_rows_names_of_litters_and_unit_of_time_change_nothing(number: int, unit: float) -> None:
    rows = flock()
    before = cox(rows["age_h"], rows["died"], rows[list(NAMES)], cluster=rows["litter"], level=0.95)
    rng = np.random.default_rng(number)
    mixed = rows.sample(frac=1, random_state=number)
    relabelled = rng.permutation(10**6)[mixed["litter"]]
    after = cox(mixed["age_h"] * unit, mixed["died"], mixed[list(NAMES)], cluster=relabelled, level=0.95)
    np.testing.assert_allclose(after.coefficient, before.coefficient, rtol=1e-9)
    np.testing.assert_allclose(after.se, before.se, rtol=1e-9)
    assert after.n_clusters == before.n_clusters


def test_few_patterns_give_the_numbers_that_rows_give() -> None:
    """Two levels and three are kept as a table of counts; a hair of noise on them forces rows."""
    rng = np.random.default_rng(5)
    many = pd.concat([flock()] * 40, ignore_index=True)
    few = many[["twin", "score"]].to_numpy(dtype=float)
    table = cox(many["age_h"], many["died"], few, entry_h=many["entry_h"], cluster=many["litter"], level=0.95)
    tiny = few + 1e-13 * rng.standard_normal(few.shape)
    rows = cox(many["age_h"], many["died"], tiny, entry_h=many["entry_h"], cluster=many["litter"], level=0.95)
    np.testing.assert_allclose(table.coefficient, rows.coefficient, rtol=1e-9)
    np.testing.assert_allclose(table.se, rows.se, rtol=1e-9)


def test_counts_give_the_numbers_that_copies_give() -> None:
    rows = flock()[["age_h", "died", "twin", "score"]]
    counted = rows.groupby(list(rows.columns), as_index=False).size()
    ready = cox(
        counted["age_h"], counted["died"], counted[["twin", "score"]], count=counted["size"], level=0.95
    )
    each = cox(rows["age_h"], rows["died"], rows[["twin", "score"]], level=0.95)
    np.testing.assert_allclose(ready.coefficient, each.coefficient, rtol=1e-10)
    np.testing.assert_allclose(ready.se, each.se, rtol=1e-10)
    assert (ready.n, ready.events) == (each.n, each.events)


def test_split_rows_that_change_nothing_change_nothing() -> None:
    rows = flock()
    whole = cox(rows["age_h"], rows["died"], rows[list(NAMES)], cluster=rows["litter"], level=0.95)
    long = rows["age_h"] > 10
    first = rows.assign(age_h=rows["age_h"].clip(upper=10), died=np.where(long, 0, rows["died"]), entry_h=0)
    both = pd.concat([first, rows[long].assign(entry_h=10)])
    split = cox(
        both["age_h"],
        both["died"],
        both[list(NAMES)],
        cluster=both["litter"],
        entry_h=both["entry_h"],
        level=0.95,
    )
    np.testing.assert_allclose(split.coefficient, whole.coefficient, rtol=1e-10)
    np.testing.assert_allclose(split.se, whole.se, rtol=1e-10)


def test_against_the_rust_survival_package() -> None:
    survival = pytest.importorskip("survival")
    rows = flock().assign(exit=lambda d: d["age_h"] + 1)
    columns = {name: rows[name].to_numpy() for name in ("exit", "died", "litter", *NAMES)}
    theirs = survival.coxph(
        "Surv(exit, died) ~ twin + weight_kg + score",
        columns,
        cluster="litter",
        eps=1e-13,
        toler_chol=1e-15,
        iter_max=50,
    )
    ours = cox(rows["age_h"], rows["died"], rows[list(NAMES)], cluster=rows["litter"], level=0.95)
    np.testing.assert_allclose(ours.coefficient, theirs.coefficients, rtol=1e-10)
    np.testing.assert_allclose(ours.se, np.sqrt(np.diag(theirs.var)), rtol=1e-10)


def test_without_ties_against_statsmodels() -> None:
    """statsmodels 0.15, Breslow, which without ties is Efron: coefficients and errors by litter."""
    regression = pytest.importorskip("statsmodels.duration.hazard_regression")
    rows = flock()
    age = rows["age_h"] + np.random.default_rng(8).permutation(len(rows)) / len(rows)
    theirs = regression.PHReg(age, rows[list(NAMES)], rows["died"], ties="breslow").fit(groups=rows["litter"])
    ours = cox(age, rows["died"], rows[list(NAMES)], cluster=rows["litter"], level=0.95)
    np.testing.assert_allclose(ours.coefficient, theirs.params, rtol=1e-6)
    np.testing.assert_allclose(ours.se, theirs.bse, rtol=1e-5)


def test_each_newborn_its_own_litter_is_the_infinitesimal_jackknife() -> None:
    """The squared change of the coefficient with each newborn's weight, by differences, summed."""
    rows = flock().head(60)
    alone = np.arange(len(rows))
    fit = cox(rows["age_h"], rows["died"], rows["score"], cluster=alone, level=0.95)
    change = []
    for newborn in alone:
        pair = [
            cox(
                rows["age_h"], rows["died"], rows["score"], weight=1 + step * (alone == newborn), level=0.95
            ).coefficient[0]
            for step in (1e-4, -1e-4)
        ]
        change.append((pair[0] - pair[1]) / 2e-4)
    assert fit.se[0] == pytest.approx(np.sqrt(np.square(change).sum()), rel=1e-6)


def test_few_deaths_and_many_numbers_do_not_run_away_in_silence() -> None:
    """Two deaths and three numbers: any answer is possible, so none is given and no warning is raised."""
    rng = np.random.default_rng(374)
    fit = cox([5, 2, 2, 2, 1, 6, 6, 5], [1, 0, 0, 0, 0, 0, 1, 0], rng.normal(2000, 300, (8, 3)), level=0.95)
    assert np.isnan(fit.hazard_ratio).any()
    assert fit.notes


def test_all_deaths_in_one_litter() -> None:
    fit = cox([1, 2, 3, 4], [1, 1, 0, 0], [1.0, 3.0, 2.0, 0.0], cluster=[1, 1, 2, 3], level=0.95)
    assert fit.notes == ("All deaths fell in one cluster, so no interval can be given.",)
    assert np.isnan(fit.low[0])


@pytest.mark.parametrize("litters", [3, 60])
def test_all_dead_at_one_age_tell_no_hazards_apart(litters: int) -> None:
    """Whoever dies, dies at the one age: every residual is 0, which is no certainty that the ratio is 1."""
    litter = np.repeat(np.arange(litters), 2)
    fit = cox(np.full(2 * litters, 30.0), np.ones(2 * litters), litter % 2, cluster=litter, level=0.95)
    assert fit.hazard_ratio[0] == pytest.approx(1)
    assert np.isnan([fit.low[0], fit.high[0], fit.p[0]]).all()
    assert any("no interval can be given" in note for note in fit.notes)


def test_against_lifelines_within_its_noise() -> None:
    """lifelines 0.30.3: coefficients to 1e-5, clustered errors to 5e-3 (the order of rows moves them)."""
    lifelines = pytest.importorskip("lifelines")
    rows = flock().assign(age_h=lambda d: d["age_h"] + 1)
    with np.errstate():
        theirs = lifelines.CoxPHFitter().fit(
            rows[["age_h", "died", "litter", *NAMES]], "age_h", "died", cluster_col="litter"
        )
    ours = cox(rows["age_h"], rows["died"], rows[list(NAMES)], cluster=rows["litter"], level=0.95)
    np.testing.assert_allclose(ours.coefficient, theirs.params_, rtol=1e-5)
    np.testing.assert_allclose(ours.se, theirs.standard_errors_, rtol=5e-3)


def test_a_level_without_deaths_is_said_not_printed() -> None:
    rows = flock()
    spared = (np.arange(len(rows)) % 10 == 0) & (rows["died"] == 0)
    z = np.column_stack([rows["twin"], spared, rows["score"]])
    fit = cox(
        rows["age_h"], rows["died"], z, cluster=rows["litter"], names=("twin", "heated", "score"), level=0.95
    )
    without = cox(
        rows["age_h"][~spared],
        rows["died"][~spared],
        z[~spared][:, [0, 2]],
        cluster=rows["litter"][~spared],
        level=0.95,
    )
    assert np.isnan(fit.hazard_ratio[1])
    assert np.isnan(fit.high[1])
    assert fit.notes == (
        "heated: no deaths at its higher level, so it has no finite hazard ratio and none is given.",
    )
    np.testing.assert_allclose(fit.coefficient[[0, 2]], without.coefficient, rtol=1e-12)
    np.testing.assert_allclose(fit.se[[0, 2]], without.se, rtol=1e-12)
    assert fit.n == len(rows)


def test_the_reference_level_without_deaths() -> None:
    """Three levels, the first without deaths: the other two run away together and neither is printed."""
    rows = flock()
    level = np.where(rows["died"] == 0, np.arange(len(rows)) % 3, 1 + np.arange(len(rows)) % 2)
    z = np.column_stack([level == 1, level == 2, rows["twin"]])
    fit = cox(rows["age_h"], rows["died"], z, names=("b", "c", "twin"), level=0.95)
    assert np.isnan(fit.coefficient[:2]).all()
    assert np.isfinite(fit.coefficient[2])
    assert fit.notes == (f"b: {RUNAWAY_NOTE}", f"c: {RUNAWAY_NOTE}")


def test_a_number_that_separates() -> None:
    fit = cox(
        [1, 2, 3, 4, 5, 6], [1, 1, 1, 0, 0, 0], [6.0, 5.0, 4.0, 3.0, 2.0, 1.0], names=["cold"], level=0.95
    )
    assert np.isnan(fit.hazard_ratio).all()
    assert fit.notes == (f"cold: {RUNAWAY_NOTE}",)


def test_columns_that_say_the_same() -> None:
    rows = flock()
    z = np.column_stack([rows["twin"], 1 - rows["twin"], rows["score"], np.full(len(rows), 3.0)])
    fit = cox(rows["age_h"], rows["died"], z, names=("twin", "single", "score", "year"), level=0.95)
    plain = cox(rows["age_h"], rows["died"], rows[["twin", "score"]], level=0.95)
    np.testing.assert_allclose(fit.coefficient[[0, 2]], plain.coefficient, rtol=1e-10)
    assert np.isnan(fit.se[[1, 3]]).all()
    assert fit.notes == (
        "single: already said by the other covariates (collinear), so it was left out.",
        "year: the same in all newborns at risk at each death, so it was left out.",
    )


def test_no_deaths() -> None:
    fit = cox([5, 6], [0, 0], [0, 1], cluster=[1, 2], level=0.95)
    assert fit.notes == (NO_DEATHS,)
    assert np.isnan(fit.hazard_ratio).all()
    assert (fit.n, fit.events, fit.n_clusters) == (2, 0, 2)


def test_everybody_dead_at_birth() -> None:
    """One risk set in which all die: x = 1 or 0 alike, the score is 0 at no effect."""
    fit = cox([0, 0, 0, 0], [1, 1, 1, 1], [0, 1, 0, 1], level=0.95)
    assert fit.coefficient[0] == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"age_h": [1, -1]}, "age_h: ages must not be negative; found -1.0 at position 1"),
        ({"age_h": [np.inf, 1]}, "age_h: ages must be finite; found inf at position 0"),
        ({"died": [0, 2]}, "died: codes must be below 2; found 2 at position 1"),
        ({"died": [1]}, "died: must be as long as age_h (2); found 1, they part at position 1"),
        (
            {"covariates": [0, np.nan]},
            "covariates: every covariate must be finite; found nan in x1 at position 1",
        ),
        ({"weight": [1, -2]}, "weight: weights must not be negative; found -2.0 at position 1"),
        ({"entry_h": [0, 3]}, "entry_h: entry must not come after exit; found 3.0 at position 1"),
        (
            {"entry_h": [1, 0]},
            "entry_h: a newborn that dies must have entered before its death; found 1.0 at position 0",
        ),
        ({"cluster": [0.5, 1]}, "cluster: codes must be whole numbers; found 0.5 at position 0"),
        ({"names": ["a", "b"]}, "names: must name each of 1 covariates; found 2 names at position 0"),
        ({"level": 95}, "level: must lie between 0 and 1; found 95 at position 0"),
    ],
)
def test_bad_arguments_are_named(arguments: dict[str, object], message: str) -> None:
    good: dict[str, object] = {"age_h": [1, 2], "died": [1, 0], "covariates": [0, 1], "level": 0.95}
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        cox(**(good | arguments))  # type: ignore[arg-type]
