"""Claims from a contrast frame: whose key, which family, what may be said, and the p that sparse counts allow."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest
from scipy import stats

from neonatal_stats.estimates.many_groups import skewed_like_counts
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.claims import FAMILIES, Claim, claims_of, family_of_factor, judged, keyed
from neonatal_stats.measures.contrasts import contrast_rows
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.factors import FACTORS

SETTINGS = Settings()


def frame(**more: Any) -> pd.DataFrame:
    cells = {"measure": "risk ratio", "versus": "easy", "events": 12, "n": 40, "events_versus": 40, "n_versus": 400,
             "estimate": 3.0, "low": 1.7, "high": 5.2, "p": 0.0002}  # fmt: skip
    rows = [
        {"factor": "difficulty", "group": "difficult", **cells, **more},
        {"factor": "difficulty", "group": "easy", "events": 40, "n": 400},
    ]
    return keyed(contrast_rows(rows, ("factor", "group"), settings=SETTINGS), "birth_type")


def claims(made: pd.DataFrame, **more: Any) -> tuple[Claim, ...]:
    given = {"family": "delivery", "line": "delivery", "period": ("2026",), "settings": SETTINGS, **more}
    return claims_of(made, chapter="birth_type", **given)


def test_a_row_held_against_another_is_a_claim_and_the_reference_is_none() -> None:
    (one,) = claims(frame(), asked={"birth_type/difficulty/difficult": "surgery"})
    assert (one.key, one.asked) == ("birth_type/difficulty/difficult", "surgery")
    assert (one.events, one.n, one.events_versus, one.n_versus) == (12, 40, 40, 400)
    assert one.excess == pytest.approx(12 - 40 * 40 / 400)
    assert one.about == (("factor", "difficulty"), ("group", "difficult"), ("versus", "easy"))
    assert one.sayable


@pytest.mark.parametrize(
    "more", [{"n": 9}, {"events": 1, "events_versus": 3}, {"low": None, "high": None}, {"p": None}]
)
def test_what_is_too_little_is_not_sayable(more: dict[str, Any]) -> None:
    (one,) = claims(frame(**more))
    assert not one.sayable


def test_a_topic_tells_the_frames_of_a_chapter_apart() -> None:
    made = frame().drop(columns="key")
    assert keyed(made, "colostrum", "6 h")["key"][0] == "colostrum/6 h/difficulty/difficult"


def test_the_weakest_reading_decides_where_it_is_larger() -> None:
    (one,) = claims(frame(), weakest=pd.Series([0.3, None]))
    assert one.decided_by == 0.3
    (same,) = claims(frame())
    assert same.decided_by == same.p


def test_verdicts_come_back_by_key_and_the_reference_keeps_its_own() -> None:
    made = judged(frame(), {"birth_type/difficulty/difficult": Verdict.LEANING})
    assert made["verdict"].tolist() == [Verdict.LEANING, None]


def test_every_factor_has_a_family() -> None:
    assert {family_of_factor(factor.name) for factor in FACTORS} <= set(FAMILIES)
    with pytest.raises(ValueError, match="family: 'luck' is none of"):
        claims(frame(), family="luck")


@pytest.mark.parametrize(("events", "n"), [(8, 20), (5, 12), (14, 60), (30, 120)])
def test_sparse_tails_are_those_of_the_binomial(events: int, n: int) -> None:
    """A small group beside very many others: twice the binomial tail, half of the count seen left out (SciPy's)."""
    others, risk = 10**7, 0.08
    z = (events - n * risk) / (n * risk * (1 - risk)) ** 0.5
    found = skewed_like_counts(2 * stats.norm.sf(z), True, events, n, risk * others, others)
    tail = stats.binom.sf(events, n, risk) + stats.binom.pmf(events, n, risk) / 2
    assert float(found) == pytest.approx(2 * tail, rel=0.002)


def test_a_p_that_comes_from_sparse_counts_already_is_not_made_larger_again() -> None:
    """9 of 35 against 55 of 550: mid-P 0.0114 (Fisher's exact test of SciPy less half of the table seen)."""
    whole = stats.hypergeom(585, 64, 35)
    mid = 2 * (whole.sf(9) + whole.pmf(9) / 2)
    assert float(skewed_like_counts(mid, True, 9, 35, 55, 550)) == pytest.approx(mid, rel=0.06)


def test_large_even_groups_keep_their_p() -> None:
    assert skewed_like_counts(0.001, True, 5300, 10000, 5000, 10000) == pytest.approx(0.001, rel=0.01)
    assert skewed_like_counts(0.001, False, 1, 200, 60, 600) == 0.001
