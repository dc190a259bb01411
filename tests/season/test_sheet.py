"""What the blank sheets print reads back with no map, and every page holds every column."""

import re

import openpyxl
import pytest

from neonatal_stats.season.blank import SECTIONS, write_sheet
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.read import read_season
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import BIRTHS, TABLES, column_of, heading_of


@pytest.fixture
def sheet(tmp_path):
    write_sheet(tmp_path / "shed.xlsx", "sheep")
    return tmp_path / "shed.xlsx"


def test_the_sections_hold_every_births_column_once():
    named = [name for names in SECTIONS.values() for name in names]
    assert sorted(named) == sorted(column.name for column in BIRTHS)


@pytest.mark.parametrize("table", TABLES)
def test_every_heading_of_the_workbook_is_a_tidy_column_in_the_vocabularys_order(sheet, table):
    first = [cell.value for cell in openpyxl.load_workbook(sheet)[table][1]]
    assert [column_of(table, heading) for heading in first] == [column.name for column in TABLES[table]]


def test_the_header_is_frozen_and_the_dam_stays_in_sight(sheet):
    assert openpyxl.load_workbook(sheet)["births"].freeze_panes == "F2"


def test_every_word_column_has_its_drop_down_and_the_species_only_its_own(sheet):
    births = openpyxl.load_workbook(sheet)["births"]
    lists = {
        births[1][next(iter(rule.sqref.ranges)).min_col - 1].value: rule.formula1.strip('"').split(",")
        for rule in births.data_validations.dataValidation
        if rule.type == "list"
    }
    expected = {heading_of(column): list(column.words) for column in BIRTHS if column.words}
    assert lists == expected | {"species": ["sheep"]}


def test_numbers_out_of_range_warn_and_are_not_refused(sheet):
    births = openpyxl.load_workbook(sheet)["births"]
    rules = {rule.promptTitle: rule for rule in births.data_validations.dataValidation}
    weight = rules["birth weight (kg)"]
    assert (weight.formula1, weight.formula2, weight.errorStyle) == ("0.5", "10", "warning")


def test_two_blank_workbooks_have_the_same_bytes(sheet, tmp_path):
    write_sheet(tmp_path / "again.xlsx", "sheep")
    assert (tmp_path / "again.xlsx").read_bytes() == sheet.read_bytes()


ONE_OF_EACH = {
    "farm": "Test Farm", "season": "2026", "species": "sheep",
    "newborn_id": "000123", "dam_id": "999000000000123", "born_at": "2026-04-03 05:40",
    "litter_size": 2, "birth_order": 1, "sex": "female", "birth_weight_kg": 4.2, "delivery": "hard assist",
    "dam_parity": 1, "dam_condition": 2.5, "birth_place": "outdoors", "born_alive": "yes",
    "resuscitation": "airway cleared; stimulated", "suck_reflex": "weak", "stood_after_min": "not by 07:40",
    "fed_after_min": 95, "handled": "yes", "mothered_up": "no", "rearing": "fostered",
    "rectal_temperature_c": 37.1, "died": "no", "last_seen_at": "2026-06-20 09:00",
}  # fmt: skip


def test_a_filled_in_sheet_reads_back_with_no_map(sheet):
    book = openpyxl.load_workbook(sheet)
    births, feeds = book["births"], book["feeds"]
    for place, column in enumerate(BIRTHS, start=1):
        births.cell(2, place, ONE_OF_EACH.get(column.name))
        births.cell(3, place, {**ONE_OF_EACH, "newborn_id": "000124", "birth_order": 2}.get(column.name))
    for place, cell in enumerate(("000123", "2026-04-03 07:15", 120, "tubed from dam"), start=1):
        feeds.cell(2, place, cell)
    book.save(sheet)
    season = read_season(sheet)
    read = season.births.loc[0]
    assert season.problems.empty
    assert season.balances[0].used == season.balances[0].rows_read == 2
    assert (read["newborn_id"], read["dam_id"]) == ("000123", "999000000000123")
    assert (read["birth_weight_kg"], read["fed_after_h"], read["stood_not_by_h"]) == (4.2, 95 / 60, 2.0)
    assert season.feeds["volume_ml"].tolist() == [120.0]


@pytest.mark.parametrize("species", terms.SPECIES)
def test_the_shed_page_prints_every_column_of_births(tmp_path, species):
    write_sheet(tmp_path / "shed.html", species)
    page = (tmp_path / "shed.html").read_text(encoding="utf-8")
    heads = set(re.findall(r'scope="col">([^<]+)</th>', page))
    at_the_top = {"farm", "season", "species"}
    assert heads == {heading_of(column) for column in BIRTHS} - at_the_top | {"no."}
    assert at_the_top <= {word.rstrip(":") for word in re.findall(r"<span>(\w+)", page)}
    assert page.count("<section>") == len(SECTIONS)


def test_the_shed_page_stands_alone_and_shows_the_cautions(tmp_path):
    write_sheet(tmp_path / "shed.html", "goat")
    page = (tmp_path / "shed.html").read_text(encoding="utf-8")
    assert not re.search(r"(src|href)=|@import|url\(|<script", page)
    assert "size: A4 landscape" in page
    assert "no breath mouth to nose without a barrier" in page


@pytest.mark.parametrize(
    ("name", "species", "sentence"),
    [
        (
            "shed.xlsx",
            "hen",
            'species "hen" is not known; write one of sheep, goat, cattle, buffalo, deer, camelid.',
        ),
        (
            "shed.csv",
            "goat",
            "shed.csv: a sheet is written as .xlsx (a workbook) or .html (a page to print).",
        ),
    ],
)
def test_what_cannot_be_written_is_refused_in_one_sentence(tmp_path, name, species, sentence):
    with pytest.raises(CannotRead) as refused:
        write_sheet(tmp_path / name, species)
    assert str(refused.value) == sentence
    assert not list(tmp_path.iterdir())
