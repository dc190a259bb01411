"""Two groups: by hand, in thin tables, with litters in both groups, and what must not change them."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neonatal_stats.estimates.contrast import MEASURES, _score_limits, compare, compare_counts
from neonatal_stats.estimates.two_by_two import conditional_odds_ratio, mid_p

Table = tuple[int, int, int, int]
TABLES = st.tuples(st.integers(0, 30), st.integers(0, 30), st.integers(0, 30), st.integers(0, 30)).map(
    lambda t: (t[0], t[0] + t[1], t[2], t[2] + t[3])
)


def flock(seed: int, litters: int = 120) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Invented litters of one to four: deaths, sex (differs within a litter), litter."""
    rng = np.random.default_rng(seed)
    size = rng.integers(1, 5, litters)
    risk = np.repeat(rng.beta(0.6, 2.4, litters), size)
    return (
        (rng.random(size.sum()) < risk).astype(int),
        rng.integers(0, 2, size.sum()),
        np.repeat(np.arange(litters), size),
    )


@settings(deadline=None)
@given(TABLES)
def test_nothing_is_infinite_and_what_cannot_be_said_is_said_so(table: Table) -> None:
    for measure in MEASURES:
        got = compare_counts(*table, measure=measure, level=0.95)
        numbers = np.array([got.estimate, got.low, got.high, got.p])
        assert not np.isinf(numbers).any()
        if np.isnan(got.estimate):
            assert got.note.startswith("cannot be estimated: ")
        elif np.isfinite(got.high):
            assert got.low <= got.estimate <= got.high


@pytest.mark.parametrize(
    ("table", "low", "high", "note"),
    [
        ((0, 10, 5, 20), True, True, "only an upper limit can be given: no events in the first group"),
        (
            (5, 20, 0, 10),
            True,
            False,
            "cannot be estimated: no events in the comparison group; only a lower limit can be given",
        ),
        ((0, 5, 0, 5), False, False, "cannot be estimated: no events in either group"),
        ((0, 0, 3, 5), False, False, "cannot be estimated: no newborns in the first group"),
        ((3, 5, 0, 0), False, False, "cannot be estimated: no newborns in the comparison group"),
    ],
)
def test_empty_cells_give_a_one_sided_statement(table: Table, low: bool, high: bool, note: str) -> None:
    for measure in ("risk_ratio", "odds_ratio"):
        got = compare_counts(*table, measure=measure, level=0.95)
        assert (np.isfinite(got.low), np.isfinite(got.high)) == (low, high)
        assert got.note == note


def test_sparse_tables_say_which_method_was_used() -> None:
    assert compare_counts(3, 8, 2, 20, level=0.95).method == "risk ratio, score limits, mid-P"
    assert (
        compare_counts(3, 8, 2, 20, measure="odds_ratio", level=0.95).method
        == "odds ratio, mid-P (exact conditional)"
    )
    assert compare_counts(30, 80, 20, 200, level=0.95).method == "risk ratio, log scale"


def test_mid_p_worked_by_hand() -> None:
    """2/2 against 0/2: one table of C(4, 2) = 6 is as extreme; mid-P is 2 x (1/6) / 2 = 1/6."""
    assert mid_p(2, 2, 0, 2) == pytest.approx(1 / 6, rel=1e-12)


@settings(deadline=None)
@given(TABLES)
def test_mid_p_limits_agree_with_the_mid_p_test(table: Table) -> None:
    a, n1, c, n0 = table
    if not (0 < a < n1 and 0 < c < n0):
        return
    got = conditional_odds_ratio(a, n1, c, n0, level=0.95)
    away = got.low > 1 or got.high < 1
    if abs(got.p - 0.05) > 1e-6:
        assert away == (got.p < 0.05)


def test_score_limits_are_where_the_score_equals_the_quantile() -> None:
    """Koopman's own: at the limit the chi-square of a/n1 against theta c/n0 is z squared."""
    x1, n1, x0, n0 = (np.array([x]) for x in (15.0, 40.0, 8.0, 50.0))
    low, high = _score_limits((x1, n1, x0, n0), 1.96, "risk_ratio")
    for theta in (low[0], high[0]):
        a, b, c = (40 + 50) * theta, -(40 * theta + 15 + 50 + 8 * theta), 15 + 8
        p0 = (-b - np.sqrt(b * b - 4 * a * c)) / (2 * a)
        p1 = theta * p0
        square = (15 / 40 - p1) ** 2 / (p1 * (1 - p1) / 40) + (8 / 50 - p0) ** 2 / (p0 * (1 - p0) / 50)
        assert square == pytest.approx(1.96**2, rel=1e-8)


@pytest.mark.parametrize("measure", MEASURES)
def test_one_newborn_to_a_litter_is_the_unclustered_answer(measure: str) -> None:
    dead, sex, _ = flock(1)
    plain, single = (
        compare(dead, sex, measure=measure, level=0.95),
        compare(dead, sex, cluster=np.arange(len(dead)), measure=measure, level=0.95),
    )
    assert [single.low, single.high, single.p] == pytest.approx([plain.low, plain.high, plain.p], rel=1e-10)


@pytest.mark.parametrize("measure", MEASURES)
def test_order_of_rows_and_names_of_litters_change_nothing(measure: str) -> None:
    dead, sex, litter = flock(2)
    one = compare(dead, sex, cluster=litter, measure=measure, level=0.95)
    order = np.random.default_rng(3).permutation(len(dead))
    two = compare(dead[order], sex[order], cluster=(litter * 104729 + 5)[order], measure=measure, level=0.95)
    assert [two.low, two.high, two.p] == pytest.approx([one.low, one.high, one.p], rel=1e-10)


def test_turning_the_groups_round_turns_the_answer_round() -> None:
    dead, sex, litter = flock(4)
    one, two = (
        compare(dead, sex, cluster=litter, level=0.95),
        compare(dead, 1 - sex, cluster=litter, level=0.95),
    )
    assert [1 / two.estimate, 1 / two.high, 1 / two.low] == pytest.approx(
        [one.estimate, one.low, one.high], rel=1e-10
    )
    assert two.p == pytest.approx(one.p, rel=1e-10)


def test_groups_that_share_litters_are_compared_within_them() -> None:
    """Whole litters live or die, so the sexes in them cannot differ: the shared litters must narrow it."""
    dead, litter = np.repeat([1, 0, 0, 0] * 30, 2), np.repeat(np.arange(120), 2)
    within = compare(dead, np.tile([0, 1], 120), cluster=litter, measure="risk_difference", level=0.95)
    between = compare(
        dead,
        np.repeat(np.tile([0, 0, 0, 0, 1, 1, 1, 1], 15), 2),
        cluster=litter,
        measure="risk_difference",
        level=0.95,
    )
    assert within.estimate == 0
    assert within.high - within.low < 0.05  # not 0: Wilson's limits lean towards one half
    assert between.high - between.low > 0.2


def test_litters_widen_a_comparison_of_whole_litters() -> None:
    dead, litter = np.repeat([1, 0, 0, 0] * 30, 2), np.repeat(np.arange(120), 2)
    twin = np.repeat(np.tile([0, 0, 0, 0, 1, 1, 1, 1], 15), 2)
    plain, clustered = compare(dead, twin, level=0.95), compare(dead, twin, cluster=litter, level=0.95)
    ratio = np.log(clustered.high / clustered.low) / np.log(plain.high / plain.low)
    assert ratio == pytest.approx(np.sqrt(2), rel=0.02)  # litters of two that agree fully: design effect 2
    assert clustered.p > plain.p or plain.p == 1


def test_two_farms_are_too_few_to_tell_an_exposure_by() -> None:
    """One farm exposed and one not, 30 and 10 of 100 lost: the farms differ, the exposure is not shown."""
    dead, farm = np.repeat([1, 0, 1, 0], [30, 70, 10, 90]), np.repeat([0, 1], 100)
    assert compare(dead, farm, level=0.95).p < 0.001
    got = compare(dead, farm, cluster=farm, level=0.95)
    assert got.p > 0.2
    assert got.low < 1 < got.high


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"exposed": [0, 3]}, "exposed: codes must be below 2; found 3 at position 1"),
        ({"exposed": [0]}, "exposed: must be as long as event (2); found 1, they part at position 1"),
        (
            {"exposed": [0, 1], "measure": "hazard"},
            "measure: must be one of risk_ratio, risk_difference, odds_ratio; found hazard at position 0",
        ),
    ],
)
def test_a_bad_argument_is_named_with_its_place(arguments: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        compare([0, 1], **arguments, level=0.95)
