"""Lists of samples, colostrum, carcasses, treatments, each with its own headings, read with the drafted map alone."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats import CannotRead, read_season
from neonatal_stats.chapters import READING_ORDER
from neonatal_stats.season.map.draft_map import draft_map
from neonatal_stats.season.model import Season
from neonatal_stats.season.tidy import write_tidy

BLOODS = """
Bleeding list of the practice;;;;;;
Calf tag;Lactation;DOB;Bled;STP g/l;ZST lab;Colostrum from
0012;1;01.03.2026;03.03.2026;62;pass;suckled
0013;2;01.03.2026;02.03.2026;48;fail;frozen
0014;3;02.03.2026 06:00;05.03.2026 18:00;55;;sachet
0015;1;03.03.2026;14.03.2026;51;borderline;suckled
0016;4;13.03.2026;14.03.2026;;pass;suckled
"""
CARCASSES = """
Tierkörper;Mutterschaf;Sektion am;Lunge;Mazeriert;Klauensohlen;Labmagen;Nierenfett;Diagnose;Vorbericht;Labor;Keim;Alter
K1;A7;02.04.2026;unbelüftet;ja;sauber;leer;reichlich;unbekannt;Totgeburt;positiv;Chlamydia abortus;0
K2;A8;03.04.2026;unbelüftet;nein;sauber;leer;reichlich;Schwergeburt;Totgeburt;nicht eingesandt;;0
K3;A9;05.04.2026;belüftet;nein;abgelaufen;leer;aufgebraucht;verhungert;Kälte;keine Proben;;2
K4;A9;14.04.2026;schwimmt;nein;abgelaufen;Milch;wenig;Durchfall;Durchfall;steht aus;;9
"""
MILKED = """
Cow no;Parity;Hours after calving;Refractometer;Kind of colostrum;Fed to
C1;1;1.5;21.5;own;0012
C2;3;9;17;own;
C3;2;3;24.5;frozen;0014
"""
GIVEN = """
Lamb;Ewe;Treated on;What was done;Temp before
K3;A9;2026-04-04 08:00;glucose;36.2
K3;A9;2026-04-04 08:30;heat box;
;A8;2026-02-20;booster;
"""


def read(folder: Path, name: str, text: str, settings: str = "") -> Season:
    """The season of one file, read with the map that is drafted from it and nothing changed in it."""
    file, drafted = folder / name, folder / "map.toml"
    file.write_text(text.strip() + "\n", encoding="utf-8")
    drafted.write_text(draft_map(file), encoding="utf-8")
    return read_season(file, map=drafted)


def told(column: pd.Series) -> list[object]:
    """What a column holds, a blank as None, whichever way pandas keeps it."""
    return column.astype(object).where(column.notna(), None).tolist()


@pytest.fixture(scope="module")
def bloods(tmp_path_factory: pytest.TempPathFactory) -> Season:
    return read(tmp_path_factory.mktemp("bloods"), "bloods.csv", BLOODS)


@pytest.fixture(scope="module")
def carcasses(tmp_path_factory: pytest.TempPathFactory) -> Season:
    return read(tmp_path_factory.mktemp("carcasses"), "zerlegt.csv", CARCASSES)


def test_a_sample_list_without_births_is_read_row_by_row(bloods: Season) -> None:
    rows = bloods.samples.set_index("newborn_id")
    assert bloods.births.empty
    assert bloods.alone == ("samples",)
    assert bloods.species == "cattle"
    assert bloods.seasons == ("2026",) == (bloods.under_review,)
    # g/l by its heading, kept as g/dl; a blank stays blank
    assert rows["total_protein_g_per_dl"].round(2).to_dict() == pytest.approx(
        {"0012": 6.2, "0013": 4.8, "0014": 5.5, "0015": 5.1, "0016": float("nan")}, nan_ok=True
    )
    assert told(rows["turbidity"]) == ["adequate", "failed", None, "partial", "adequate"]
    assert rows["source"].tolist() == ["dam", "stored", "powder", "dam", "dam"]
    assert rows["dam_parity"].tolist() == [1, 2, 3, 1, 4]


def test_ages_by_the_day_are_bounded_and_by_the_clock_exact(bloods: Season) -> None:
    rows = bloods.samples.set_index("newborn_id")
    # two days apart by the day: anything from 24 to 72 h; by the clock 84 h
    ends = rows[["age_low_h", "age_high_h"]].to_numpy().tolist()
    assert ends == [[24, 72], [0, 48], [84, 84], [240, 288], [0, 48]]
    assert rows["age_h"].notna().tolist() == [False, False, True, False, False]


def test_the_balance_and_the_lines_of_a_list_add_up(bloods: Season) -> None:
    (source,), (balance,) = bloods.sources, bloods.balances
    assert (source.table, source.lines, source.records, source.unaccounted) == ("samples", 7, 5, 0)
    assert (balance.table, balance.rows_read, balance.used) == ("samples", 5, 5)
    assert bloods.all_well


def test_a_german_list_of_carcasses_is_read_row_by_row(carcasses: Season) -> None:
    rows = carcasses.examinations.set_index("newborn_id")
    assert carcasses.species == "sheep"
    assert carcasses.alone == ("examinations",)
    assert rows["breathed"].tolist() == [False, False, True, True]
    assert rows["autolysed"].tolist() == [True, False, False, False]
    assert rows["walked"].tolist() == [False, False, True, True]
    assert rows["fed"].tolist() == [False, False, False, True]
    assert rows["fat_reserves"].tolist() == ["whole", "whole", "used up", "partly used"]
    assert rows["cause"].tolist() == [
        "unknown",
        "birth injury or difficult birth",
        "starvation-mismothering-exposure",
        "infection",
    ]
    assert rows["keeper_cause"].tolist()[:2] == ["stillbirth", "stillbirth"]
    assert rows["laboratory"].tolist() == ["agent found", "not sent", "not sent", "awaited"]
    assert told(rows["agent"]) == ["Chlamydia abortus", None, None, None]
    assert rows["age_low_h"].tolist() == [0, 0, 48, 216]


def test_a_colostrum_list_is_none_of_blood(tmp_path: Path) -> None:
    season = read(tmp_path, "tank.csv", MILKED)
    rows = season.colostrum.set_index("dam_id").loc[["C1", "C2", "C3"]]
    assert season.alone == ("colostrum",)
    assert season.species == "cattle"
    assert rows["brix_pct"].tolist() == [21.5, 17, 24.5]
    assert rows["milked_after_h"].tolist() == [1.5, 9, 3] == rows["age_h"].tolist()
    assert told(rows["newborn_id"]) == ["0012", None, "0014"]
    assert rows["newborn"].tolist()[1] == -1


def test_treatments_are_read_with_what_they_treat(tmp_path: Path) -> None:
    rows = read(tmp_path, "given.csv", GIVEN).treatments
    assert sorted(rows["treatment"]) == ["energy", "vaccine of the dam", "warmed"]
    assert rows.loc[rows["treatment"] == "energy", "rectal_temperature_c"].tolist() == [36.2]
    assert rows.loc[rows["treatment"] == "vaccine of the dam", "dam_id"].tolist() == ["A8"]


BIRTHS = """
newborn_id,dam_id,born_at,died,died_at,cause
1,A,2026-04-13 10:00,no,,
2,A,2026-04-13 10:20,yes,2026-04-14 10:20,starvation-mismothering-exposure
3,B,2026-04-14 06:00,no,,
,C,2026-04-15 06:00,yes,,stillbirth
5,D,2026-04-15 07:00,,,
"""
OPENED = """
newborn_id,dam_id,examined_at,breathed,cause
2,A,2026-04-15,yes,infection
3,B,2026-04-16,yes,infection
5,D,2026-04-16,yes,unknown
,C,2026-04-16,no,birth injury or difficult birth
99,Z,2026-04-17,yes,accident
"""


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Season:
    folder = tmp_path_factory.mktemp("opened")
    (folder / "births.csv").write_text(BIRTHS.strip() + "\n", encoding="utf-8")
    (folder / "examinations.csv").write_text(OPENED.strip() + "\n", encoding="utf-8")
    return read_season(folder)


def test_an_examined_carcass_is_a_death_whatever_the_births_say(opened: Season) -> None:
    died = opened.births.dropna(subset="newborn_id").set_index("newborn_id")["died"]
    assert died.to_dict() == {"1": False, "2": True, "3": True, "5": True}  # 3 said alive, 5 said nothing
    asked = opened.problems[(opened.problems["ended"] == "asked") & (opened.problems["table"] == "births")]
    assert asked[["file", "row"]].to_numpy().tolist() == [["births.csv", 4]]
    assert "its carcass was examined" in asked["problem"].iloc[0]
    assert not opened.all_well
    assert any("its carcass was examined" in said for said in opened.outcome_remarks)


def test_a_cause_of_the_examination_stands_where_the_births_give_none(opened: Season) -> None:
    rows = opened.births.dropna(subset="newborn_id").set_index("newborn_id")
    told = rows.loc[["2", "3", "5"], ["cause", "cause_basis"]].astype(object)
    # the keeper's word of 2 stays; 3 had none; the examination of 5 found none either
    assert told["cause"].tolist() == ["starvation-mismothering-exposure", "infection", "unknown"]
    assert told["cause_basis"].fillna("").tolist() == ["", "post-mortem", ""]
    noted = opened.problems[opened.problems["column"] == "cause"]
    assert noted[["file", "row", "ended"]].to_numpy().tolist() == [["births.csv", 4, "noted"]]


def test_an_examination_finds_its_newborn_or_its_dams_only_loss_and_is_never_dropped(opened: Season) -> None:
    rows, births = opened.examinations, opened.births
    by_newborn = births.set_index("newborn")
    named = rows[rows["newborn"] >= 0]
    assert by_newborn.loc[named["newborn"], "dam_id"].tolist() == named["dam_id"].tolist()
    assert rows.loc[rows["newborn"] < 0, "newborn_id"].tolist() == ["99"]
    said = opened.problems[opened.problems["table"] == "examinations"].set_index("row")["problem"]
    assert "the only one that its dam lost" in said[5]
    assert "no birth has this identity; the row is counted" in said[6]
    # the age at death of lamb 2 is that of its birth's row
    assert rows.loc[rows["newborn_id"] == "2", "age_h"].tolist() == [24]


def test_frames_by_table_are_read_as_files_are(opened: Season) -> None:
    from io import StringIO

    frames = {
        name: pd.read_csv(StringIO(text.strip()), dtype=str)
        for name, text in {"births": BIRTHS, "examinations": OPENED}.items()
    }
    season = read_season(frames)
    pd.testing.assert_frame_equal(season.examinations, opened.examinations)
    pd.testing.assert_frame_equal(season.births, opened.births)


def test_a_tidy_folder_reads_back_as_the_same_lists(
    opened: Season, carcasses: Season, tmp_path: Path
) -> None:
    for name, season in {"beside": opened, "alone": carcasses}.items():
        write_tidy(season, tmp_path / name)
        again = read_season(tmp_path / name)
        pd.testing.assert_frame_equal(again.examinations, season.examinations)


@pytest.mark.parametrize(
    ("text", "row", "column", "problem"),
    [
        ("newborn_id,sampled_at,brix_pct\n1,2026-03-02,24.5", 2, "brix_pct", "it reads like colostrum"),
        ("newborn_id,born_at,sampled_at,brix_pct\n1,2026-03-09,2026-03-02,8", 2, "sampled_at", "before the birth"),
        ("newborn_id,sampled_at,turbidity\n1,2026-03-02,murky", 2, "turbidity", "this is no word for turbidity"),
        ("newborn_id,sampled_at,brix_pct\n1,2026-03-02,8\n,,8.4", 3, "newborn_id", "it is no record"),
        ("newborn_id,examined_at,breathed,walked\n1,2026-03-02,no,yes", 2, "breathed", "never to have breathed"),
        ("newborn_id,examined_at,agent,laboratory\n1,2026-03-02,E. coli,not sent", 2, "laboratory", "an agent is"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_with_its_line(
    tmp_path: Path, text: str, row: int, column: str, problem: str
) -> None:
    (tmp_path / "list.csv").write_text(text + "\n", encoding="utf-8")
    problems = read_season(tmp_path / "list.csv").problems
    line = problems[(problems["row"] == row) & (problems["column"] == column)]
    assert line["file"].tolist() == ["list.csv"]
    assert problem in line["problem"].iloc[0]


def test_bare_numbers_in_the_other_unit_are_asked_about(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},2026-03-02,{50 + n}" for n in range(1, 9))
    (tmp_path / "list.csv").write_text(f"newborn_id,sampled_at,total protein\n{rows}\n", encoding="utf-8")
    with pytest.raises(CannotRead, match="seems to be in g/l and not in g/dl"):
        read_season(tmp_path / "list.csv")


def test_births_whose_headings_nobody_knows_do_not_become_a_review_of_samples(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("newborn_id,sampled_at,brix_pct\n1,2026-03-02,8\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("foo,bar\n1,2\n", encoding="utf-8")
    with pytest.raises(CannotRead, match=r"b\.csv: no births were recognised"):
        read_season(tmp_path)


def test_undated_rows_go_with_the_only_season_and_are_asked_about_where_there_are_two(tmp_path: Path) -> None:
    one = "newborn_id,sampled_at,brix_pct\n1,2026-03-02,8\n2,,8.3\n"
    (tmp_path / "list.csv").write_text(one, encoding="utf-8")
    assert read_season(tmp_path / "list.csv").samples["season"].tolist() == ["2026", "2026"]
    (tmp_path / "list.csv").write_text(one + "3,2024-03-02,8\n", encoding="utf-8")
    season = read_season(tmp_path / "list.csv")
    assert season.seasons == ("2024", "2026", "season not recorded")
    assert "no date tells the season" in season.problems["problem"].iloc[0]
    assert season["2024"].samples["newborn_id"].tolist() == ["3"]


def test_without_births_no_chapter_counts_losses() -> None:
    frame = pd.DataFrame(
        {"species": "cattle", "sampled_at": "2026-03-03 10:00", "igg_g_per_l": range(8, 32, 2)}
    )
    frame = frame.assign(newborn_id=[f"C{n}" for n in range(12)], born_on="2026-03-01")
    season = read_season({"samples": frame})
    assert repr(season.ask("losses")) == "- Not answered: there are no births to count losses among."
    for chapter in READING_ORDER:
        assert "nan" not in repr(season.ask(chapter))
