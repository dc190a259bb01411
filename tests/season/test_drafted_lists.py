"""Lists that a draft must not take for births: blood samples, treatments; and ages that are no ages at death."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from neonatal_stats import read_season
from neonatal_stats.chapters import treatments
from neonatal_stats.season.map.draft_map import draft_map

BLOOD_ROWS = "F1;2;5.4;turbid\nF2;3;4.9;clear\nF3;5;6.3;turbid\nF4;1;5.0;clear\nF5;4;5.9;turbid\n"
TREATED = (
    "14/04/2026;06:10;0301;oxytetracycline;1 ml;JT\n"
    "14/04/2026;19:30;0305;navel dipped;;RW\n"
    "15/04/2026;07:45;0301;glucose;20 ml;JT\n"
)


@pytest.mark.parametrize(
    "heading", ["Calf;Age (days);STP g/dl;ZST", "Animal;Age d;Total protein;Result", "Tag;Age;IgG;Class"]
)
def test_a_blood_value_without_an_outcome_is_a_sample_and_no_age_of_the_living_a_death(
    tmp_path: Path, heading: str
) -> None:
    path = tmp_path / "bloods.csv"
    path.write_text(f"{heading}\n{BLOOD_ROWS}", encoding="utf-8")
    text = draft_map(path)
    assert set(tomllib.loads(text)) == {"samples"}
    assert "age_at_death" not in text
    assert "age_at_sampling_d" in text


@pytest.mark.parametrize(
    ("rows", "meant"),
    [
        ("A;1;died;2\nB;2;alive;\nC;3;alive;\nD;4;died;5\nE;5;alive;\n", "age_at_death_d"),
        ("A;1;died;2\nB;2;alive;12\nC;3;alive;30\nD;4;died;5\nE;5;alive;9\n", "?"),
        ("A;1;alive;20\nB;2;alive;\nC;3;alive;\nD;4;died;5\nE;5;alive;\n", "?"),
    ],
    ids=["aged are the dead", "all are aged", "one of the living is aged"],
)
def test_an_age_is_one_at_death_only_where_every_aged_one_died(tmp_path: Path, rows: str, meant: str) -> None:
    path = tmp_path / "calves.csv"
    path.write_text(f"Cow;Calf tag;What happened;Age (days)\n{rows}", encoding="utf-8")
    assert tomllib.loads(draft_map(path))["births"]["columns"]["Age (days)"] == meant


@pytest.mark.parametrize(
    "heading",
    [
        "Date;Time;Lamb tag;Treatment;Dose;By",
        "Date;Time;Kid;Medicine given;Amount;Who",
        "Datum;Uhrzeit;Lamm;Behandlung;Menge;durch",
    ],
)
def test_a_list_of_treatments_is_one_and_its_clock_is_no_time_of_death(tmp_path: Path, heading: str) -> None:
    path = tmp_path / "medicine.csv"
    path.write_text(f"{heading}\n{TREATED}", encoding="utf-8")
    drafted_map = tomllib.loads(draft_map(path))
    assert set(drafted_map) == {"treatments"}
    columns = drafted_map["treatments"]["columns"]
    assert columns[heading.partition(";")[0]] == "given_at"
    assert "died_at" not in columns.values()


@pytest.mark.parametrize("heading", ["Todeszeitpunkt", "Time of death"])
@pytest.mark.parametrize(
    ("cells", "meant"),
    [
        (("vor der Geburt", "während der Geburt", "nach der Geburt"), "?"),
        (("before", "during", "after birth"), "?"),
        (("02.04.2026 06:00", "03.04.2026 21:30", "unknown"), "died_at"),
    ],
)
def test_words_under_a_time_of_death_of_a_carcass_are_asked_about(
    tmp_path: Path, heading: str, cells: tuple[str, ...], meant: str
) -> None:
    path = tmp_path / "carcasses.csv"
    rows = "".join(f"K{n};0{n}.04.2026;{cell};yes;infection\n" for n, cell in enumerate(cells, start=4))
    path.write_text(f"Carcass;Examined on;{heading};Lungs;Diagnosis\n{rows}", encoding="utf-8")
    assert tomllib.loads(draft_map(path))["examinations"]["columns"][heading] == meant


HOURS = [
    "Age (h)",
    "Age (hours)",
    "Age hrs",
    "Alter (h)",
    "Alter in Stunden",
    "Leeftijd (uur)",
    "Âge (heures)",
]


@pytest.mark.parametrize("heading", HOURS)
def test_an_age_in_hours_is_one_in_hours(tmp_path: Path, heading: str) -> None:
    path = tmp_path / "bloods.csv"
    path.write_text(f"Calf;{heading};STP g/dl\nA;10;5.5\nB;25;5.1\nC;160;6.0\n", encoding="utf-8")
    (tmp_path / "map.toml").write_text(draft_map(path), encoding="utf-8")
    assert tomllib.loads(draft_map(path))["samples"]["columns"][heading] == "age_at_sampling_h"
    assert list(read_season(path, map=tmp_path / "map.toml").samples["age_h"]) == [10, 25, 160]


@pytest.mark.parametrize("heading", ["Age", "Alter", "Leeftijd"])
def test_a_bare_age_at_sampling_is_asked(tmp_path: Path, heading: str) -> None:
    path = tmp_path / "bloods.csv"
    path.write_text(f"Calf;{heading};STP g/dl\nA;1;5.5\nB;2;5.1\nC;6;6.0\n", encoding="utf-8")
    assert tomllib.loads(draft_map(path))["samples"]["columns"][heading] == "?"


def test_rows_that_differ_in_an_unread_column_are_no_doubles(tmp_path: Path) -> None:
    path = tmp_path / "lab.csv"
    rows = "D1;sheep;A;Toxoplasma\nD1;sheep;B;Toxoplasma\nD2;sheep;A;Listeria\nD2;sheep;A;Listeria\n"
    path.write_text(f"dam_id;species;Conceptus;agent\n{rows}", encoding="utf-8")
    season = read_season(path)
    assert len(season.examinations) == 3
    assert next(b for b in season.balances if b.table == "examinations").set_aside == 1


MEDICINES = (
    "Date,Animal ID,Medicine,Dose (ml)\n2026-03-01,Ewe 0,Glucose 20%,2\n2026-03-01,L1,Pen-strep,1\n"
    "2026-03-02,Pen 3 all,Iodine,1\n"
)


def test_products_are_asked_which_treatment_they_are_and_what_is_no_newborn_is_said(tmp_path: Path) -> None:
    path, drafted = tmp_path / "medicines.csv", tmp_path / "map.toml"
    path.write_text(MEDICINES, encoding="utf-8")
    assert tomllib.loads(draft_map(path))["treatments"]["words"]["product"] == {
        "glucose 20%": "?",
        "pen-strep": "?",
    }
    drafted.write_text(
        '[treatments.columns]\n"Animal ID" = "newborn_id"\nDate = "given_at"\n', encoding="utf-8"
    )
    season = read_season(path, map=drafted)
    assert list(season.treatments["treatment"].dropna()) == ["navel care"]
    assert list(season.treatments["newborn_id"].dropna()) == ["L1"]
    said = " ".join(season.outcome_remarks)
    assert "which treatment this product is" in said
    assert "no single newborn" in said
    words = '[treatments.words.product]\n"Glucose 20%" = "energy"\n"Pen-strep" = ""\n'
    drafted.write_text(drafted.read_text(encoding="utf-8") + words, encoding="utf-8")
    answered = read_season(path, map=drafted)
    assert sorted(answered.treatments["treatment"].dropna()) == ["energy", "navel care"]
    assert "which treatment this product is" not in " ".join(answered.outcome_remarks)


def test_a_list_of_which_no_word_says_a_treatment_says_that_nothing_can_be_counted(tmp_path: Path) -> None:
    path = tmp_path / "medicines.csv"
    path.write_text("given_at,newborn_id,product\n2026-03-01,L1,Pen-strep\n", encoding="utf-8")
    told = treatments.sentences(treatments.answer(read_season(path)))[0].text
    assert told.startswith("Rows of treatments read: 1. None says which treatment it was")


@pytest.mark.parametrize("opened", ["Necropsy date", "Post-mortem date", "Sektion am"])
def test_a_list_of_necropsies_is_no_book_of_births_and_an_answer_in_the_map_is_heard(
    tmp_path: Path, opened: str
) -> None:
    path, drafted = tmp_path / "calves.csv", tmp_path / "map.toml"
    rows = "N0,2026-03-19,during birth,dystocia,0\nN1,2026-03-20,after birth,infection,2\nN2,2026-03-20,,infection,\n"
    path.write_text(f"Calf ID,{opened},Time of death,Cause of death,Age at death\n{rows}", encoding="utf-8")
    text = draft_map(path)
    assert set(tomllib.loads(text)) == {"examinations"}
    drafted.write_text(text.replace('"Time of death" = "?"', '"Time of death" = ""'), encoding="utf-8")
    season = read_season(path, map=drafted)
    assert (len(season.examinations), len(season.births)) == (3, 0)


def test_identities_and_dates_of_a_laboratory_list_are_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "lab.csv"
    rows = "".join(
        f"SUB{n // 2},{200 + n // 2},2026-02-{n + 1:02d},{'AB'[n % 2]},pending\n" for n in range(8)
    )
    path.write_text(f"Batch ref,Ewe no.,Date received,Conceptus,Lab result\n{rows}", encoding="utf-8")
    columns = tomllib.loads(draft_map(path))["examinations"]["columns"]
    assert (columns["Date received"], columns["Conceptus"]) == ("?", "?")


@pytest.mark.parametrize(
    ("heading", "meant"), [("Feet walked on", "walked"), ("Lungs on opening", "breathed")]
)
def test_a_heading_with_a_word_more_than_a_known_one_is_asked(
    tmp_path: Path, heading: str, meant: str
) -> None:
    path = tmp_path / "bodies.csv"
    path.write_text(
        f"Carcass,Date examined,{heading},Diagnosis\nK1,2026-04-01,Y,infection\nK2,2026-04-02,N,accident\n",
        encoding="utf-8",
    )
    text = draft_map(path)
    assert tomllib.loads(text)["examinations"]["columns"][heading] in ("?", meant)
    assert meant in text


def test_a_treatment_before_the_birth_is_asked_about(tmp_path: Path) -> None:
    births = "season,species,newborn_id,dam_id,born_at,died\n"
    births += "2026,sheep,A,D,2026-03-10,no\n2026,sheep,B,D,2026-03-10,no\n"
    (tmp_path / "births.csv").write_text(births, encoding="utf-8")
    rows = "A,2026-03-01,tubed\nB,2026-03-10,tubed\n"
    (tmp_path / "treatments.csv").write_text(f"newborn_id,given_at,treatment\n{rows}", encoding="utf-8")
    problems = read_season(tmp_path).problems
    early = problems[problems["problem"].str.contains("before the day of its birth")]
    assert early["row"].tolist() == [2]
    assert set(early["ended"]) == {"asked"}


def test_kinds_of_dams_are_no_identities_of_dams(tmp_path: Path) -> None:
    path = tmp_path / "bloods.csv"
    rows = "".join(f"C{n},2026-03-{n + 1:02d},7.3,{('1st calver', 'cow', '2nd')[n % 3]}\n" for n in range(20))
    path.write_text(f"Calf ID,Sample date,Serum Brix,Dam\n{rows}", encoding="utf-8")
    assert tomllib.loads(draft_map(path))["samples"]["columns"]["Dam"] == "?"


def test_a_product_beside_written_treatments_is_taken_from_its_other_rows_or_counted_as_not_said(
    tmp_path: Path,
) -> None:
    path = tmp_path / "treatments.csv"
    rows = "1,2026-04-13,energy,Glucose\n2,2026-04-13,,Wonderfix\n3,2026-04-14,antibiotic,Biostop\n"
    path.write_text(
        f"newborn_id,given_at,treatment,product\n{rows}4,2026-04-15,,Biostop\n5,2026-04-15,,\n",
        encoding="utf-8",
    )
    season = read_season(path)
    told = season.treatments.set_index("newborn_id")["treatment"]
    assert told[told.notna()].to_dict() == {"1": "energy", "3": "antibiotic", "4": "antibiotic"}
    assert season.problems[["row", "value", "ended"]].values.tolist() == [
        [3, "Wonderfix", "noted"],
        [5, "Biostop", "noted"],
    ]
    given = treatments.answer(season).given.set_index("treatment")["rows"]
    assert given.to_dict() == {"antibiotic": 2, "energy": 1, "treatment not said": 2}
    assert "treatment not said, times: 2" in treatments.sentences(treatments.answer(season))[0].text
