"""Sheets that count newborns for each dam: a row whose counts cannot be is set aside, and never half believed."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from tests.season import books

POSSIBLE = "D1,4,2,1"


def read(tmp_path: Path, row: str) -> Season:
    path = tmp_path / "births.csv"
    path.write_text(f"dam_id,total born,born dead,died later\n{POSSIBLE}\n{row}\n", encoding="utf-8")
    return read_season(path)


@pytest.mark.parametrize(
    "row",
    [
        pytest.param("D2,2,1,2", id="more dead and died than born"),
        pytest.param("D2,2,0,3", id="more died than born"),
        pytest.param("D2,2,3,0", id="more dead than born"),
        pytest.param("D2,2,-1,0", id="fewer than none dead"),
        pytest.param("D2,2,0,-1", id="fewer than none died"),
        pytest.param("D2,2.5,0,1", id="half a newborn"),
        pytest.param("D2,3,0.5,0", id="half a death"),
        pytest.param("D2,13,1,1", id="more than any litter"),
        pytest.param("D2,-1,0,0", id="fewer than none born"),
    ],
)
def test_counts_that_cannot_be_are_set_aside(tmp_path: Path, row: str) -> None:
    season = read(tmp_path, row)
    assert season.births["dam_id"].tolist() == ["D1"] * 4
    listed = season.problems[season.problems["ended"] == "set aside"]
    assert listed["row"].tolist() == [3]
    assert listed["problem"].tolist() == ["the counts of this row do not add up to whole newborns"]
    assert all(listed["column"])
    assert all(listed["value"])


@pytest.mark.parametrize(
    ("row", "stillborn", "lost", "born"),
    [("D2,2,1,1", 1, 2, 2), ("D2,2,2,0", 2, 2, 2), ("D2,2,0,2", 0, 2, 2), ("D2,12,0,0", 0, 0, 12)],
    ids=["all lost", "all dead at birth", "all died later", "the largest litter"],
)
def test_counts_at_the_edge_of_what_can_be_are_counted(
    tmp_path: Path, row: str, stillborn: int, lost: int, born: int
) -> None:
    births = read(tmp_path, row).births
    litter = births[births["dam_id"] == "D2"]
    assert (int(litter["stillborn"].sum()), int(litter["died"].sum()), len(litter)) == (stillborn, lost, born)


def written(tmp_path: Path, none: str) -> Path:
    """One line a doe, where a hand wrote this sign or word for none."""
    rows = [
        ("N1", 2, 2, none, none, 2),
        ("N2", 3, 2, 1, none, 2),
        ("N3", 2, none, 2, none, none),
        ("N4", 2, 2, none, 1, 1),
        ("N5", 1, 1, none, none, 1),
        ("N6", 1, none, 1, none, none),
    ]
    path = tmp_path / "does.csv"
    lines = [",".join(map(str, row)) for row in rows]
    path.write_text(
        "\n".join(("Nanny,Kids born,Alive,Dead at birth,Died later,Reared", *lines)) + "\n", encoding="utf-8"
    )
    return path


@pytest.mark.parametrize("none", ["-", "–", "nil", "None", "keine", "0"])
@pytest.mark.parametrize("mapped", [False, True], ids=["as it stands", "by its drafted map"])
def test_a_sign_for_none_among_counts_is_zero_and_is_told(tmp_path: Path, none: str, mapped: bool) -> None:
    path = written(tmp_path, none)
    draft = drafted([path])
    assert not draft.open
    drawn = tmp_path / "map.toml"
    drawn.write_text(draft.text, encoding="utf-8")
    season = read_season(path, map=drawn) if mapped else read_season(path)
    births = season.births
    assert (len(births), int(births["stillborn"].sum()), int(births["died"].sum())) == (11, 4, 5)
    told = season.problems["problem"].str.startswith("cells of this column of counts read as 0")
    assert told.any() == (none != "0")


@pytest.mark.parametrize("dash", ["", "?", "n/a"])
def test_a_blank_or_a_word_for_not_known_is_no_zero(tmp_path: Path, dash: str) -> None:
    path = tmp_path / "ewes.csv"
    path.write_text(
        f"Ewe,Born,Dead,Reared\nE1,2,0,2\nE2,2,1,1\nE3,2,{dash},1\nE4,3,1,2\nE5,1,0,1\nE6,2,0,2\n"
    )
    drawn = tmp_path / "map.toml"
    drawn.write_text('[births.columns]\nBorn = "newborns_born"\nDead = "newborns_lost"\n', encoding="utf-8")
    season = read_season(path, map=drawn)
    assert "E3" not in set(season.births["dam_id"])


def test_a_number_under_born_dead_that_nobody_can_read_is_no_life(tmp_path: Path) -> None:
    path = tmp_path / "calves.csv"
    path.write_text(
        "Calf,Cow,Dead at birth,Died later\n1,A,1,\n2,B,2,\n3,C,,yes\n4,D,,no\n", encoding="utf-8"
    )
    births = read_season(path).births
    assert births["newborn_id"].tolist() == ["3", "4"]
    assert births["died"].tolist() == [True, False]


@pytest.mark.parametrize(
    ("meant", "instead"),
    [
        ("died", "newborns_lost"),
        ("born_dead", "newborns_born_dead"),
        ("born_alive", "newborns_born_alive"),
        ("litter_size", ""),
    ],
)
def test_an_outcome_of_one_newborn_in_a_row_of_counts_is_refused_by_its_own_heading(
    tmp_path: Path, meant: str, instead: str
) -> None:
    path, drawn = tmp_path / "cows.csv", tmp_path / "map.toml"
    path.write_text("Cow,Calves,Living,Gone\nA,1,1,0\nB,2,1,1\nC,1,0,1\nD,2,2,0\n", encoding="utf-8")
    counts = 'Calves = "newborns_born"\nLiving = "newborns_born_alive"\n'
    drawn.write_text(f'[columns]\nCow = "dam_id"\n{counts}Gone = "{meant}"\n', encoding="utf-8")
    with pytest.raises(CannotRead) as refused:
        read_season(path, map=drawn)
    assert f'"Gone" cannot be {meant}' in str(refused.value)
    assert f'"Gone" = "{instead}"' in str(refused.value)
    assert '"died"' not in str(refused.value)
    drawn.write_text(f'[columns]\nCow = "dam_id"\n{counts}Gone = ""\n', encoding="utf-8")
    assert len(read_season(path, map=drawn).births) == 6


def test_born_and_dead_are_drafted_where_the_living_and_the_dead_always_add_up(tmp_path: Path) -> None:
    path, drawn = tmp_path / "cows.csv", tmp_path / "map.toml"
    rows = (
        "A,2026-03-01,1,1,0\nB,2026-03-02,2,1,1\nC,2026-03-05,1,0,1\nD,2026-03-09,2,2,0\nE,2026-03-10,1,1,0\n"
    )
    path.write_text(f"Cow,Calved,Calves,Live at 24h,Dead\n{rows}", encoding="utf-8")
    draft = drafted([path])
    assert not draft.open
    drawn.write_text(draft.text, encoding="utf-8")
    births = read_season(path, map=drawn).births
    assert (len(births), int(births["lost"].sum())) == (7, 2)
    other = rows.replace(",0\n", ",1\n")
    path.write_text(f"Cow,Calved,Calves,Live at 24h,Dead\n{other}", encoding="utf-8")
    assert '"Calves" = "newborns_born"' not in drafted([path]).text


def test_numbers_of_dead_beside_those_of_born_are_never_asked_as_yes_or_no(tmp_path: Path) -> None:
    path = tmp_path / "schafe.csv"
    rows = "1;2;–;–\n2;2;1;–\n3;3;–;1\n1;1;–;–\n3;2;2;–\n"
    path.write_text(f"Schaf;geboren;tot geboren;verendet\n{rows}", encoding="utf-8")
    births = tomllib.loads(drafted([path]).text)["births"]
    assert births["columns"]["tot geboren"] in ("?", "newborns_born_dead")
    assert "born_dead" not in births.get("words", {})


def test_more_reared_than_born_is_told_with_its_row_and_columns() -> None:
    heads, dams = "dam_id,born_on,species,born,born dead,died,reared", "ABCDEF"
    rows = [f"{dam},2026-04-13,sheep,2,0,0,{3 if dam == 'B' else 2}" for dam in dams]
    season = books.read("\n".join([heads, *rows]) + "\n")
    row = season.problems[season.problems["ended"] == "set aside"].iloc[0]
    assert (row["file"], row["row"], row["column"]) == ("lambs.csv", 3, "born, born dead, died, reared")
    assert row["value"] == "born 2, born dead 0, died 0, reared 3"
    rows = [f"{dam},2026-04-13,sheep,2,0,0,3" for dam in dams]
    with pytest.raises(
        CannotRead, match=r"lambs\.csv: .* first in row 2 \(born 2, born dead 0, died 0, reared 3\)"
    ):
        books.read("\n".join([heads, *rows]) + "\n")
