"""The corpus of invented farm files: no number wrong with all well, no death read as a life, every refusal mends.

Of the files of a kind that are read right unaided one in six is read here, the first of them always; all that end
otherwise are. `python -m tests.season.farm_files.table` reads every one, and so do these tests with EVERY_FORM=yes.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tests.season.farm_files.case import Case
from tests.season.farm_files.corpus import cases, outcomes_of
from tests.season.farm_files.lean import count
from tests.season.farm_files.reconcile import LIFE, REFUSED, WRONG_0, Outcome, one_sentence_that_mends
from tests.season.farm_files.table import COLUMNS, column_before
from tests.thinned import thinned

pytestmark = pytest.mark.slow

FILES = Counter(case.kind for case in cases())
BEFORE = column_before()
"""The column in which the README has each file that is not read right unaided."""
KINDS = sorted(FILES, key=lambda kind: (FILES[kind], kind))


def ended(outcomes: tuple[Outcome, ...], verdict: str) -> list[str]:
    return [
        f"{outcome.case.name}, {way}: {run.why}"
        for outcome in outcomes
        for way, run in (("unaided", outcome.unaided), ("with the drafted map", outcome.mapped))
        if run.verdict == verdict
    ]


def chosen(kind: str) -> list[Case]:
    """The files of a kind that are read here."""
    of_kind = [case for case in cases() if case.kind == kind]
    alike = [case for case in of_kind if case.name not in BEFORE]
    return [*thinned(alike, 6), *(case for case in of_kind if case.name in BEFORE)]


def test_the_corpus_is_wide() -> None:
    assert len(cases()) >= 160
    assert len(KINDS) >= 25
    assert all(map(chosen, KINDS))
    assert {case.name for case in cases()} >= BEFORE.keys()
    assert len(BEFORE) < 0.2 * len(cases())
    assert set(BEFORE.values()) <= set(COLUMNS)


@pytest.mark.quickly(12)
@pytest.mark.parametrize("kind", KINDS)
def test_files_are_read_right_or_asked_about(kind: str, tmp_path: Path) -> None:
    outcomes = outcomes_of(chosen(kind), tmp_path)
    assert ended(outcomes, LIFE) == []
    assert ended(outcomes, WRONG_0) == []
    assert [outcome.case.name for outcome in outcomes if outcome.overreached] == []
    runs = [run for outcome in outcomes for run in (outcome.unaided, outcome.mapped)]
    refusals = [run.message for run in runs if run.verdict == REFUSED]
    assert [message for message in refusals if not one_sentence_that_mends(message)] == []
    worse = [outcome for outcome in outcomes if not outcome.column.startswith("right")]
    assert [
        one.case.name for one in worse if BEFORE.get(one.case.name, "right unaided").startswith("right")
    ] == []


@pytest.mark.parametrize(("files", "deaths"), [(6, 40), pytest.param(24, 160, marks=pytest.mark.slow)])
def test_lean_files_lose_no_death(files: int, deaths: int) -> None:
    found = count(range(files))
    assert found["deaths"] > deaths
    assert found["deaths lost unaided"] == 0
    assert found["deaths lost with the drafted map"] == 0
    assert found["refusals not one sentence"] == 0
