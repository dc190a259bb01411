"""The corpus of invented farm files: no number wrong with all well, no death read as a life, every refusal mends."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tests.season.farm_files.corpus import cases, outcomes_of
from tests.season.farm_files.lean import count
from tests.season.farm_files.reconcile import LIFE, REFUSED, WRONG_0, Outcome, one_sentence_that_mends
from tests.season.farm_files.table import README

pytestmark = pytest.mark.slow

FILES = Counter(case.kind for case in cases())
KINDS = sorted(FILES, key=lambda kind: (FILES[kind], kind))


def ended(outcomes: tuple[Outcome, ...], verdict: str) -> list[str]:
    return [
        f"{outcome.case.name}, {way}: {run.why}"
        for outcome in outcomes
        for way, run in (("unaided", outcome.unaided), ("with the drafted map", outcome.mapped))
        if run.verdict == verdict
    ]


def right_before(kind: str) -> int:
    """How many files of a kind the README says are read right, unaided or with the drafted map."""
    row = next(
        line for line in README.read_text(encoding="utf-8").splitlines() if line.startswith(f"| {kind} |")
    )
    _, unaided, mapped, *_ = (int(cell) for cell in row.split("|")[2:-1])
    return unaided + mapped


def test_the_corpus_is_wide() -> None:
    assert len(cases()) >= 160
    assert len(KINDS) >= 25
    assert sum(map(right_before, KINDS)) >= 100


@pytest.mark.quickly(12)
@pytest.mark.parametrize("kind", KINDS)
def test_files_are_read_right_or_asked_about(kind: str, tmp_path: Path) -> None:
    outcomes = outcomes_of([case for case in cases() if case.kind == kind], tmp_path)
    assert ended(outcomes, LIFE) == []
    assert ended(outcomes, WRONG_0) == []
    assert [outcome.case.name for outcome in outcomes if outcome.overreached] == []
    runs = [run for outcome in outcomes for run in (outcome.unaided, outcome.mapped)]
    refusals = [run.message for run in runs if run.verdict == REFUSED]
    assert [message for message in refusals if not one_sentence_that_mends(message)] == []
    assert sum(outcome.column.startswith("right") for outcome in outcomes) >= right_before(kind)


@pytest.mark.parametrize(("files", "deaths"), [(6, 40), pytest.param(60, 450, marks=pytest.mark.slow)])
def test_lean_files_lose_no_death(files: int, deaths: int) -> None:
    found = count(range(files))
    assert found["deaths"] > deaths
    assert found["deaths lost unaided"] == 0
    assert found["deaths lost with the drafted map"] == 0
    assert found["refusals not one sentence"] == 0
