"""Few clusters (farms, mobs): the correction by hand and from its definition, and what no estimate may say then."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.testing as npt
import pytest
from scipy import stats

from neonatal_stats.estimates.clusters import (
    BETWEEN,
    FewClusters,
    are_few,
    few_groups,
    few_of_rows,
)
from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.cox_regression import cox
from neonatal_stats.estimates.curve_tests import gray_test, logrank
from neonatal_stats.estimates.incidence import aalen_johansen
from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.estimates.risk_tests import clustered_test
from neonatal_stats.estimates.smooth import smooth_share
from neonatal_stats.estimates.standardisation import mix_and_rate
from neonatal_stats.estimates.stratified import mantel_haenszel
from neonatal_stats.estimates.survival import kaplan_meier, restricted_mean_difference


def test_clusters_of_one_size_by_hand() -> None:
    """Eight alike: the residual of one takes an eighth from it, so factor 8/7 and 7 degrees of freedom."""
    found = few_groups(np.full((8, 1), 60.0), 0.15, [1.0])
    assert [found.factor, found.df] == pytest.approx([8 / 7, 7], rel=1e-12)
    sides = np.zeros((8, 2))
    sides[:4, 0] = sides[4:, 1] = 60
    apart = few_groups(sides, 0.15, [1.0, -1.0])
    assert [apart.factor, apart.df] == pytest.approx([4 / 3, 6], rel=1e-12)
    within = few_groups(np.full((8, 2), 30.0), 0.15, [1.0, -1.0])
    assert [within.factor, within.df] == pytest.approx([8 / 7, 7], rel=1e-12)


def newborn_by_newborn(sizes: np.ndarray, p: float, pull: np.ndarray) -> tuple[float, float]:
    """Factor and degrees of freedom from the covariance of all newborns' outcomes, written out."""
    farm = np.repeat(np.arange(len(sizes)), sizes.sum(axis=1))
    group = np.concatenate([np.repeat(np.arange(sizes.shape[1]), row) for row in sizes])
    covariance = np.diag(np.full(len(farm), p * (1 - p)))
    covariance += BETWEEN * (p * (1 - p)) ** 2 * (farm[:, None] == farm)
    weight = pull[group] / sizes.sum(axis=0)[group]
    same = group[:, None] == group
    residual = np.eye(len(farm)) - same / same.sum(axis=1)
    by_farm = (farm == np.arange(len(sizes))[:, None]) * weight
    spread = by_farm @ residual @ covariance @ residual.T @ by_farm.T
    return weight @ covariance @ weight / np.trace(spread), np.trace(spread) ** 2 / (spread**2).sum()


@pytest.mark.parametrize(
    "sizes",
    [
        [[5], [9], [30], [12]],
        [[5, 0], [9, 0], [0, 30], [0, 12], [0, 7]],
        [[5, 3], [9, 1], [2, 30], [6, 6], [0, 7]],
        [[4, 0, 3], [9, 1, 1], [0, 10, 2], [6, 6, 0]],
    ],
)
def test_uneven_clusters_are_the_definition_written_out(sizes: list[list[int]]) -> None:
    table = np.array(sizes)
    pull = np.array([1.0, -1.0, 0.5])[: table.shape[1]]
    found = few_groups(table.astype(float), 0.2, pull)
    assert [found.factor, found.df] == pytest.approx(newborn_by_newborn(table, 0.2, pull), rel=1e-9)


def test_uneven_farms_count_as_fewer() -> None:
    even, uneven = (
        few_groups(np.full((6, 1), 60.0), 0.15, [1.0]),
        np.array([[15.0], [20], [25], [30], [30], [240]]),
    )
    found = few_groups(uneven, 0.15, [1.0])
    assert found.df < even.df / 2
    assert found.factor > even.factor


def test_groups_of_a_regression_are_groups() -> None:
    sizes = np.array([[5, 3], [9, 1], [2, 30], [6, 6], [0, 7]])
    farm = np.repeat(np.arange(5), sizes.sum(axis=1))
    group = np.concatenate([np.repeat([0, 1], row) for row in sizes])
    design = np.vstack([np.ones(len(farm)), group])
    (found,) = few_of_rows(design, np.full(len(farm), 0.16), farm, np.array([[0.0, 1.0]]))
    alike = few_groups(sizes.astype(float), 0.2, [-1.0, 1.0])
    assert [found.factor, found.df] == pytest.approx([alike.factor, alike.df], rel=1e-9)


def test_the_effect_by_hand() -> None:
    """Seen 3, factor 4/3: 4, with t of 6 x (9/8)^2 degrees; seen 0.2: nothing is narrower than independent newborns."""
    few = FewClusters(4 / 3, 6.0)
    student = stats.t.ppf(0.975, 6 * (9 / 8) ** 2) / stats.norm.ppf(0.975)
    assert few.effect(3.0, 0.95) == pytest.approx(4 * student**2, rel=1e-12)
    assert few.effect(0.2, 0.95) == 1
    assert few.p(2.5, 3.0) == pytest.approx(2 * stats.t.sf(2.5 / 2, 6 * (9 / 8) ** 2), rel=1e-12)
    assert few.p(2.5, 0.2) == pytest.approx(2 * stats.norm.sf(2.5), rel=1e-12)


def test_how_many_are_few() -> None:
    litters, farms = are_few([1, 2, 39, 40], [3, 4, 80, 80]), are_few([1, 2, 99, 100], [60, 120, 6000, 6000])
    assert litters.tolist() == farms.tolist() == [False, True, True, False]


def farms(number: int, count: int = 12) -> dict[str, np.ndarray]:
    """Invented farms of uneven sizes: deaths and ages, a treatment of half of the farms, sex, birth weight."""
    rng = np.random.default_rng(number)
    size = np.round(20 * np.exp(0.6 * rng.standard_normal(count)) + 5).astype(int)
    farm = np.repeat(np.arange(count), size)
    risk = (0.15 * np.exp(0.3 * rng.standard_normal(count)))[farm]
    dead = (rng.random(len(farm)) < risk).astype(int)
    return {
        "farm": farm,
        "dead": dead,
        "age": np.where(dead == 1, rng.integers(0, 72, len(farm)), 168),
        "treated": farm % 2,
        "male": rng.integers(0, 2, len(farm)),
        "weight": rng.normal(4.5, 0.8, len(farm)),
    }


def limits(found: Any) -> tuple[np.ndarray, np.ndarray]:
    return np.atleast_1d(found.low), np.atleast_1d(found.high)


ESTIMATES: dict[str, Callable[[dict[str, np.ndarray], np.ndarray | None], Any]] = {
    "share": lambda b, c: proportions(b["dead"], group=b["male"], cluster=c, level=0.95),
    "curve": lambda b, c: kaplan_meier(b["age"], b["dead"], cluster=c, level=0.95),
    "incidence": lambda b, c: aalen_johansen(b["age"], b["dead"], cluster=c, level=0.95),
    "mean": lambda b, c: restricted_mean_difference(
        b["age"], b["dead"], b["male"], until_h=168, cluster=c, level=0.95
    ),
    "hazard ratio": lambda b, c: cox(b["age"], b["dead"], b["male"], cluster=c, level=0.95),
    "mix": lambda b, c: mix_and_rate(b["dead"], b["male"], b["treated"], cluster=c, level=0.95).mix,
    "smooth": lambda b, c: smooth_share(
        b["weight"],
        b["dead"],
        cluster=np.arange(len(b["farm"])) if c is None else c,
        at=[4.5],
        df=1,
        level=0.95,
    ),
    **{
        f"{measure} of {name}": lambda b, c, measure=measure, name=name: compare(
            b["dead"], b[name], measure=measure, cluster=c, level=0.95
        )
        for measure in ("risk_ratio", "risk_difference", "odds_ratio")
        for name in ("treated", "male")
    },
    **{
        f"{measure} in strata": lambda b, c, measure=measure: mantel_haenszel(
            b["dead"], b["male"], b["treated"], measure=measure, cluster=c, level=0.95
        )[0]
        for measure in ("risk_ratio", "risk_difference", "odds_ratio")
    },
}


OWN = {
    "smooth": 0.03,
    "incidence": 0.01,
}  # alone: a sandwich of newborns; a hypergeometric variance, not a binomial


@pytest.mark.parametrize("name", ESTIMATES)
def test_farms_never_make_an_interval_narrower_than_newborns_do(name: str) -> None:
    for number in range(12):
        births = farms(number)
        (low, high), (plain_low, plain_high) = (
            limits(ESTIMATES[name](births, cluster)) for cluster in (births["farm"], None)
        )
        slack = 1e-9 + OWN.get(name, 0) * (plain_high - plain_low)
        assert (low <= plain_low + slack).all()
        assert (high >= plain_high - slack).all()


@pytest.mark.parametrize("count", [6, 12])
def test_an_empty_group_is_no_surer_than_its_exact_test(count: int) -> None:
    """0 of 20 against 10 of 200 on few farms; Fisher's exact p is 0.60 (scipy.stats.fisher_exact)."""
    dead, group = np.repeat([0, 1, 0], [20, 10, 190]), np.repeat([1, 0, 0], [20, 10, 190])
    age = np.where(dead == 1, 6 * np.arange(220), 2000)
    farm = np.arange(220) % count
    exact = stats.fisher_exact([[0, 20], [10, 190]]).pvalue
    for p in (
        compare(dead, group, cluster=farm, level=0.95).p,
        clustered_test(dead, group, farm).p,
        mantel_haenszel(dead, group, np.zeros(220, int), cluster=farm, level=0.95)[0].p,
        logrank(age, dead, group, cluster=farm).p,
        gray_test(age, dead, group, 1, cluster=farm).p,
    ):
        assert p > exact / 4
    ratio = compare(dead, group, cluster=farm, level=0.95)
    assert (ratio.low, ratio.estimate) == (0, 0)
    assert 1 < ratio.high < np.inf


def test_one_farm_of_each_kind_tells_nothing_of_the_kinds() -> None:
    """30 and 10 of 100 lost on two farms, one treated: whatever the farms do, the treatment is not told."""
    dead, farm = np.repeat([1, 0, 1, 0], [30, 70, 10, 90]), np.repeat([0, 1], 100)
    found, _ = mantel_haenszel(dead, farm, np.zeros(200, int), cluster=farm, level=0.95)
    assert np.isnan([found.low, found.high, found.p]).all()
    fit = cox(np.where(dead == 1, np.arange(200), 300), dead, farm, cluster=farm, level=0.95)
    assert np.isnan([fit.low[0], fit.high[0], fit.p[0]]).all()


def test_a_stratum_of_one_season_on_few_farms_is_all_mix() -> None:
    births = farms(3)
    later = np.arange(len(births["farm"])) % 2
    stratum = births["male"] * (1 + later)  # 2 in the later season alone
    stratum[(later == 0) & (stratum > 0)] = 0
    found = mix_and_rate(births["dead"], later, stratum, cluster=births["farm"], level=0.95)
    assert found.note == "seen in one season only, counted as mix: 2"
    assert found.rate_terms[2] == 0
    single = mix_and_rate(births["dead"], later, stratum, level=0.95)
    for part in ("change", "mix", "rate"):
        ours, plain = getattr(found, part), getattr(single, part)
        npt.assert_allclose(ours.estimate, plain.estimate)
        assert ours.low < plain.low + 1e-12 < plain.high < ours.high + 2e-12


def test_size_where_eight_farms_are_treated_or_not_held_by_simulation() -> None:
    """The tests that once rejected in 11 to 18 % (tests/simulations/few_clusters.txt has the whole table)."""
    rejected = np.zeros(3)
    for number in range(300):
        births = farms(1000 + number, 8)
        dead, treated, farm = (births[name] for name in ("dead", "treated", "farm"))
        summary, _ = mantel_haenszel(dead, treated, births["male"], cluster=farm, level=0.95)
        mean = restricted_mean_difference(births["age"], dead, treated, until_h=168, cluster=farm, level=0.95)
        fit = cox(births["age"], dead, treated, cluster=farm, level=0.95)
        rejected += [summary.p < 0.05, mean.p < 0.05, fit.p[0] < 0.05]
    assert (rejected / 300 < 0.06 + 2 * np.sqrt(0.06 * 0.94 / 300)).all()
