"""Treatments: whom they reached and what became of these; warming by temperature and order; never an effect."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from neonatal_stats import read_season
from neonatal_stats.chapters import treatments as chapter
from neonatal_stats.chapters.counted.treatments import Treatments

Row = dict[str, Any]
BORN = "2026-04-10 06:00"
BIRTHS: list[Row] = [
    {"newborn_id": "1", "dam_id": "A", "died": "yes", "died_at": "2026-04-11 06:00"},
    {"newborn_id": "2", "dam_id": "A", "died": "no"},
    {"newborn_id": "3", "dam_id": "B", "died": "no"},
    {"newborn_id": "4", "dam_id": "C", "died": "yes", "born_alive": "no"},
    {"newborn_id": "5", "dam_id": "D", "died": "no", "rectal_temperature_c": 38.0},
]


def answered(folder: Path, rows: Sequence[Row], births: Sequence[Row] = BIRTHS) -> Treatments:
    pd.DataFrame(list(rows)).to_csv(folder / "treatments.csv", index=False)
    if births:
        pd.DataFrame([{"species": "sheep", "born_at": BORN, **row} for row in births]).to_csv(
            folder / "births.csv", index=False
        )
    season = read_season(folder)
    return chapter.answer(season[season.under_review])


def given(what: str, newborn: str, at: str, **more: object) -> Row:
    return {"treatment": what, "newborn_id": newborn, "given_at": at, **more}


def test_each_newborn_counts_once_under_each_treatment_with_what_became_of_it(tmp_path: Path) -> None:
    rows = [
        given("navel care; antibiotic", "1", "2026-04-10 07:00"),
        given("navel care", "1", "2026-04-10 12:00"),
        given("navel care", "2", "2026-04-10 07:00"),
    ]
    frame = answered(tmp_path, rows).given.set_index("treatment")
    names = ["rows", "newborns", "born", "lost", "n"]
    assert frame.loc["navel care", names].tolist() == [3, 2, 4, 1, 2]
    assert frame.loc["antibiotic", names].tolist() == [1, 1, 4, 1, 1]


def test_the_dams_vaccine_reaches_all_of_her_litter_and_the_born_dead(tmp_path: Path) -> None:
    rows = [
        {"treatment": "vaccine of the dam", "dam_id": dam, "given_at": "2026-03-01"}
        for dam in ("A", "C", "Z")
    ]
    result = answered(tmp_path, rows)
    row = result.given.iloc[0]
    assert row[["rows", "newborns", "lost", "n"]].tolist() == [
        4,
        3,
        2,
        3,
    ]  # both of A, the dead one of C; Z is nobody's
    assert result.unplaced == 1
    assert any(one.role == "cannot say" for one in chapter.sentences(result))


def test_a_treatment_of_a_dam_with_twins_says_not_which_of_them(tmp_path: Path) -> None:
    rows = [
        {"treatment": "antibiotic", "dam_id": "A", "given_at": "2026-04-10"},
        {"treatment": "antibiotic", "dam_id": "B", "given_at": "2026-04-10"},
    ]
    result = answered(tmp_path, rows)
    assert result.given.iloc[0][["rows", "newborns"]].tolist() == [2, 1]
    assert result.unplaced == 1


def test_warming_by_temperature_and_order(tmp_path: Path) -> None:
    """Common practice: under 37 C and over about 5 hours old, energy comes before warming."""
    rows = [
        given("energy", "1", "2026-04-10 12:00", rectal_temperature_c=36.0),
        given("warmed", "1", "2026-04-10 12:30"),
        given("warmed", "2", "2026-04-10 13:00", rectal_temperature_c=35.5),
        given("energy", "2", "2026-04-10 13:30"),
        given("warmed", "3", "2026-04-10 07:00"),
        given("warmed", "5", "2026-04-10 07:00"),
        given("energy", "5", "2026-04-10 07:00"),
    ]
    result = answered(tmp_path, rows)
    found = result.warmed[["temperature", "order", "n", "lost"]].to_numpy().tolist()
    assert found == [
        ["cold", "energy first", 1, 1],
        ["cold", "warmed first", 1, 0],
        ["cool", "order not told", 1, 0],  # the temperature of its birth's row; both at one moment
        ["not taken", "no energy given", 1, 0],
    ]
    assert result.energy_due == (1, 2)


@pytest.mark.parametrize("births", [BIRTHS, ()])
def test_the_words_that_confounding_deserves_stand_beside_the_counts_and_nothing_is_claimed(
    tmp_path: Path, births: Sequence[Row]
) -> None:
    result = answered(tmp_path, [given("antibiotic", "1", "2026-04-10 12:00", species="sheep")], births)
    lead, beside, *_ = chapter.sentences(result)
    assert lead.lead
    assert beside.goes_on
    assert "confounding by indication" in beside.text
    assert not hasattr(chapter, "claims")
    assert chapter.figures(result) == ()
    assert all(not one.claim and one.verdict is None for one in chapter.sentences(result))
    assert result.with_births == bool(births)
