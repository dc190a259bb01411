"""Records without births: a short page of the chapters that they open, workbook and headline, in two languages."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path

import jsonschema
import openpyxl
import pytest

from neonatal_stats import Settings, read_season
from neonatal_stats.report.folder import PARTS
from neonatal_stats.report.page import page_html
from neonatal_stats.report.review import Review, build
from neonatal_stats.report.write import write_review

LISTS = Path(__file__).parents[2] / "data" / "demo" / "laboratory"
BLOODS = [LISTS / "parlour_samples.csv", LISTS / "parlour_colostrum.csv"]


@pytest.fixture(scope="module")
def bloods() -> Review:
    return build(read_season(BLOODS))


@pytest.fixture(scope="module")
def folder(bloods: Review, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("bloods") / "out"
    write_review(bloods, out, parts=PARTS)
    return out


def test_only_the_chapters_that_the_lists_open_are_asked(bloods: Review) -> None:
    assert [section.name for section in bloods.sections] == ["colostrum"]
    assert bloods.focus == "2026"
    assert not bloods.ledger.looked


def test_the_page_is_short_says_what_it_has_not_and_asks_nothing_of_births(folder: Path) -> None:
    page = (folder / "review.html").read_text(encoding="utf-8")
    assert page.count('<section class="chapter') == 2  # the chapter and the cautions
    assert "no share of losses can be given" in page
    assert "Drawing blood" in page
    assert "What stands out" not in page
    assert not (folder / "keeper.html").exists()


def test_the_workbook_leads_to_the_lists(folder: Path) -> None:
    book = openpyxl.load_workbook(folder / "review.xlsx")
    assert book.sheetnames == ["At a glance", "colostrum", "colostrum-tests-brix", "set-aside"]
    first = " ".join(str(cell.value) for row in book.worksheets[0].iter_rows() for cell in row if cell.value)
    assert "Passive transfer by serum total protein" in first
    assert "Of the colostrum tested" in first


def test_the_headline_numbers_follow_their_schema(folder: Path) -> None:
    told = json.loads((folder / "headline.json").read_text(encoding="utf-8"))
    schema = json.loads((resources.files("neonatal_stats.report") / "headline.schema.json").read_text())
    jsonschema.validate(told, schema)
    assert told["chapters"] == {"colostrum": "answered"}
    assert [one["table"] for one in told["records"]] == ["samples", "colostrum"]
    assert {answer["verdict"] for answer in told["asked"].values()} == {"not recorded"}


def test_the_tables_hold_what_the_lists_hold(folder: Path) -> None:
    """Counted from the files themselves: 46 cows, of which so many reached 22 % Brix."""
    rows = [line.split(",") for line in BLOODS[1].read_text(encoding="utf-8").splitlines()[1:]]
    reached = sum(float(row[6]) >= 22 for row in rows)
    table = (folder / "tables" / "colostrum-quality-brix.csv").read_text(encoding="utf-8").splitlines()
    assert table[1].split(",")[2:4] == [str(reached), str(len(rows))]


def test_in_german_nothing_is_left_in_english() -> None:
    review = build(read_season(BLOODS, settings=Settings(language="de")), parts=("page",))
    page = page_html(review)
    assert "Aufzeichnungen ohne Geburten" in page
    assert "Kolostrum" in page
    assert not [word for word in ("undecided.", "Lowest class", "tested by", "Drawn perhaps") if word in page]


def test_carcasses_and_treatments_alone_have_their_page() -> None:
    season = read_season(
        [LISTS / "vale_examinations.csv", LISTS / "vale_treatments.csv"], settings=Settings()
    )
    review = build(season, parts=("page",))
    assert [section.name for section in review.sections] == ["examinations", "treatments"]
    assert all(section.open for section in review.sections)
    page = page_html(review)
    assert "confounding by indication" in page
    assert "Lost afterwards" not in page


def test_a_notebook_is_shown_the_page(bloods: Review) -> None:
    shown = read_season(BLOODS).review()
    assert "Records without births" in shown._repr_html_()
