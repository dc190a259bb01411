"""What must hold whatever the newborns: order of rows, names of litters, unit of age, weights, repeats, balance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.testing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neonatal_stats.estimates.counts import count_events
from neonatal_stats.estimates.curve_tests import gray_test, logrank
from neonatal_stats.estimates.incidence import aalen_johansen
from neonatal_stats.estimates.results import Test
from neonatal_stats.estimates.survival import kaplan_meier, restricted_mean

pytestmark = pytest.mark.slow  # fifty invented flocks each

Columns = dict[str, Any]


@st.composite
def newborns(draw: st.DrawFn) -> Columns:
    """One to thirty newborns in up to eight litters, two groups and three causes, ages tied and 0 among them."""
    n = draw(st.integers(1, 30))

    def column(low: int, high: int) -> np.ndarray:
        return np.array(draw(st.lists(st.integers(low, high), min_size=n, max_size=n)))

    return {
        "age_h": column(0, 9),
        "outcome": column(0, 3),
        "group": column(0, 1),
        "cluster": column(0, 7),
        "weight": column(1, 3),
    }


@dataclass(frozen=True)
class Answers:
    """Everything the room says of one flock, flat."""

    numbers: list[np.ndarray]
    tests: list[Test]

    def same_as(self, other: Answers, rtol: float = 1e-9) -> None:
        """Equal to rounding; a test whose variance is but rounding is not compared."""
        for ours, theirs in zip(self.numbers, other.numbers, strict=True):
            npt.assert_allclose(ours, theirs, rtol=rtol, atol=1e-7)
        for test, again in zip(self.tests, other.tests, strict=True):
            assert test.df == again.df
            npt.assert_allclose(test.statistic, again.statistic, rtol=1e-6)


def answers(births: Columns, repeats: np.ndarray | None = None) -> Answers:
    """All clustered answers, with two groups and three causes whether they occur or not."""
    age_h, outcome, group, cluster = (births[name] for name in ("age_h", "outcome", "group", "cluster"))
    weight, died = births["weight"], (outcome > 0).astype(int)
    more = {"weight": weight, "repeats": repeats}
    curve = kaplan_meier(age_h, died, cluster=cluster, group=group, n_groups=2, level=0.95, **more)
    lost = aalen_johansen(
        age_h, outcome, cluster=cluster, group=group, n_groups=2, n_causes=3, level=0.95, **more
    )
    test = logrank(age_h, died, group, cluster=cluster, n_groups=2, **more)
    return Answers([curve.share, curve.se, lost.alive, lost.share, lost.se], [test])


@settings(max_examples=50)
@given(newborns(), st.randoms(use_true_random=False))
def test_the_order_of_the_rows_changes_nothing(births: Columns, random: Any) -> None:
    order = list(range(len(births["age_h"])))
    random.shuffle(order)
    answers(births).same_as(answers({name: column[order] for name, column in births.items()}))


@settings(max_examples=50)
@given(newborns(), st.permutations(range(8)), st.integers(0, 2**40))
def test_the_names_of_the_litters_change_nothing(births: Columns, names: list[int], step: int) -> None:
    renamed = np.array(names)[births["cluster"]] * (step + 1)
    answers(births).same_as(answers(births | {"cluster": renamed}))


@settings(max_examples=50)
@given(newborns(), st.sampled_from([1 / 24, 60.0, 0.1]))
def test_the_unit_of_age_changes_nothing(births: Columns, unit: float) -> None:
    answers(births).same_as(answers(births | {"age_h": births["age_h"] * unit}))


@settings(max_examples=50)
@given(newborns())
def test_weights_are_repeated_rows(births: Columns) -> None:
    repeated = {name: np.repeat(column, births["weight"]) for name, column in births.items()}
    repeated["weight"] = np.ones(len(repeated["age_h"]))
    answers(births).same_as(answers(repeated))


@settings(max_examples=50)
@given(newborns(), st.lists(st.integers(1, 3), min_size=8, max_size=8))
def test_repeats_are_repeated_litters(births: Columns, each: list[int]) -> None:
    repeats = np.array(each)[births["cluster"]]
    repeated = {name: np.repeat(column, repeats) for name, column in births.items()}
    which = np.concatenate([np.arange(count) for count in repeats])
    repeated["cluster"] = repeated["cluster"] + 8 * which
    answers(births, repeats).same_as(answers(repeated))


@settings(max_examples=50)
@given(newborns())
def test_one_newborn_a_cluster_is_the_unclustered_infinitesimal_jackknife(births: Columns) -> None:
    # without censoring that is the binomial variance; the variance of Kaplan-Meier is then Greenwood's
    n = len(births["age_h"])
    outcome = np.maximum(births["outcome"], 1)
    lost = aalen_johansen(births["age_h"], outcome, cluster=range(n), n_causes=3, level=0.95)
    binomial = np.maximum(lost.share * (1 - lost.share), 0) / n
    npt.assert_allclose(lost.se**2, binomial, atol=1e-14)
    greenwood = kaplan_meier(births["age_h"], outcome > 0, level=0.95)
    alone = kaplan_meier(births["age_h"], np.ones(n, dtype=int), cluster=range(n), level=0.95)
    npt.assert_allclose(alone.se**2, greenwood.se**2, atol=1e-14)


@settings(max_examples=50)
@given(newborns())
def test_causes_and_survivors_add_up_and_bounds_enclose(births: Columns) -> None:
    columns = {name: births[name] for name in ("age_h", "outcome", "group", "weight")}
    own = aalen_johansen(
        births["age_h"], births["outcome"], cluster=births["cluster"], n_causes=3, level=0.95
    )
    for lost in (aalen_johansen(**columns, n_groups=2, n_causes=3, level=0.95), own):
        total = lost.alive + lost.share.sum(axis=2)
        npt.assert_allclose(total[np.isfinite(total)], 1, atol=1e-12)
        assert (np.diff(lost.share, axis=1)[np.isfinite(lost.share[:, 1:])] >= 0).all()
        some = np.isfinite(lost.share)
        assert np.isfinite(lost.se[some]).all()
        assert (lost.low[some] <= lost.share[some] + 1e-12).all()
        assert (lost.share[some] <= lost.high[some] + 1e-12).all()
        assert ((lost.low[some] >= 0) & (lost.high[some] <= 1)).all()
        assert (lost.high[some] > lost.low[some]).all()


@settings(max_examples=50)
@given(newborns())
def test_at_risk_less_those_gone_is_at_risk_next(births: Columns) -> None:
    table = count_events(births["age_h"], births["outcome"], group=births["group"], weight=births["weight"])
    gone = table.deaths + table.left
    npt.assert_array_equal(table.at_risk[:, :-1] - gone[:, :-1], table.at_risk[:, 1:])
    npt.assert_array_equal(table.at_risk[:, -1], gone[:, -1])
    assert table.watched.sum() == births["weight"].sum()


@settings(max_examples=50)
@given(newborns())
def test_names_of_the_groups_do_not_move_the_tests(births: Columns) -> None:
    age_h, outcome, group, cluster = (births[name] for name in ("age_h", "outcome", "group", "cluster"))
    died = (outcome > 0).astype(int)
    for one, other in [
        (
            logrank(age_h, died, group),
            logrank(age_h, died, 1 - group),
        ),
        (logrank(age_h, died, group, cluster=cluster), logrank(age_h, died, 1 - group, cluster=cluster)),
        (
            gray_test(age_h, outcome, group, 1, cluster=cluster),
            gray_test(age_h, outcome, 1 - group, 1, cluster=cluster),
        ),
    ]:
        assert (one.note, one.df) == (other.note, other.df)
        npt.assert_allclose(one.statistic, other.statistic, rtol=1e-6)


@settings(max_examples=50)
@given(newborns(), st.integers(1, 9))
def test_restricted_mean_is_the_mean_where_nobody_leaves(births: Columns, until_h: int) -> None:
    hours = np.repeat(births["age_h"], births["weight"])
    found = restricted_mean(
        hours, np.ones(len(hours), dtype=int), until_h=until_h, cluster=np.arange(len(hours)), level=0.95
    )
    npt.assert_allclose(found.estimate, np.minimum(hours, until_h).mean(), atol=1e-12)
    assert 0 <= found.low <= found.estimate + 1e-12
    assert found.estimate - 1e-12 <= found.high <= until_h
    assert found.low < found.high
