"""Sheets of mobs: seasons named in words, above a block or by the sheet; parts of a count; rows that stand twice."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats import CannotRead, read_season
from neonatal_stats.season.map.draft_map import draft_map
from neonatal_stats.season.model import Season


def put(folder: Path, text: str) -> Path:
    path = folder / "mobs.csv"
    path.write_text(text.strip() + "\n", encoding="utf-8")
    return path


def as_drafted(folder: Path, text: str) -> Season:
    path = put(folder, text)
    (folder / "map.toml").write_text(draft_map(path), encoding="utf-8")
    return read_season(path, map=folder / "map.toml")


PARTS = [("Ewe lambs marked", "Wether lambs marked"), ("Female calves marked", "Male calves marked"),
         ("Heifer calves branded", "Bull calves branded")]  # fmt: skip


@pytest.mark.parametrize(("one", "other"), PARTS)
def test_two_sexes_of_one_count_are_added_up_and_told(tmp_path: Path, one: str, other: str) -> None:
    season = as_drafted(tmp_path, f"Mob,Season,Joined,{one},{other}\nA,2025,100,40,41\nB,2025,90,30,")
    marked = season.mobs.set_index("mob")["marked"]
    assert marked["A"] == 81
    assert pd.isna(marked["B"])
    said = list(season.problems["problem"])
    assert any("were added up to marked" in text for text in said)
    assert any("one of the two parts of this count is not written" in text for text in said)


@pytest.mark.parametrize(
    ("one", "other"), [("Marked March", "Marked April"), ("Early lambs marked", "Late lambs marked")]
)
def test_what_may_be_parts_of_one_count_is_asked_of_both(tmp_path: Path, one: str, other: str) -> None:
    path = put(
        tmp_path, f"Mob,Season,Joined,{one},{other},Lambs weaned\nA,2025,100,40,41,80\nB,2025,90,30,35,64"
    )
    columns = tomllib.loads(draft_map(path))["mobs"]["columns"]
    assert (columns[one], columns[other]) == ("?", "?")


@pytest.mark.parametrize("named", ["Spring 2024", "Frühjahr 2024", "2024/25", "Autumn 24", "Herbst 2024"])
def test_a_season_in_words_under_a_heading_that_nobody_knows_is_the_season(
    tmp_path: Path, named: str
) -> None:
    rows = f"A,{named},100,90,80\nA,Spring 2026,100,90,80\n"
    season = as_drafted(tmp_path, "Mob,Run,Joined,Marked,Weaned\n" + rows)
    assert set(season.mobs["season"]) == {named, "Spring 2026"}


def test_a_mob_that_stands_twice_is_said_and_stands_in_the_balance(tmp_path: Path) -> None:
    season = read_season(
        put(tmp_path, "season,species,mob,joined,marked\n2025,sheep,A,100,90\n2025,sheep,A,100,90\n")
    )
    assert (len(season.mobs), season.balances[0].set_aside) == (1, 1)
    assert any("twice with the same counts" in text for text in season.outcome_remarks)
    unknown = read_season(put(tmp_path, "species,mob,joined,marked\nsheep,A,100,90\nsheep,A,100,95\n"))
    assert unknown.balances[0].set_aside == 1
    assert any("the season is not recorded" in text for text in unknown.outcome_remarks)


def test_a_year_written_once_above_its_mobs_holds_for_them_and_is_asked(tmp_path: Path) -> None:
    rows = "A,2024,100,90\nB,,80,70\nA,2025,101,91\nB,,81,71\n"
    season = read_season(put(tmp_path, "mob,season,joined,marked\n" + rows))
    assert season.mobs.groupby("season")["marked"].sum().to_dict() == {"2024": 160, "2025": 162}
    assert (season.problems["ended"] == "asked").any()


def test_sheets_that_are_each_named_by_a_year_are_seasons(tmp_path: Path) -> None:
    path = tmp_path / "mobs.xlsx"
    openpyxl = pytest.importorskip("xlsxwriter")
    book = openpyxl.Workbook(str(path))
    for year, marked in (("Marking 2024", 90), ("2025", 91)):
        sheet = book.add_worksheet(year)
        for at, row in enumerate([("Mob", "Joined", "Marked"), ("A", 100, marked), ("B", 80, marked)]):
            sheet.write_row(at, 0, row)
    book.close()
    season = read_season(path)
    assert season.mobs.groupby("season")["marked"].sum().to_dict() == {"2024": 180, "2025": 182}
    assert sum("year in the sheet's name" in text for text in season.problems["problem"]) == 2


def test_the_columns_of_the_readme_are_a_mob_without_a_map(tmp_path: Path) -> None:
    rows = "2025,sheep,A,0,0,0\n2025,sheep,B,120,5,100\n"
    season = read_season(put(tmp_path, "season,species,mob,born,born_dead,marked\n" + rows))
    assert season.mobs["born"].tolist() == [0, 120]
    deaths = read_season(put(tmp_path, "season,species,mob,joined,dams_died\n2025,sheep,A,100,3\n"))
    assert deaths.mobs["dams_died"].tolist() == [3]


def test_percentages_alone_are_refused_as_such(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="percentages cannot be read as counts"):
        read_season(put(tmp_path, "Name,Scanning %,Marking %,Weaning %\nA,145,118,115\n"))


@pytest.mark.parametrize("cell", ['"1,250"', "1.250"])
def test_a_sign_in_a_count_of_animals_is_one_of_thousands_and_is_told(tmp_path: Path, cell: str) -> None:
    season = read_season(put(tmp_path, f"season,mob,joined,marked\n2025,A,{cell},900\n2025,B,840,700\n"))
    assert season.mobs["joined"].tolist() == [1250, 840]
    assert any("one of thousands" in text for text in season.problems["problem"])


@pytest.mark.parametrize("as_percent", ["{} %", "% {}", "{} pct", "{} Prozent"])
def test_percentages_are_no_counts_and_are_never_read_as_such(tmp_path: Path, as_percent: str) -> None:
    """Of 200 ewes 118 in 100 marked are 236 lambs, not 118: neither draft nor reader takes one for the other."""
    book, own_map = tmp_path / "mobs.csv", tmp_path / "map.toml"
    marking, weaning = (as_percent.format(word) for word in ("Marking", "Weaning"))
    rows = "A,2025,200,118,115\nB,2025,250,120,117\n"
    book.write_text(f"Mob,Season,Ewes joined,{marking},{weaning}\n{rows}", encoding="utf-8")
    text = draft_map(book)
    assert f'"{marking}" = "marked"' not in text
    own_map.write_text(text, encoding="utf-8")
    with pytest.raises(CannotRead):
        read_season(book, map=own_map)
    own_map.write_text(
        f'[mobs.columns]\n"Ewes joined" = "joined"\n"{marking}" = "marked"\n"{weaning}" = ""\n'
        '[mobs.fixed]\n"species" = "sheep"\n',
        encoding="utf-8",
    )
    with pytest.raises(CannotRead, match="is a percentage, and percentages cannot be read as counts"):
        read_season(book, map=own_map)
