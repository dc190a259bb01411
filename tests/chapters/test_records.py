"""The records of the twelve births, counted by hand, and records that hold less of the dead."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from neonatal_stats.chapters import records
from neonatal_stats.chapters.records import Records
from neonatal_stats.season.finding import PROBLEM_COLUMNS
from neonatal_stats.season.model import Season
from tests.chapters.build import season
from tests.chapters.twelve import twelve


@pytest.fixture(scope="module")
def result() -> Records:
    return records.answer(twelve())


def _counts(frame: pd.DataFrame, name: str) -> list[int]:
    return [int(frame["events"][name]), int(frame["n"][name])]


def test_rows_and_follow_up(result: Records) -> None:
    said = [sentence.text for sentence in records.sentences(result)]
    assert said[0] == (
        "12 rows of births were read: 12 used as they stand, 0 used with a field set to missing, 0 set aside."
    )
    # worked by hand: 5384 h of the eleven born alive, see the life table; five reached 42 days, so the median does
    assert result.watched["2026"].total_days == pytest.approx(5384 / 24)
    assert result.watched["2026"].median_days == 42


def test_missing_values(result: Records) -> None:
    found = result.missing.set_index("column")
    assert _counts(found, "sex") == [0, 12]
    assert _counts(found, "meconium_after_min") == [3, 11]  # 2, 6, 9
    assert _counts(found, "stood_after_min") == [2, 11]  # 6, 9


def test_who_stands_in_the_records(result: Records) -> None:
    table = {(row.about, row.term): (row.events, row.n) for row in result.described.itertuples()}
    assert table["birth_type", "twin"] == (6, 12)
    assert table["sex", "male"] == (5, 12)
    assert table["parity_class", "second or third"] == (3, 7)  # dams C, D, E
    weights = result.described[result.described["about"] == "birth_weight_kg"].iloc[0]
    # sorted: 2.2 2.4 2.6 2.8 2.9 3.0 3.2 3.4 3.6 4.0 4.2 4.6: the middle is (3.0 + 3.2) / 2
    assert weights["median"] == pytest.approx(3.1)


def test_rounded_times(result: Records) -> None:
    heaped = result.heaped.set_index("what")
    assert _counts(heaped, "time of birth on the quarter hour") == [12, 12]
    assert _counts(heaped, "birth weight on the half kilogram") == [2, 12]  # 4.0 and 3.0
    assert not heaped.loc["birth weight on the half kilogram", "heaped"]


def test_how_exactly_ages_are_known(result: Records) -> None:
    assert result.ages == {
        "died after birth": 5,
        "hour known": 5,
        "between two checks": 0,
        "day known": 0,
        "not known": 0,
    }


def _weighed(lost: int, others: int) -> Season:
    """100 newborns, 40 of them lost; so many of each weighed."""
    rows: list[dict[str, Any]] = []
    for i in range(100):
        row: dict[str, Any] = {"dam_id": str(i), "born_alive": "yes"}
        if i < 40:
            row |= {"died": "yes", "died_after_h": 7}
        if (i < 40 and i < lost) or (i >= 40 and i - 40 < others):
            row["birth_weight_kg"] = 4.1
        rows.append(row)
    return season(rows)


def test_the_dead_recorded_less_well_is_said() -> None:
    said = records.sentences(records.answer(_weighed(lost=20, others=58)))
    (found,) = [sentence for sentence in said if sentence.role == "cannot say"]
    assert "birth weight (kg) 20 of 40 (50.0\u00a0%) against 58 of 60 (96.7\u00a0%)" in found.text


def test_the_dead_recorded_as_well_is_no_complaint() -> None:
    said = records.sentences(records.answer(_weighed(lost=36, others=54)))
    assert not [sentence for sentence in said if sentence.role == "cannot say"]
    assert any(
        sentence.text.startswith("No column known at birth was written down less") for sentence in said
    )


def test_how_well_the_dead_were_recorded_has_no_verdict_of_its_own() -> None:
    """Ten comparisons that no ledger sees: they are described, from ten points on, and never called clear."""
    for lost, others, named in ((36, 60, True), (37, 60, False), (3, 60, True), (36, 52, False)):
        result = records.answer(_weighed(lost, others))
        assert not {"verdict", "p", "q"} & set(result.by_outcome)
        said = records.sentences(result)
        assert all(sentence.verdict is None for sentence in said)
        assert not [one for one in said if "clear difference" in one.text.lower()]
        assert bool([one for one in said if one.role == "cannot say"]) is named


def test_too_few_lost_are_not_held_against_the_others() -> None:
    rows: list[dict[str, Any]] = [
        {"dam_id": str(i), "died": "yes" if i < 3 else "no", "birth_weight_kg": None if i < 3 else 4.0}
        for i in range(60)
    ]
    result = records.answer(season(rows))
    assert not result.by_outcome["less"].any()
    assert not [one for one in records.sentences(result) if "less often" in one.text]


def test_gaps_are_what_to_write_down_next() -> None:
    said = records.sentences(records.answer(_weighed(lost=20, others=30)))
    (found,) = [sentence for sentence in said if sentence.role == "record next"]
    assert (
        found.text
        == "Write down birth weight (kg) for every lamb: in 2026 it is missing for 50 of 100 (50.0\u00a0%)."
    )


def test_problems_are_counted() -> None:
    made = twelve()
    row = dict.fromkeys(PROBLEM_COLUMNS, "x") | {"table": "births", "ended": "noted", "problem": "odd"}
    found = records.answer(Season(**{**vars(made), "problems": pd.DataFrame([row, row])}))
    assert found.problems["events"].tolist() == [2]
    assert any("Most often: odd (2)." in sentence.text for sentence in records.sentences(found))


def test_litters_counted_and_dams_unknown() -> None:
    found = records.answer(season([{"dam_id": "A"}, {"dam_id": "A"}, {"sex": "male", "litter_size": 1}]))
    assert (found.counted_litters, found.unknown_dams) == (2, 1)
