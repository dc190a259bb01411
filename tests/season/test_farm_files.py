"""The corpus of invented farm files: no number wrong with all well, no death read as a life, every refusal mends."""

from __future__ import annotations

import pytest

from tests.season.farm_files.corpus import cases, outcomes_of_all
from tests.season.farm_files.lean import count
from tests.season.farm_files.reconcile import (
    LIFE,
    REFUSED,
    WRONG_0,
    Outcome,
    one_sentence_that_mends,
)

Outcomes = tuple[Outcome, ...]


@pytest.fixture(scope="module")
def outcomes() -> Outcomes:
    return outcomes_of_all()


def ended(outcomes: Outcomes, verdict: str) -> list[str]:
    return [
        f"{outcome.case.name}, {way}: {run.why}"
        for outcome in outcomes
        for way, run in (("unaided", outcome.unaided), ("with the drafted map", outcome.mapped))
        if run.verdict == verdict
    ]


def test_the_corpus_is_wide() -> None:
    assert len(cases()) >= 160
    assert len({case.kind for case in cases()}) >= 25


def test_no_death_is_read_as_a_life(outcomes: Outcomes) -> None:
    assert ended(outcomes, LIFE) == []


def test_nothing_wrong_is_called_all_well(outcomes: Outcomes) -> None:
    assert ended(outcomes, WRONG_0) == []


def test_what_nobody_can_know_is_asked(outcomes: Outcomes) -> None:
    assert [outcome.case.name for outcome in outcomes if outcome.overreached] == []


def test_each_refusal_is_one_sentence_that_mends(outcomes: Outcomes) -> None:
    runs = [
        run for outcome in outcomes for run in (outcome.unaided, outcome.mapped) if run.verdict == REFUSED
    ]
    assert [run.message for run in runs if not one_sentence_that_mends(run.message)] == []


def test_most_files_are_read_right_with_no_help_or_the_drafted_map(outcomes: Outcomes) -> None:
    assert sum(outcome.column.startswith("right") for outcome in outcomes) >= 100


def test_lean_files_lose_no_death() -> None:
    found = count(range(60))
    assert found["deaths"] > 450
    assert found["deaths lost unaided"] == 0
    assert found["deaths lost with the drafted map"] == 0
    assert found["refusals not one sentence"] == 0
