"""The sheet for the shed: what is printed is large enough to write in, and what is filled in reads back whole."""

from __future__ import annotations

import json
import re
import subprocess
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import openpyxl
import pandas as pd
import pytest

from neonatal_stats.report.blank_sheet import shed_page, write_sheet
from neonatal_stats.report.review import build
from neonatal_stats.report.shed_sheet import ELSEWHERE, sheet_of
from neonatal_stats.report.write import write_review
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.tidy import write_tidy
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import TABLES, column, column_of
from neonatal_stats.vocabulary.shed import FIELDS, SIGNS, SLIP_FIELDS, USUAL, shed_languages, shed_words
from neonatal_stats.vocabulary.terms import SPECIES
from tests.chapters.twelve import twelve
from tests.conftest import MADE_ON
from tests.report.browser import opened

NEWBORNS_A_SIDE, FIELD_MM = 24, 8.0
CODES_APART_MM, CAUSES_APART_MM, RULE_MM = 6.8, 5.0, 0.2
"""What the shed needs: common practice, a glove and a stump of pencil."""

Cells = dict[str, object]


def filled(path: Path, lines: list[Cells], slips: list[Cells], feeds: list[Cells] | None = None) -> Season:
    """A blank workbook with these lines and slips written under the headings that begin so, read back."""
    book = openpyxl.load_workbook(path)
    for sheet, rows in zip(book.worksheets, (lines, slips, feeds or []), strict=False):
        headings = {str(cell.value): cell.column for cell in sheet[1]}
        for number, row in enumerate(rows, start=2):
            for begun, cell in row.items():
                place = next(at for heading, at in headings.items() if heading.startswith(begun))
                sheet.cell(number, place, cell)
    book.save(path)
    return read_season(path)


@pytest.fixture
def sheep(tmp_path: Path) -> Path:
    write_sheet(tmp_path / "shed.xlsx", "sheep")
    return tmp_path / "shed.xlsx"


LINES: list[Cells] = [
    # twins, both lived
    {"dam": "E014", "born": "2026-04-03 05:40", "a: tag": "0012", "a: birth": "u", "a: sex": "F", "a: suck": "s",
     "a: fed": 25, "a: taken": "y", "a: became": "A", "b: tag": "0013", "b: birth": "e", "b: sex": "M",
     "b: suck": "w", "b: fed": "not by 07:40", "b: taken": "n", "b: became": "A"},
    # triplets: one lived, one died later, one born dead
    {"dam": "E022", "born": "2026-04-03 23:50", "a: tag": "0014", "a: became": "a", "b: tag": "0015",
     "b: became": "X", "c: birth": "h", "c: became": "D"},
    # a single whose outcome nobody rang, and a line with its dam alone
    {"dam": "E030", "born": "2026-04-04 08:00", "a: tag": "0016", "a: birth": "m", "a: sex": "F"},
    {"dam": "E031", "born": "2026-04-04 09:00"},
    # four: the fourth on the next line
    {"dam": "E040", "born": "2026-04-05 02:00", "a: became": "A", "b: became": "A", "c: became": "X"},
    {"dam": "E040", "born": "2026-04-05 02:00", "a: tag": "0020", "a: became": "A"},
]  # fmt: skip
SLIPS: list[Cells] = [
    {"dam": "E022", "which": "b", "found dead": "2026-04-05 06:00", "last seen": "2026-04-04 21:00", "cause": "H",
     "examined": "P", "where": "behind the trough"},
    {"dam": "E022", "which": "c", "cause": "B", "examined": "V"},
    {"dam": "E040", "age at death": "2 d", "cause": "I", "examined": "K"},
]  # fmt: skip


def by_dam(season: Season, dam: str) -> pd.DataFrame:
    return season.births[season.births["dam_id"] == dam].sort_values("newborn_id", na_position="last")


def test_a_filled_workbook_reads_back_whole(sheep: Path) -> None:
    feeds: list[Cells] = [
        {"newborn id": "0012", "fed at": "2026-04-03 06:05", "volume": 120, "source": "tubed from dam"}
    ]
    season = filled(sheep, LINES, SLIPS, feeds)
    twins, triplets, four = (by_dam(season, dam) for dam in ("E014", "E022", "E040"))
    assert twins["newborn_id"].tolist() == ["0012", "0013"]
    assert twins["delivery"].astype(str).tolist() == ["unassisted", "easy assist"]
    assert twins["sex"].astype(str).tolist() == ["female", "male"]
    assert twins["suck_reflex"].astype(str).tolist() == ["strong", "weak"]
    assert twins["mothered_up"].astype(str).tolist() == ["yes", "no"]
    assert (twins["fed_after_h"].iloc[0], twins["fed_not_by_h"].iloc[1]) == (25 / 60, 2.0)
    assert twins["died"].tolist() == [False, False]
    assert set(twins["species"]) == {"sheep"}
    assert season.feeds["volume_ml"].tolist() == [120.0]
    assert triplets["died"].tolist() == [False, True, True]
    assert triplets["born_alive"].tolist() == [True, True, False]
    assert triplets["cause"].astype(str).tolist()[1:] == [
        "starvation-mismothering-exposure",
        "birth injury or difficult birth",
    ]
    assert triplets["cause_basis"].astype(str).tolist()[1:] == ["post-mortem", "vet's opinion"]
    found = triplets.iloc[1]
    assert (found["found_dead_at"], found["last_alive_at"]) == (
        pd.Timestamp("2026-04-05 06:00"),
        pd.Timestamp("2026-04-04 21:00"),
    )
    assert found["remarks"] == "behind the trough"
    assert (len(four), int(four["died"].sum())) == (4, 1)
    lost = four[four["died"] == True].iloc[0]  # noqa: E712
    assert str(lost["cause"]) == "infection"
    assert season.unmatched_deaths == 0


def test_a_blank_outcome_stays_open_and_is_asked_about(sheep: Path) -> None:
    season = filled(sheep, LINES, SLIPS)
    assert sorted(season.open_births["dam_id"]) == ["E030", "E031"]
    assert set(season.open_births["outcome"]) == {"not written"}
    assert not set(season.births["dam_id"]) & {"E030", "E031"}


def test_where_only_deaths_were_rung_no_blank_becomes_a_life(sheep: Path) -> None:
    lines: list[Cells] = [{"dam": f"E{n}", "born": "2026-04-03 05:40", "a: sex": "F"} for n in range(1, 10)]
    lines[0]["a: became"], lines[1]["a: became"] = "X", "D"
    season = filled(sheep, lines, [])
    assert len(season.births) == 2
    assert season.births["died"].all()
    assert len(season.open_births) == 7


def test_every_line_stands_in_one_place(sheep: Path) -> None:
    season = filled(sheep, LINES, SLIPS)
    source = next(one for one in season.sources if one.sheet == "litters")
    parts = (
        source.records + source.blank + source.no_record + source.headings + source.titles + source.left_out
    )
    assert (source.lines, source.records) == (parts, len(LINES))
    balance = season.balances[0]
    assert balance.used + balance.used_with_missing + balance.set_aside == balance.rows_read == 11


@pytest.mark.parametrize(
    ("slip", "died", "open_", "nobody"),
    [
        ({"which": "a", "dam": "E1", "cause": "I"}, 1, 0, 0),
        ({"tag": "07", "cause": "I"}, 1, 0, 0),
        ({"dam": "E1", "tag": "07"}, 1, 0, 0),
        ({"dam": "E1"}, 1, 0, 0),
        ({"dam": "E1", "which": "b", "cause": "I"}, 1, 1, 0),
        ({"dam": "E9", "which": "a"}, 0, 1, 1),
        ({"tag": "99"}, 0, 1, 1),
        ({"dam": "E1", "which": "a", "tag": "99"}, 0, 1, 1),
    ],
)  # fmt: skip
def test_a_slip_finds_its_newborn_or_is_asked_about(
    sheep: Path, slip: Cells, died: int, open_: int, nobody: int
) -> None:
    """The line of E1 holds one newborn, 07, of which nothing was rung; E2's twins lived."""
    lines: list[Cells] = [
        {"dam": "E1", "born": "2026-04-03 05:40", "a: tag": "07"},
        {"dam": "E2", "born": "2026-04-03 06:40", "a: became": "A", "b: became": "A"},
    ]
    season = filled(sheep, lines, [slip])
    asked = season.problems[season.problems["problem"].str.contains("slips", regex=False)]
    assert int(season.births["died"].sum()) == died
    assert len(season.open_births) == open_
    assert season.unmatched_deaths == nobody
    further = slip.get("which") == "b"
    assert len(asked) == (nobody or int(further))


@pytest.mark.parametrize("slip", [{"found dead": "2026-04-05 06:00"}, {"cause": "I"}, {}])
def test_a_slip_against_a_life_is_neither_a_life_nor_a_death_until_it_is_settled(
    sheep: Path, slip: Cells
) -> None:
    lines: list[Cells] = [
        {"dam": "E1", "born": "2026-04-03 05:40", "a: became": "A"},
        {"dam": "E2", "born": "2026-04-03 06:40", "a: became": "A"},
    ]
    season = filled(sheep, lines, [{"dam": "E1", "which": "a"} | slip])
    assert season.births["dam_id"].tolist() == ["E2"]
    assert season.open_births["outcome"].tolist() == ["not readable"]


def test_two_slips_of_one_newborn_are_asked_about(sheep: Path) -> None:
    lines: list[Cells] = [{"dam": "E1", "born": "2026-04-03 05:40", "a: became": "X", "b: became": "A"}]
    season = filled(sheep, lines, [{"dam": "E1", "which": "a"}, {"dam": "E1", "which": "a", "cause": "I"}])
    assert (len(season.births), season.unmatched_deaths) == (2, 1)


def test_words_are_read_where_codes_were_asked_for(sheep: Path) -> None:
    lines: list[Cells] = [
        {"dam": "E1", "born": "2026-04-03 05:40", "a: birth": "caesarean", "a: suck": "weak", "a: became": "alive",
         "b: became": "dead", "b: suck": "purple"}
    ]  # fmt: skip
    season = filled(sheep, lines, [])
    assert season.births["died"].tolist() == [False, True]
    assert str(season.births["delivery"].iloc[0]) == "caesarean"
    assert "purple" in set(season.problems["value"].astype(str))


def test_a_german_sheet_reads_back_by_its_own_codes(tmp_path: Path) -> None:
    """In it S is a post-mortem, L a life, T born dead and s a weak suck."""
    write_sheet(tmp_path / "stall.xlsx", "goat", language="de")
    lines: list[Cells] = [
        {"Mutter": "Z1", "geboren": "2026-03-03 05:40", "a: Marke": "1", "a: Saugen": "s", "a: wurde": "L",
         "a: trank": "nicht bis 06:40", "b: wurde": "T", "c: wurde": "X", "c: Marke": "2"},
    ]  # fmt: skip
    slips: list[Cells] = [
        {"Mutter": "Z1", "welches": "c", "Ursache": "H", "untersucht": "S", "Alter": "30 h"}
    ]
    births = filled(tmp_path / "stall.xlsx", lines, slips).births.sort_values("newborn_id")
    assert births["died"].tolist() == [False, True, True]
    assert str(births["suck_reflex"].iloc[0]) == "weak"
    assert births["fed_not_by_h"].iloc[0] == 1.0
    assert births["born_alive"].tolist() == [True, True, False]
    assert str(births["cause_basis"].iloc[1]) == "post-mortem"
    assert births["age_h"].iloc[1] == 30
    assert set(births["species"]) == {"goat"}


STALL: dict[str, list[Cells]] = {
    "Würfe": [
        {"Mutter": "Z1", "geboren": "2026-03-03 05:40", "a: Marke": "0001", "a: wurde": "L", "b: Marke": "0002",
         "b: wurde": "X"},
        {"Mutter": "Z2", "geboren": "2026-03-03 08:00", "a: Marke": "0003", "a: wurde": "L"},
    ],
    "Zettel": [{"Mutter": "Z1", "welches": "b", "Ursache": "I", "untersucht": "S", "Alter": "30 h"}],
    "Tränken": [
        {"Marke": "0001", "getränkt: Tag": "2026-03-03 06:40", "Menge": 200, "Brix": 21.5, "getränkt von": "Stall 2",
         "Kolostrum von": "mit Sonde, von der Mutter"},
        {"Marke": "0003", "getränkt: Tag": "2026-03-03 09:00", "Kolostrum von": "Vorrat"},
    ],
    "Blutproben": [
        {"Marke": "0001", "Blut": "2026-03-04 12:00", "Brix": 8.9, "Trübungstest": "ausreichend"},
        {"Marke": "0003", "Blut": "2026-03-04 12:30", "Brix": 7.2, "Trübungstest": "Versagen"},
    ],
    "Wetter": [{"Wetter": "2026-03-03", "Temperatur": -2.5, "Wind": 4, "Regen": 0}],
}  # fmt: skip
BARN: dict[str, list[Cells]] = {
    "litters": [
        {"dam": "Z1", "born": "2026-03-03 05:40", "a: tag": "0001", "a: became": "A", "b: tag": "0002",
         "b: became": "X"},
        {"dam": "Z2", "born": "2026-03-03 08:00", "a: tag": "0003", "a: became": "A"},
    ],
    "slips": [{"dam": "Z1", "which": "b", "cause": "I", "examined": "P", "age": "30 h"}],
    "feeds": [
        {"newborn id": "0001", "fed at": "2026-03-03 06:40", "volume": 200, "source": "tubed from dam", "brix": 21.5,
         "person": "Stall 2"},
        {"newborn id": "0003", "fed at": "2026-03-03 09:00", "source": "stored"},
    ],
    "samples": [
        {"newborn id": "0001", "sampled at": "2026-03-04 12:00", "brix": 8.9, "turbidity": "adequate"},
        {"newborn id": "0003", "sampled at": "2026-03-04 12:30", "brix": 7.2, "turbidity": "failed"},
    ],
    "weather": [{"at": "2026-03-03", "temperature": -2.5, "wind": 4, "rain": 0}],
}  # fmt: skip


def written_in(path: Path, sheets: dict[str, list[Cells]]) -> Season:
    """A blank workbook with these rows under the headings that begin so, read back."""
    book = openpyxl.load_workbook(path)
    for name, rows in sheets.items():
        headings = {str(cell.value): cell.column for cell in book[name][1]}
        for number, row in enumerate(rows, start=2):
            for begun, cell in row.items():
                at = next(at for heading, at in headings.items() if heading.startswith(begun))
                book[name].cell(number, at, cell)
    book.save(path)
    return read_season(path)


def test_a_german_workbook_is_german_throughout_and_reads_back_as_an_english_one(tmp_path: Path) -> None:
    seasons = {}
    for language, sheets in (("en", BARN), ("de", STALL)):
        write_sheet(tmp_path / f"{language}.xlsx", "goat", language=language)
        seasons[language] = written_in(tmp_path / f"{language}.xlsx", sheets)
        assert drafted(tmp_path / f"{language}.xlsx").open == ()
    for table in ("births", "feeds", "samples", "weather"):
        pd.testing.assert_frame_equal(getattr(seasons["de"], table), getattr(seasons["en"], table))
    assert seasons["de"].feeds["source"].astype(str).tolist() == ["tubed from dam", "stored"]
    assert len(seasons["en"].problems) == len(seasons["de"].problems)
    for language, season in seasons.items():
        (tmp_path / language).mkdir()
        write_tidy(season, tmp_path / language)
    for name in ("births.csv", "feeds.csv", "samples.csv", "weather.csv"):
        assert (tmp_path / "de" / name).read_bytes() == (tmp_path / "en" / name).read_bytes()


def test_no_english_stands_in_a_german_workbook(tmp_path: Path) -> None:
    write_sheet(tmp_path / "stall.xlsx", "sheep", language="de")
    book = openpyxl.load_workbook(tmp_path / "stall.xlsx")
    assert book.sheetnames == ["Würfe", "Zettel", "Tränken", "Blutproben", "Wetter", "Anleitung"]
    told = [str(cell.value) for sheet in book for row in sheet.iter_rows() for cell in row if cell.value]
    told += [rule.formula1 or "" for sheet in book for rule in sheet.data_validations.dataValidation]
    english = re.compile(
        r"\b(newborn|dam|fed|volume|source|person|farm|sampled|litter|stored|powder|sheep|assist|at|failed|by|the)\b"
    )
    assert not [text for text in told if english.search(text)]


@pytest.mark.parametrize("language", shed_languages())
@pytest.mark.parametrize("table", SIGNS)
def test_what_stands_beside_the_litters_has_a_heading_and_a_word_for_all(language: str, table: str) -> None:
    own = shed_words(language)
    headings = [own.heading_beside(table, column) for column in TABLES[table]]
    assert len({heading.casefold() for heading in headings}) == len(headings)
    if own.beside:
        assert {column.name for column in TABLES[table]} == set(own.beside[table])
        for column in TABLES[table]:
            assert set(column.words) == set(own.words.get(column.name, {})), column.name


def test_calves_stand_one_a_line_and_a_twin_on_the_next(tmp_path: Path) -> None:
    write_sheet(tmp_path / "calves.xlsx", "cattle")
    lines: list[Cells] = [
        {"dam": "C1", "litter no.": 1, "born": "2026-02-01 03:00", "weight": 38.5, "became": "A"},
        {"dam": "C2", "litter no.": 3, "born": "2026-02-02 03:00", "weight": 33, "became": "A"},
        {"dam": "C2", "litter no.": 3, "born": "2026-02-02 03:00", "weight": 31, "became": "D"},
    ]
    slips: list[Cells] = [{"dam": "C2", "cause": "B"}]
    season = filled(tmp_path / "calves.xlsx", lines, slips)
    births = season.births.sort_values("birth_weight_kg")
    assert births["birth_weight_kg"].tolist() == [31, 33, 38.5]
    assert births["litter_size"].tolist() == [2, 2, 1]
    assert births["dam_parity"].tolist() == [3, 3, 1]
    assert births["cause"].astype(str).tolist()[0] == "birth injury or difficult birth"


def test_a_filled_sheet_needs_no_map_and_a_drafted_one_changes_nothing(sheep: Path, tmp_path: Path) -> None:
    season = filled(sheep, LINES, SLIPS)
    draft = drafted(sheep)
    assert draft.open == ()
    (tmp_path / "map.toml").write_text(draft.text, encoding="utf-8")
    mapped = read_season(sheep, map=tmp_path / "map.toml")
    pd.testing.assert_frame_equal(mapped.births, season.births)


def test_the_lines_saved_as_text_with_a_title_above_read_the_same(sheep: Path, tmp_path: Path) -> None:
    season = filled(sheep, LINES, [])
    rows = list(openpyxl.load_workbook(sheep)["litters"].iter_rows(values_only=True))[: len(LINES) + 1]
    text = "\n".join(";".join("" if cell is None else str(cell) for cell in row) for row in rows)
    (tmp_path / "lines.csv").write_text(f"Lambing 2026\n{text}\n", encoding="utf-8")
    births = read_season(tmp_path / "lines.csv").births
    pd.testing.assert_frame_equal(births, season.births)


def test_tidy_tables_of_a_filled_sheet_read_back_the_same(sheep: Path, tmp_path: Path) -> None:
    season = filled(sheep, LINES, SLIPS)
    (tmp_path / "tidy").mkdir()
    write_tidy(season, tmp_path / "tidy")
    again = read_season(tmp_path / "tidy" / "births.csv")
    columns = ["dam_id", "newborn_id", "died", "born_at", "cause", "suck_reflex", "age_h"]
    pd.testing.assert_frame_equal(again.births[columns], season.births[columns], check_dtype=False)


# what is on it


@pytest.mark.parametrize("species", terms.SPECIES)
def test_about_ten_fields_and_those_without_which_no_review_is(species: str) -> None:
    sheet = sheet_of(species)
    names = [field.name for field in sheet.fields]
    assert set(names) == set(USUAL[species])
    assert 9 <= len(names) <= 11
    assert {"dam_id", "born_at", "died"} <= set(names)


@pytest.mark.parametrize("language", shed_languages())
def test_codes_of_one_field_differ_and_mean_words_of_its_column(language: str) -> None:
    own = shed_words(language)
    for name, codes in own.codes.items():
        assert len({code.casefold() for code in codes}) == len(codes), name
        if name != "died":
            assert set(codes.values()) <= set(column("births", name).words), name
    assert set(own.codes["cause"].values()) == set(terms.CAUSES)
    assert {field.name for field in FIELDS} | set(SLIP_FIELDS) | {"litter", "not_by"} == set(own.headings)


@pytest.mark.parametrize("language", shed_languages())
def test_every_code_is_explained_on_the_page(tmp_path: Path, language: str) -> None:
    write_sheet(tmp_path / "shed.html", "sheep", language=language)
    page = (tmp_path / "shed.html").read_text(encoding="utf-8")
    lines, slips = page.split('<section class="slips">')
    ringed = set(re.findall(r"<i>(\w)</i>", lines))
    assert ringed
    assert ringed == set(re.findall(r"<b>(\w)</b> ", lines))
    assert (
        len(re.findall(r"<b>\w</b> \w", slips.split('<div class="slip">')[1])) == 14
    )  # ten causes, four bases
    assert f'<html lang="{language}">' in page


def test_the_page_stands_alone_and_says_the_cautions(tmp_path: Path) -> None:
    write_sheet(tmp_path / "shed.html", "goat")
    page = (tmp_path / "shed.html").read_text(encoding="utf-8")
    assert not re.search(r"(src|href)=|@import|url\(|<script", page)
    assert "no breath mouth to nose without a barrier" in page
    assert "One line a litter; a, b, c are its kids." in page


def test_a_german_page_is_german(tmp_path: Path) -> None:
    write_sheet(tmp_path / "stall.html", "sheep", language="de")
    page = (tmp_path / "stall.html").read_text(encoding="utf-8")
    for word in ("Mutter", "geboren: Tag, Zeit", "Eine Zeile je Wurf", "tot geboren", "Schwangere"):
        assert word in page
    assert not re.search(
        r"\b(dam|suck|became|blank|slip|newborn)\b", page.split("</style>")[1].replace('class="slip"', "")
    )


def test_fields_are_chosen_and_with_more_of_them_fewer_newborns_stand_side_by_side() -> None:
    few = sheet_of("sheep", fields=("sex", "mothered_up"))
    assert [field.name for field in few.fields] == ["dam_id", "born_at", "sex", "mothered_up", "died"]
    assert few.slots == 3
    assert sheet_of("sheep").slots == 3
    more = sheet_of("sheep", asked=("birth_weight_kg", "stood_after_min"))
    assert {"birth_weight_kg", "stood_after_min", "suck_reflex"} <= {field.name for field in more.fields}
    assert more.slots == 2


def test_what_a_review_asks_for_is_added_and_what_no_field_takes_is_said(tmp_path: Path) -> None:
    told = {
        "record_next": ["cause_basis", "born_at", "birth_weight_kg", "sampled_at", "died_at", "volume_ml"]
    }
    (tmp_path / "headline.json").write_text(json.dumps(told), encoding="utf-8")
    by_folder = write_sheet(tmp_path / "a.xlsx", "sheep", asked=tmp_path)
    assert "birth_weight_kg" in {field.name for field in by_folder.fields}
    assert by_folder.left_out == ("sampled_at",)
    assert (
        write_sheet(tmp_path / "b.xlsx", "sheep", asked=tmp_path / "headline.json").fields == by_folder.fields
    )


def test_where_all_that_is_asked_has_no_room_the_usual_gives_way_and_what_is_left_out_is_said() -> None:
    every = tuple(field.name for field in FIELDS if field.name != "mothered_up")
    sheet = sheet_of("sheep", asked=every)
    on_it = {field.name for field in sheet.fields}
    assert {"dam_id", "born_at", "died"} <= on_it
    assert "mothered_up" not in on_it
    assert set(sheet.left_out) == set(every) - on_it - {"newborn_id"}
    assert sheet.left_out


def review_of(species: str, folder: Path) -> Path:
    told = {"record_next": ["birth_weight_kg"], "species": species}
    (folder / "headline.json").write_text(json.dumps(told), encoding="utf-8")
    return folder


@pytest.mark.parametrize(("species", "slots"), [("cattle", 1), ("goat", 2), ("", 2)])
def test_the_sheet_is_of_the_species_of_the_review_that_asks(
    tmp_path: Path, species: str, slots: int
) -> None:
    """Without a species of its own (a review of several) it is the usual one."""
    sheet = write_sheet(tmp_path / "a.html", asked=review_of(species, tmp_path))
    assert (sheet.species, sheet.slots) == (species or "sheep", slots)


def test_a_sheet_for_another_species_than_the_review_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="one of cattle, and the sheet is to be for sheep"):
        write_sheet(tmp_path / "a.html", "sheep", asked=review_of("cattle", tmp_path))
    assert not (tmp_path / "a.html").exists()


def test_a_review_says_what_to_record_next_and_the_sheet_takes_it(tmp_path: Path) -> None:
    """Twelve newborns of which nothing but an outcome was written: weights and deliveries are asked for."""
    write_review(build(twelve(), made_on=MADE_ON, parts=("headline",)), tmp_path / "out", parts=("headline",))
    told = json.loads((tmp_path / "out" / "headline.json").read_text(encoding="utf-8"))
    schema = json.loads((resources.files("neonatal_stats.report") / "headline.schema.json").read_text())
    jsonschema.validate(told, schema)
    assert told["record_next"]
    sheet = write_sheet(tmp_path / "a.html", "sheep", asked=tmp_path / "out")
    on_it = {field.name for field in sheet.fields} | set(SLIP_FIELDS) | set(sheet.left_out)
    assert {name for name in told["record_next"] if name not in ELSEWHERE} <= on_it


@pytest.mark.parametrize("text", ["{", "[]", '{"season": "2026"}', None])
def test_a_review_that_does_not_say_is_refused(tmp_path: Path, text: str | None) -> None:
    if text is not None:
        (tmp_path / "headline.json").write_text(text, encoding="utf-8")
    with pytest.raises(CannotRead, match=r"headline\.json"):
        write_sheet(tmp_path / "a.xlsx", "sheep", asked=tmp_path)


@pytest.mark.parametrize(
    ("name", "given", "sentence"),
    [
        ("a.xlsx", {"species": "hen"},
         f'species "hen" is not known; write one of {", ".join(SPECIES)}.'),
        ("a.csv", {}, "a.csv: a sheet is written as .xlsx (a workbook) or .html (a page to print)."),
        ("a.xlsx", {"language": "xx"}, 'language "xx" has no sheet for the shed; write one of en, de.'),
        ("a.html", {"fields": ("colour",)}, '"colour" is no field of the sheet for the shed'),
        ("a.html", {"fields": tuple(field.name for field in FIELDS)}, "a line has 194 mm; choose fewer."),
    ],
)  # fmt: skip
def test_what_cannot_be_written_is_refused_in_one_sentence(
    tmp_path: Path, name: str, given: dict[str, Any], sentence: str
) -> None:
    with pytest.raises(CannotRead, match=re.escape(sentence)):
        write_sheet(tmp_path / name, **{"species": "goat"} | given)
    assert not list(tmp_path.iterdir())


# the workbook


@pytest.mark.parametrize("table", ["feeds", "samples", "weather"])
def test_the_other_sheets_hold_the_tidy_columns_in_their_order(sheep: Path, table: str) -> None:
    first = [cell.value for cell in openpyxl.load_workbook(sheep)[table][1]]
    assert [column_of(table, heading) for heading in first] == [each.name for each in TABLES[table]]


def test_the_dam_stays_in_sight_and_codes_are_offered(sheep: Path) -> None:
    litters = openpyxl.load_workbook(sheep)["litters"]
    assert litters.freeze_panes == "B2"
    lists = {
        str(litters[1][next(iter(rule.sqref.ranges)).min_col - 1].value): rule
        for rule in litters.data_validations.dataValidation
        if rule.type == "list"
    }
    suck = lists["b: suck (a w s)"]
    assert (suck.formula1, suck.errorStyle) == ('"a,w,s"', "warning")
    assert suck.prompt == "a absent; w weak; s strong"


def test_numbers_out_of_range_warn_and_are_not_refused(tmp_path: Path) -> None:
    write_sheet(tmp_path / "calves.xlsx", "cattle")
    rules = openpyxl.load_workbook(tmp_path / "calves.xlsx")["litters"].data_validations.dataValidation
    weight = next(rule for rule in rules if rule.promptTitle == "weight (kg)")
    assert weight.errorStyle == "warning"
    assert float(weight.formula1) < 35 < float(weight.formula2)


def test_two_blank_workbooks_have_the_same_bytes(sheep: Path, tmp_path: Path) -> None:
    write_sheet(tmp_path / "again.xlsx", "sheep")
    assert (tmp_path / "again.xlsx").read_bytes() == sheep.read_bytes()


# on paper

MEASURED = """() => {
  const mm = px => px * 25.4 / 96, height = one => mm(one.getBoundingClientRect().height);
  const all = wanted => [...document.querySelectorAll(wanted)];
  const middle = one => { const box = one.getBoundingClientRect();
    return [mm(box.left + box.width / 2), mm(box.top + box.height / 2)]; };
  const middles = ring => [...ring.querySelectorAll('i')].map(middle);
  const gap = one => { const words = document.createRange(); words.selectNodeContents(one);
    return mm(words.getBoundingClientRect().top - one.getBoundingClientRect().top); };
  const lines = all('.lines tbody tr'), fates = all('.lines tbody tr:first-child td.first').length;
  return {newborns: lines.length * fates,
          fields: Math.min(...all('.lines tbody td, .slip div').map(height)),
          apart: Math.min(...all('.lines .ring').map(ring => middles(ring).flatMap((one, place, every) =>
            every.slice(place + 1).map(other => Math.hypot(one[0] - other[0], one[1] - other[1])))).flat()),
          causes: Math.min(...all('.slip .ring').map(ring => [...new Set(middles(ring).map(one => one[1]))])
            .flatMap(rows => rows.slice(1).map((row, place) => row - rows[place]))),
          heads: Math.min(...all('.lines th').filter(one => one.firstChild).map(gap)),
          sides: all('section').map(height),
          wide: mm(document.documentElement.scrollWidth),
          spilt: all('th, td, .slip div').filter(one => one.scrollWidth > one.clientWidth + 1)
            .map(one => one.textContent)};
}"""
FULLEST: dict[str, Any] = {"asked": ("birth_weight_kg", "stood_after_min", "group")}


@pytest.mark.browser
@pytest.mark.parametrize(
    ("species", "language", "given"),
    [
        ("sheep", "en", {}),
        ("cattle", "en", {}),
        ("goat", "de", {}),
        ("cattle", "de", {}),
        ("sheep", "en", FULLEST),
    ],
)
def test_a_side_takes_24_newborns_in_fields_8_mm_high_and_nothing_spills(
    tmp_path: Path, species: str, language: str, given: dict[str, Any]
) -> None:
    page_file = tmp_path / "shed.html"
    sheet = sheet_of(species, language, **given)
    page_file.write_text(shed_page(sheet), encoding="utf-8")
    with opened(page_file) as (page, _, _):
        page.emulate_media(media="print")
        found = page.evaluate(MEASURED)
        pdf = page.pdf(prefer_css_page_size=True, path=str(tmp_path / "shed.pdf"))
    assert pdf
    assert found["newborns"] >= NEWBORNS_A_SIDE
    assert found["fields"] >= FIELD_MM
    assert found["apart"] >= CODES_APART_MM
    assert found["causes"] >= CAUSES_APART_MM
    assert found["heads"] > RULE_MM
    assert found["spilt"] == []
    tall, wide = (194, 281) if sheet.across else (281, 194)
    assert max(found["sides"]) <= tall
    assert found["wide"] <= max(wide, 1100 * 25.4 / 96) + 0.5
    told = subprocess.run(
        ["pdfinfo", str(tmp_path / "shed.pdf")], capture_output=True, text=True, check=True
    ).stdout
    assert re.search(r"Pages:\s+2\n", told)
