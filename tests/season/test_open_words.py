"""Words and headings that a map leaves open: what decides nothing counts as not recorded and is asked about."""

from __future__ import annotations

from pathlib import Path

import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.records_map import read_map, stops
from tests.season.books import book, read, said


def test_an_open_word_of_a_sex_is_not_recorded_and_asked_about() -> None:
    season = read(book("sex,died", ["q,no", "f,no", "q,yes", "m,no"]), '[births.words.sex]\n"q" = "?"\n')
    assert season.births["sex"].astype(str).tolist()[1::2] == ["female", "male"]
    assert len(season.births) == 4
    assert set(said(season, "asked")) == {"the map leaves this word open, and it counts as not recorded"}
    assert not said(season, "set to missing")
    assert not season.all_well


@pytest.mark.parametrize(
    "text",
    ['[words.died]\n"zonk" = "?"\n', '[words.litter_size]\n"heap" = "?"\n', '[columns]\n"Ewe no" = "?"\n',
     '[births.columns]\n"Date" = "?"\n', '[births.columns]\n"Alive at 28 days" = "?"\n',
     '[units]\nbirth_weight_kg = "?"\n',
     '[births.columns]\n"Lamb {n}" = "?"\n', '[births.columns]\n"Lambs lost" = "?"\n'],
)  # fmt: skip
def test_what_decides_stays_a_reason_to_stop(tmp_path: Path, text: str) -> None:
    path = tmp_path / "map.toml"
    path.write_text(text)
    with pytest.raises(CannotRead, match="is still open"):
        read_map(path)


def test_an_open_heading_of_no_consequence_is_left_out_and_asked_about() -> None:
    season = read(book("Warming,died", ["a,no", "b,no", "a,yes"]), '[births.columns]\n"Warming" = "?"\n')
    assert len(season.births) == 3
    assert "no column of births is called so; the review leaves it out" in said(season, "asked")


def test_stops_says_which_places_must_be_filled_in() -> None:
    assert [stops(*place) for place in (("births.words.sex", "q"), ("births.words.died", "q"), ("dates", "year"))] == [
        False, True, True,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("cells", "heading", "sexes"),
    [
        ("E R E R", "Sex", "female male female male"),
        ("B H H B", "Sex (B/H)", "male female female male"),
        ("H M H M", "Sex", "female male female male"),
        ("m w w m", "m/w", "male female female male"),
        ("T G T G", "T/G", "male female male female"),
        ("bull heifer bull heifer", "Bull/Heifer", "male female male female"),
        ("Hfr Str Hfr bull", "Sex", "female castrated_male female male"),
        ("E R W E", "Sex", "female male castrated_male female"),
    ],
)
def test_letters_of_the_sexes_are_read_by_their_company(
    tmp_path: Path, cells: str, heading: str, sexes: str
) -> None:
    path = tmp_path / "young.csv"
    path.write_text(book(f"{heading},died", [f"{cell},no" for cell in cells.split()]))
    draft = drafted([path]).text
    assert '= "?"' not in draft
    births = read(path.read_text(), draft).births
    assert births["sex"].astype(str).tolist() == [sex.replace("_", " ") for sex in sexes.split()]


def test_one_letter_alone_stays_open(tmp_path: Path) -> None:
    path = tmp_path / "young.csv"
    path.write_text(book("sex,died", ["H,no", "H,no", "H,yes"]))
    assert '"h" = "?"' in drafted([path]).text


def test_a_clock_for_all_beside_the_day_of_birth_is_the_time_of_birth(tmp_path: Path) -> None:
    path = tmp_path / "young.csv"
    rows = [f"{n},E{n},0{n + 1}/05/2026,0{n}:30,{'dead' if n == 2 else 'alive'}" for n in range(1, 9)]
    path.write_text("\n".join(["Lamb,Ewe,D.O.B.,Time,Fate", "9,E9,20/05/2026,11:15,alive", *rows]) + "\n")
    draft = drafted([path]).text
    assert '"Time" = "born_at"' in draft
    assert '= "?"' not in draft
    assert read(path.read_text(), draft).births["born_at"].dt.hour.tolist() == [1, 2, 3, 4, 5, 6, 7, 8, 11]


def test_a_clock_that_stands_for_the_dead_alone_is_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "young.csv"
    rows = [
        f"{n},E{n},0{n + 1}/05/2026,{'04:30' if n == 2 else ''},{'dead' if n == 2 else 'alive'}"
        for n in range(1, 9)
    ]
    path.write_text("\n".join(["Lamb,Ewe,Born,Time,Fate", *rows]) + "\n")
    assert '"Time" = "born_at"' not in drafted([path]).text


@pytest.mark.parametrize(
    ("cell", "cause"),
    [
        ("E. coli enteritis", "infection"),
        ("starvation / hypothermia", "starvation-mismothering-exposure"),
        ("trauma - laid on", "accident"),
        ("no diagnosis", "unknown"),
        ("no milk", "starvation-mismothering-exposure"),
        ("stepped on", "accident"),
    ],
)
def test_causes_as_they_are_written_up(cell: str, cause: str) -> None:
    season = read(book("died,cause", [f"yes,{cell}", "no,", "no,"]))
    assert season.births["cause"].astype(str).tolist()[0] == cause


def test_parts_that_name_two_causes_are_no_cause() -> None:
    season = read(book("died,cause", ["yes,fox / pneumonia", "no,", "no,"]))
    assert said(season, "set to missing") == ["this is no word for cause"]


def test_a_rank_that_littermates_share_is_the_size_of_the_litter(tmp_path: Path) -> None:
    path = tmp_path / "drop.csv"
    rows = ["1,E1,2026-05-01,2,alive", "2,E1,2026-05-01,2,alive", "3,E2,2026-05-02,1,dead", "4,E3,2026-05-03,2,alive",
            "5,E3,2026-05-03,2,alive"]  # fmt: skip
    path.write_text("\n".join(["Lamb,Ewe,Drop date,Birth rank,Fate", *rows]) + "\n")
    assert '"Birth rank" = "litter_size"' in drafted([path]).text


def test_notes_of_a_column_are_told_once() -> None:
    cells = [f"no,{pounds} lb {ounces} oz" for pounds, ounces in ((7, 4), (8, 2), (6, 9), (7, 12))]
    notes = {line for line in said(read(book("died,birth_weight_kg", cells)), "noted") if "units" in line}
    assert len(notes) == 1
    assert next(iter(notes)).startswith('read by the units in the cells, such as "7 lb 4 oz" = 3.28')


def test_a_remark_that_says_born_dead_is_told_of() -> None:
    season = read(book("alive_now,remarks", ["no,born dead", "yes,", "yes,"]))
    assert "a remark says that it was born dead; it is counted as lost, and not among the born dead" in said(
        season
    )


def test_an_open_heading_over_deaths_stops(tmp_path: Path) -> None:
    text = book("born_alive,Abgangsgrund", ["yes,verkauft", "yes,verendet", "yes,verkauft", "no,"])
    with pytest.raises(
        CannotRead, match=r"still open in the map, and cells under it speak of a death \(rows: 1"
    ):
        read(text, '[births.columns]\n"Abgangsgrund" = "?"\n')


def test_a_heading_that_lists_the_words_of_its_cells_is_their_column(tmp_path: Path) -> None:
    path = tmp_path / "feeds.csv"
    rows = ["C1,2026-03-01 08:00,2,own dam", "C2,2026-03-02 09:00,3,powder", "C3,2026-03-03 09:00,3,frozen"]
    path.write_text("\n".join(["Calf,Time fed,Amount (l),Own dam / powder / frozen", *rows]) + "\n")
    assert '"Own dam / powder / frozen" = "source"' in drafted([path]).text


def test_the_unit_of_numbered_headings_is_drafted(tmp_path: Path) -> None:
    path = tmp_path / "kids.csv"
    rows = [f"D{n},0{n}/05/2026,6.6,alive,7.{n},alive" for n in range(1, 8)]
    heads = "Doe,Kidding date,Kid 1 weight (lbs),Kid 1 status,Kid 2 weight (lbs),Kid 2 status"
    path.write_text("\n".join([heads, *rows, "D8,20/05/2026,5.5,dead,6.1,alive"]) + "\n")
    draft = drafted([path]).text
    assert '"Kid {n} weight (lbs)" = "birth_weight_kg"' in draft
    births = read(path.read_text(), draft).births
    assert births["birth_weight_kg"].max() < 4
