"""Exchange messages beside a table of the first hours, folders, and one file among others that cannot be read."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.read import read_season

PARTURITION = {
    "resourceType": "icarReproParturitionEventResource",
    "id": "e1",
    "animal": {"id": "D1", "scheme": "std.iso.11785"},
    "eventDateTime": "2026-04-13T05:30:00Z",
    "totalProgeny": 1,
    "liveProgeny": 1,
    "progenyDetails": [
        {
            "resourceType": "icarProgenyDetailsResource",
            "identifier": {"id": "000123", "scheme": "std.iso.11785"},
            "specie": "Sheep",
            "gender": "Female",
            "birthStatus": "Alive",
        }
    ],
}


def test_feeds_of_a_table_join_newborns_of_an_exchange_file(tmp_path: Path) -> None:
    (tmp_path / "births.json").write_text(json.dumps([PARTURITION]), encoding="utf-8")
    (tmp_path / "feeds.csv").write_text(
        "newborn_id,fed_at,volume_ml\n000123,2026-04-13 07:00,120\n", encoding="utf-8"
    )
    season = read_season(tmp_path)
    assert season.births["newborn_id"].tolist() == ["000123"]
    assert season.births["fed_after_h"].tolist() == [1.5]
    assert sorted((source.file, source.table) for source in season.sources) == [
        ("births.json", "births"),
        ("feeds.csv", "feeds"),
    ]


def test_births_may_stand_in_several_files_with_different_columns(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("dam_id,born_on,died,sex\nA,2025-04-13,no,female\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text(
        "dam_id;born_on;died;birth_weight_kg\nB;2026-04-13;no;4,2\n", encoding="utf-8"
    )
    births = read_season([tmp_path / "a.csv", tmp_path / "b.csv"]).births
    assert births["season"].astype(str).tolist() == ["2025", "2026"]
    assert births["birth_weight_kg"].tolist()[1] == 4.2
    assert births["sex"].astype(object).map(str).tolist() == ["female", "nan"]


def test_an_empty_folder_and_no_file_give_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(CannotRead) as raised:
        read_season(tmp_path)
    assert str(raised.value) == (
        f"{tmp_path.name}: the folder holds no file of records; "
        "accepted are .csv, .tsv, .txt, .xlsx, .xlsm, .ods, .parquet, .json."
    )
    with pytest.raises(CannotRead) as raised:
        read_season([])
    assert str(raised.value) == (
        "No file of records was named; name at least one CSV, XLSX, ODS, Parquet or JSON file."
    )


def test_a_season_that_is_not_there_is_named_with_those_that_are(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("dam_id,born_on,died\nA,2025-04-13,no\nB,2026-04-13,no\n", encoding="utf-8")
    with pytest.raises(CannotRead) as raised:
        read_season(path, season="2024")
    assert str(raised.value) == 'The records hold no season "2024"; the seasons found are 2025, 2026.'


def test_two_headings_for_one_column_are_not_chosen_between(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("dam_id,Dam id,died\nA,B,no\n", encoding="utf-8")
    with pytest.raises(CannotRead) as raised:
        read_season(path)
    assert str(raised.value) == (
        'a.csv: the headings "dam_id" and "Dam id" both mean dam_id; '
        'rename one of them, or leave one out in the map with = "".'
    )


def test_no_column_of_outcome_gives_one_sentence(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("dam_id,born_on\nA,2026-04-13\n", encoding="utf-8")
    with pytest.raises(CannotRead) as raised:
        read_season(path)
    assert str(raised.value) == (
        "a.csv: no column says what became of the newborns; "
        "write one of died, died_at, found_dead_at, born_alive, cause, "
        "or say in a map under [columns] which heading is one; if it holds no births, say in a map under [tables] "
        '"a.csv" = "samples", "colostrum" or another table, or = "" to leave it out.'
    )
