"""Counts by the mob, read from a farm's own sheet: count for count, and nothing that cannot be is believed."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.following.mobs import foetuses
from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.tidy import write_tidy

COUNTS = [
    "joined",
    "scanned_dry",
    "scanned_single",
    "scanned_twin",
    "scanned_triplet",
    "born",
    "marked",
    "weaned",
]
COUNTS += ["dams_died"]
HEADINGS = "season,mob," + ",".join(COUNTS)
TALLY = {
    ("2024", "Black Crag"): [310, 22, 188, 98, 2, 370, 338, 331, 9],
    ("2024", "Long Moss"): [255, 14, 151, 87, 3, 320, 281, 279, 6],
    ("2025", "Black Crag"): [301, 19, 180, 100, 2, 372, 330, 322, 8],
    ("2025", "Fell End"): [140, 6, 60, 72, 2, 205, 181, 180, 3],
    ("2025", "Long Moss"): [260, 17, 150, 92, 1, 330, 297, 291, 11],
}
ODD = {
    "en": "Yr;Heft / mob;No. of ewes to tup;Scanned Empty;Carrying single;Carrying twins;Carrying trips;No. lambs born;"
    "Lambs at tailing;Speaned lambs;Ewes lost in year",
    "en, another trade": "Year,Paddock,Ewes joined to rams,PD dry,PD single,PD twin,PD triplet,Total lambs dropped,"
    "Docking tally of lambs,Lambs weaned (head),Ewe mortality",
    "de": "Jahr;Herde / Koppel;Zum Bock gestellt;Ultraschall leer;Ultraschall mit Einling;Ultraschall mit Zwillingen;"
    "Ultraschall mit Drillingen;Geborene Lämmer;Beim Kupieren gezählt;Abgesetzte Lämmer;Verendete Mutterschafe",
}


def read(folder: Path, *rows: str, headings: str = HEADINGS, name: str = "mobs.csv") -> Season:
    path = folder / name
    path.write_text("\n".join([headings, *rows]) + "\n", encoding="utf-8")
    return read_season(path)


def one(folder: Path, row: str, headings: str = HEADINGS) -> pd.Series:
    return read(folder, row, headings=headings).mobs.iloc[0]


def problems(season: Season, ended: str) -> list[tuple[object, str]]:
    listed = season.problems[season.problems["ended"] == ended]
    return list(zip(listed["row"], map(str, listed["problem"]), strict=True))


@pytest.mark.parametrize("way", ODD)
def test_an_odd_sheet_is_read_row_by_row_with_the_drafted_map_alone(tmp_path: Path, way: str) -> None:
    sign = ";" if ";" in ODD[way] else ","
    rows = [sign.join([*keys, *map(str, counts)]) for keys, counts in TALLY.items()]
    path, own = tmp_path / "tally.csv", tmp_path / "map.toml"
    path.write_text("\n".join([ODD[way], *rows]), encoding="utf-8")
    draft = drafted(path)
    assert draft.open == ()
    own.write_text(draft.text, encoding="utf-8")
    season = read_season(path, map=own)
    assert {
        (row["season"], row["mob"]): [int(row[name]) for name in COUNTS]
        for row in season.mobs.to_dict("records")
    } == TALLY
    assert (season.seasons, season.species, season.births.empty) == (("2024", "2025"), "sheep", True)
    assert season.all_well


def test_words_of_several_stages_are_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "tally.csv"
    path.write_text(
        "Mob,Ewes joined,Twins,Lambs born or marked\nHill,100,40,120\nMoor,90,30,100\n", encoding="utf-8"
    )
    draft = drafted(path)
    assert [line.said for line in draft.open] == ["Lambs born or marked"]


@pytest.mark.parametrize(
    ("row", "cleared", "problem"),
    [
        (
            "2025,A,100,5,60,30,6,130,120,118,2",
            COUNTS[:5],
            "more dams were scanned than were put to the male",
        ),
        (
            "2025,A,100,5,60,30,5,130,131,118,2",
            ["born", "marked"],
            "more were counted at marking than were born",
        ),
        (
            "2025,A,100,5,60,30,5,130,120,118,101",
            ["joined", "dams_died"],
            "more dams died than were put to the male",
        ),
        ("2025,A,100,5,60,30,5,120,,121,1", ["born", "weaned"], "more were weaned than were born"),
    ],
)
def test_counts_that_cannot_be_are_believed_on_neither_side(
    tmp_path: Path, row: str, cleared: list[str], problem: str
) -> None:
    season = read(tmp_path, row)
    assert problems(season, "set to missing") == [(2, problem)]
    kept = season.mobs.iloc[0]
    assert [
        name for name in COUNTS if pd.isna(kept[name]) and row.split(",")[2 + COUNTS.index(name)]
    ] == cleared


@pytest.mark.parametrize(
    ("row", "asked"),
    [
        ("2025,A,100,5,60,30,5,136,120,118,2", "more were born than foetuses were scanned"),
        ("2025,A,100,5,60,30,5,,136,118,2", "more were counted at marking than foetuses were scanned"),
        ("2025,A,100,5,60,30,5,130,118,120,2", "more were weaned than were counted at marking"),
    ],
)
def test_what_a_scan_or_a_muster_misses_is_asked_and_used(tmp_path: Path, row: str, asked: str) -> None:
    season = read(tmp_path, row)
    assert problems(season, "asked") == [(2, asked)]
    kept = season.mobs.iloc[0]
    assert [f"{kept[name]:g}" if pd.notna(kept[name]) else "" for name in COUNTS] == row.split(",")[2:]


def test_a_blank_class_is_none_only_where_that_is_proven_or_usual(tmp_path: Path) -> None:
    headings = "season,mob,joined,scanned,scanned_dry,scanned_single,scanned_twin,scanned_triplet,marked"
    rows = ["2025,A,100,100,5,60,35,,120", "2025,B,100,100,5,60,30,5,120", "2025,C,100,95,5,60,30,,120"]
    season = read(tmp_path, *rows, headings=headings)
    assert season.mobs["scanned_triplet"].tolist() == [0, 5, 0]
    asked = problems(season, "asked")
    assert asked == []
    doubtful = read(tmp_path, rows[1], "2025,C,100,,5,60,30,,120", headings=headings)
    assert doubtful.mobs["scanned_triplet"].tolist() == [5, 0]
    assert problems(doubtful, "asked") == [(3, "the blank was taken as none, since the column writes no 0")]
    zeros = read(tmp_path, "2025,A,100,,5,60,30,0,120", "2025,C,100,,5,60,30,,120", headings=headings)
    assert zeros.mobs["scanned_triplet"].isna().tolist() == [False, True]


def test_a_class_that_no_row_has_is_unknown_but_for_triplets(tmp_path: Path) -> None:
    headings = "season,mob,joined,scanned,scanned_dry,scanned_twin,marked"
    season = read(tmp_path, "2025,A,100,,5,60,110", "2025,B,100,65,5,60,110", headings=headings)
    assert foetuses(season.mobs).isna().tolist() == [True, False]
    assert foetuses(season.mobs).iloc[1] == 120
    both = read(
        tmp_path,
        "2025,A,100,95,5,30,60,110",
        headings=headings.replace("scanned_twin", "scanned_single,scanned_twin"),
    )
    assert foetuses(both.mobs).tolist() == [150]


def test_totals_and_rows_without_a_count_are_no_mobs(tmp_path: Path) -> None:
    season = read(
        tmp_path,
        "2025,A,100,5,60,30,5,130,120,118,2",
        "2025,Total,100,5,60,30,5,130,120,118,2",
        "2025,B,,,,,,,,,",
    )
    assert season.mobs["mob"].tolist() == ["A"]
    assert [row for row, _ in problems(season, "no record")] == [3, 4]
    assert [balance.no_record for balance in season.balances] == [2]


def test_what_two_files_count_of_a_mob_stands_in_one_row(tmp_path: Path) -> None:
    scan, tally = tmp_path / "scan.csv", tmp_path / "tally.csv"
    scan.write_text(
        "season,mob,joined,scanned_dry,scanned_single,scanned_twin\n2025,A,100,5,60,35\n", encoding="utf-8"
    )
    tally.write_text("season,mob,marked,weaned\n2025,A,110,108\n2025,B,50,49\n", encoding="utf-8")
    season = read_season([scan, tally])
    assert season.mobs["mob"].tolist() == ["A", "B"]
    assert season.mobs.loc[0, ["joined", "scanned_twin", "marked"]].tolist() == [100, 35, 110]
    assert season.all_well
    tally.write_text("season,mob,marked,weaned\n2025,A,110,108\n2025,A,111,109\n", encoding="utf-8")
    other = read_season(tally)
    assert problems(other, "set aside") == [
        (3, "the mob stands in the records twice, with other counts; the first was kept")
    ]


def test_the_season_follows_from_the_dates_where_none_is_written(tmp_path: Path) -> None:
    headings = "mob,joined_on,joined,scanned_twin,marked"
    season = read(tmp_path, "A,2024-11-10,100,60,110", headings=headings)
    assert season.seasons == ("2025",)
    undated = read(tmp_path, "A,,100,60,110", headings=headings)
    assert undated.seasons == ("season not recorded",)
    assert problems(undated, "asked") == [
        (2, "no season and no date is written; the mob belongs to no season")
    ]
    cows = read(tmp_path, "A,2024-06-01,100,,90,cattle", headings=f"{headings},species")
    assert cows.seasons == ("2025",)


@pytest.mark.parametrize(
    "headings", ["lamb tag,mob,scanned,weaned,marked", "dam_id,mob,joined,scanned,marked"]
)
def test_a_sheet_that_names_single_animals_is_none_of_mobs(tmp_path: Path, headings: str) -> None:
    with pytest.raises(CannotRead):
        read(tmp_path, "E1,Hill,2,0,2", headings=headings)


def test_tidy_mobs_read_back_as_they_were(tmp_path: Path) -> None:
    rows = [",".join([*keys, *map(str, counts)]) for keys, counts in TALLY.items()]
    season = read(tmp_path, *rows)
    write_tidy(season, tmp_path / "tidy")
    again = read_season(tmp_path / "tidy")
    pd.testing.assert_frame_equal(again.mobs, season.mobs)


def test_frames_of_births_and_mobs_stand_in_one_season() -> None:
    births = pd.DataFrame(
        {"dam_id": ["E1", "E2"], "died": [False, True], "season": "2025", "species": "sheep"}
    )
    mobs = pd.DataFrame({"mob": ["A"], "season": ["2025"], "joined": [100], "marked": [120]})
    season = read_season({"births": births, "mobs": mobs})
    assert (len(season.births), season.mobs["marked"].tolist()) == (2, [120])
    assert season["2025"].mobs["mob"].tolist() == ["A"]


def test_where_no_column_names_the_mob_the_draft_asks_which_does(tmp_path: Path) -> None:
    path = tmp_path / "tally.csv"
    path.write_text("Where,Ewes joined,Twins,Marked\nHill,100,40,120\nMoor,90,30,100\n", encoding="utf-8")
    assert [(line.said, line.beside) for line in drafted(path).open] == [
        ("Where", "holds Hill, Moor; perhaps mob")
    ]


def test_what_was_counted_later_is_not_yet_known() -> None:
    births = pd.DataFrame({"dam_id": ["E1"], "born_at": ["2025-09-01"], "died": [False], "species": "sheep"})
    mobs = pd.DataFrame(
        {"mob": ["A"], "season": "2025", "joined": 100, "marked": 120, "marked_on": "2025-10-20"}
    )
    season = read_season({"births": births, "mobs": mobs})
    early, late = (season.known_by(pd.Timestamp(day)).mobs for day in ("2025-10-19", "2025-10-20"))
    assert pd.isna(early["marked"].iloc[0])
    assert early["joined"].tolist() == [100]
    assert late["marked"].tolist() == [120]
