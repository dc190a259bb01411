"""No sentence overstates: every comparison over a grid of evidence says what its rule allows, and no more."""

from __future__ import annotations

import itertools
import math

import pandas as pd
import pytest

from neonatal_stats.estimates.contrast import compare_counts
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS, Verdict, judge, judge_test
from neonatal_stats.measures.contrasts import with_verdicts
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice
from neonatal_stats.words.evidence import SEVERAL, Compared, compare_several, comparison

VOICE = Voice(species="sheep")
MINIMUM_GROUP = 10
SIZES = (1, 9, 10, 40, 200)
SHARES = (0.0, 0.02, 0.1, 0.3, 1.0)
GRID = [(round(a * n), n, round(c * m), m) for n, m, a, c in itertools.product(SIZES, SIZES, SHARES, SHARES)]
STRONG = ("higher", "lower")


def _compared(a: int, n: int, c: int, m: int) -> Compared:
    found = compare_counts(a, n, c, m, measure="risk_ratio", level=0.95)
    return Compared("twin lambs", "single lambs", a, n, c, m, found.estimate, found.low, found.high, found.p)


def _said(compared: Compared, q: float = math.nan) -> tuple[str, Verdict]:
    row = vars(compared) | {"measure": "risk ratio", "q": q}
    settings = Settings(minimum_group=MINIMUM_GROUP, false_discovery_share=0.1)
    (verdict,) = with_verdicts(pd.DataFrame([row]), settings)["verdict"]
    sentence = comparison(VOICE, compared, verdict, level=0.95)
    assert sentence.verdict is not None
    return sentence.text, sentence.verdict


@pytest.mark.slow
def test_the_grid_is_wide() -> None:
    verdicts = {_said(_compared(*cell))[1] for cell in set(GRID)}
    assert verdicts == set(Verdict)


@pytest.mark.quickly(20)
@pytest.mark.parametrize("cell", sorted(set(GRID)))
def test_no_sentence_overstates(cell: tuple[int, int, int, int]) -> None:
    a, n, c, m = cell
    compared = _compared(*cell)
    text, verdict = _said(compared)
    for word in ("nan", "inf", "None", "{", "because", "cause", "due to", "leads to"):
        assert word not in text
    if min(n, m) < MINIMUM_GROUP or a + c < MINIMUM_EVENTS:
        assert verdict is Verdict.TOO_FEW
    if verdict is Verdict.TOO_FEW:
        assert text.startswith("Too few to say")
        assert "times" not in text
    if verdict is Verdict.NO_CLEAR:
        assert not any(word in text for word in STRONG)
    if verdict is Verdict.LEANING:
        assert "chance is not ruled out" in text
        assert not text.startswith("Losses were")
    if text.startswith("Losses were"):
        assert verdict is Verdict.CLEAR
        excludes = compared.low > 1 or compared.high < 1
        assert excludes
        assert ("higher" in text) == (a / n > c / m)


@pytest.mark.parametrize("cell", [(30, 100, 10, 100), (10, 100, 30, 100)])
def test_small_groups_are_counts_and_large_ones_have_their_share(cell: tuple[int, int, int, int]) -> None:
    text, _ = _said(_compared(*cell))
    assert "30 of 100 (30.0\u00a0%)" in text
    small, _ = _said(_compared(8, 15, 2, 15))
    assert "8 of 15, " in small
    assert "53" not in small


def test_a_comparison_among_many_is_clear_only_if_its_q_allows() -> None:
    compared = _compared(30, 100, 10, 100)
    alone, among, allowed = (_said(compared, q) for q in (math.nan, 0.2, 0.05))
    assert [alone[1], among[1], allowed[1]] == [Verdict.CLEAR, Verdict.LEANING, Verdict.CLEAR]
    assert "among so many comparisons chance alone may bring one like it" in among[0]


def test_an_open_side_is_said_as_a_limit() -> None:
    text, verdict = _said(_compared(12, 40, 0, 40))
    assert verdict is Verdict.CLEAR
    assert "the ratio of the risks is at least" in text


def test_excess_is_deaths_over_the_other_groups_risk() -> None:
    # worked by hand: 30 - 100 x 10/100 = 20
    assert _compared(30, 100, 10, 100).excess == pytest.approx(20)


NAN = math.nan
RULE = [
    # low, high, p, events, smallest, verdict
    (1.2, 3.0, 0.01, 30, 40, Verdict.CLEAR),
    (0.3, 0.8, 0.01, 30, 40, Verdict.CLEAR),
    (0.9, 3.0, 0.10, 30, 40, Verdict.LEANING),
    (0.9, 3.0, 0.20, 30, 40, Verdict.NO_CLEAR),
    (1.2, NAN, 0.01, 30, 40, Verdict.CLEAR),
    (NAN, 0.8, 0.01, 30, 40, Verdict.CLEAR),
    (NAN, NAN, 0.01, 30, 40, Verdict.TOO_FEW),
    (1.2, 3.0, 0.01, 4, 40, Verdict.TOO_FEW),
    (1.2, 3.0, 0.01, 30, 9, Verdict.TOO_FEW),
    (0.9, 3.0, NAN, 30, 40, Verdict.NO_CLEAR),
]


@pytest.mark.parametrize(("low", "high", "p", "events", "smallest", "verdict"), RULE)
def test_the_rule(low: float, high: float, p: float, events: int, smallest: int, verdict: Verdict) -> None:
    found = judge(low, high, p, null=1.0, events=events, smallest_group=smallest, minimum_group=10)
    assert found is verdict


@pytest.mark.parametrize(
    ("p", "events", "smallest", "verdict"),
    [
        (0.049, 30, 40, Verdict.CLEAR),
        (0.051, 30, 40, Verdict.LEANING),
        (0.2, 30, 40, Verdict.NO_CLEAR),
        (0.001, 4, 40, Verdict.TOO_FEW),
        (0.001, 30, 9, Verdict.TOO_FEW),
        (NAN, 30, 40, Verdict.TOO_FEW),
    ],
)
def test_the_rule_for_several_groups(p: float, events: int, smallest: int, verdict: Verdict) -> None:
    found = judge_test(p, level=0.95, events=events, smallest_group=smallest, minimum_group=10)
    assert found is verdict
    said = compare_several(VOICE, p, found)
    assert said.verdict is verdict
    assert said.text.split("(")[0] == SEVERAL[verdict].split("(")[0]
