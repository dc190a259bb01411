"""The contrast frame: who is held against whom, with which counts, and what verdict comes of it."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.contrasts import (
    CONTRAST,
    REST,
    SHOWN,
    by_factor,
    contrast_rows,
    contrasts,
    risk_differs,
    with_verdicts,
)
from neonatal_stats.season.settings import Settings

SETTINGS = Settings()
COUNTS = ["events", "n", "events_versus", "n_versus"]


def births(column: str, *blocks: tuple[str, int, int]) -> pd.DataFrame:
    """Newborns one to a litter: each block is a level, how many of it were lost, and how many were born."""
    rows = [(level, place < lost) for level, lost, n in blocks for place in range(n)]
    frame = pd.DataFrame(rows, columns=[column, "lost"]).astype({"lost": "boolean"})
    levels = list(dict.fromkeys(level for level, _, _ in blocks))
    frame[column] = pd.Categorical(frame[column], levels, ordered=True)
    return frame.assign(cluster=range(len(frame)))


KINDS = births(
    "birth_type", ("single", 10, 100), ("twin", 30, 100), ("triplet", 12, 40), ("four or more", 1, 5)
)


def test_every_level_against_one_of_them() -> None:
    # worked by hand: risks 0.10, 0.30, 0.30, 0.20; Altman's interval of the ratio leaves out 1 for the first two
    found = contrasts(KINDS, "birth_type", versus="single", outcome="lost", settings=SETTINGS)
    assert list(found) == ["birth_type", *CONTRAST, "note"]
    assert found["birth_type"].tolist() == ["twin", "triplet", "four or more"]
    assert set(found["versus"]) == {"single"}
    assert found[COUNTS].to_numpy().tolist() == [[30, 100, 10, 100], [12, 40, 10, 100], [1, 5, 10, 100]]
    assert found["estimate"].tolist() == pytest.approx([3, 3, 2])
    assert found["verdict"].tolist() == [Verdict.CLEAR, Verdict.CLEAR, Verdict.TOO_FEW]
    assert found["q"].isna().all()


def test_each_level_against_the_rest() -> None:
    # worked by hand: 53 of 245 lost in all
    found = contrasts(
        KINDS, "birth_type", versus=None, outcome="lost", settings=SETTINGS, measure="risk difference"
    )
    assert set(found["versus"]) == {REST}
    assert found[COUNTS].to_numpy().tolist()[:2] == [[10, 100, 43, 145], [30, 100, 23, 145]]
    assert found["estimate"].tolist()[:2] == pytest.approx([0.10 - 43 / 145, 0.30 - 23 / 145])
    assert found["verdict"].tolist()[0] is Verdict.CLEAR


def test_nothing_is_held_against_a_level_that_is_not_there() -> None:
    found = contrasts(
        KINDS.assign(lost=pd.NA), "birth_type", versus="single", outcome="lost", settings=SETTINGS
    )
    assert list(found) == ["birth_type", *CONTRAST, "note"]
    assert found.empty
    alone = births("birth_type", ("twin", 3, 20))
    assert contrasts(alone, "birth_type", versus="single", outcome="lost", settings=SETTINGS).empty
    assert contrasts(alone, "birth_type", versus=None, outcome="lost", settings=SETTINGS).empty


def test_groups_of_factors_against_their_reference_and_small_ones_only_shown() -> None:
    found = by_factor(KINDS, ("birth_type", "sex"), outcome="lost", settings=SETTINGS)
    assert list(found) == ["factor", "group", *CONTRAST, *SHOWN]
    assert found["group"].tolist() == ["single", "twin", "triplet", "four or more"]
    assert found["share"].tolist() == pytest.approx([0.10, 0.30, 0.30, 0.20])
    assert found["versus"].isna().tolist() == [True, False, False, True]
    assert found["verdict"].isna().tolist() == [True, False, False, True]
    assert found["share_versus"].dropna().tolist() == pytest.approx([0.10, 0.10])


def test_a_factor_without_a_reference_is_held_against_its_largest_group() -> None:
    pens = births("group", ("north", 5, 30), ("south", 5, 50))
    found = by_factor(pens, ("group",), outcome="lost", settings=SETTINGS)
    assert found["versus"].dropna().tolist() == ["south"]


def test_q_is_over_all_groups_of_all_factors() -> None:
    # Benjamini & Hochberg (1995): with p of 0.01, 0.02 and 0.9 the q are 0.03, 0.03 and 0.9
    rows = [
        {
            "group": name,
            "versus": "others",
            "measure": "hazard ratio",
            "estimate": 2.0,
            "low": 1.1,
            "high": 3.6,
        }
        | {"events": 9, "n": 50, "events_versus": 8, "n_versus": 90, "p": p}
        for name, p in (("a", 0.01), ("b", 0.02), ("c", 0.9))
    ]
    found = contrast_rows(rows, ("group",), settings=SETTINGS, many=True)
    assert found["q"].tolist() == pytest.approx([0.03, 0.03, 0.9])
    assert found["verdict"].tolist() == [Verdict.CLEAR, Verdict.CLEAR, Verdict.NO_CLEAR]
    kept = with_verdicts(found.assign(q=[0.03, 0.2, 0.9]), SETTINGS)
    assert kept["verdict"].tolist() == [Verdict.CLEAR, Verdict.LEANING, Verdict.NO_CLEAR]


@pytest.mark.parametrize(
    ("measure", "low", "high", "verdict"),
    [
        ("risk difference", 0.02, 0.20, Verdict.CLEAR),
        ("risk ratio", 0.02, 0.20, Verdict.CLEAR),
        ("risk difference", -0.02, 0.20, Verdict.NO_CLEAR),
        ("risk ratio", 0.90, 1.20, Verdict.NO_CLEAR),
        ("hazard ratio", float("nan"), 0.90, Verdict.CLEAR),
        ("hazard ratio", float("nan"), float("nan"), Verdict.TOO_FEW),
    ],
)
def test_no_difference_is_one_for_ratios_and_zero_for_differences(
    measure: str, low: float, high: float, verdict: Verdict
) -> None:
    row: dict[str, Any] = {
        "versus": "b",
        "measure": measure,
        "estimate": (low + high) / 2,
        "low": low,
        "high": high,
    }
    row |= {"events": 20, "n": 100, "events_versus": 10, "n_versus": 100, "p": 0.5}
    assert contrast_rows([row], (), settings=SETTINGS)["verdict"].tolist() == [verdict]


def test_a_verdict_may_rest_on_other_events_than_both_groups() -> None:
    row = {"versus": "b", "measure": "risk difference", "estimate": 0.1, "low": 0.02, "high": 0.2, "p": 0.01}
    frame = pd.DataFrame([row | {"events": 100, "n": 100, "events_versus": 98, "n_versus": 100}])
    assert with_verdicts(frame, SETTINGS)["verdict"].item() is Verdict.CLEAR
    empty = frame["n"] - frame["events"] + frame["n_versus"] - frame["events_versus"]
    assert with_verdicts(frame, SETTINGS, events=empty)["verdict"].item() is Verdict.TOO_FEW


def test_several_groups_at_once() -> None:
    # scipy.stats.chi2_contingency of 10/90, 30/70, 12/28 without Yates's correction: 13.748 on 2 degrees of freedom
    test = risk_differs(KINDS[KINDS["birth_type"] != "four or more"], ("birth_type",), "lost")
    assert (test.df, test.statistic) == (2, pytest.approx(13.748, abs=1e-3))
