"""The workbook: a first sheet that answers, leads and shows; numbers as numbers, days as days, nothing overprinted."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest

from neonatal_stats.report.review import Review, Section, build
from neonatal_stats.report.workbook import write_workbook
from neonatal_stats.report.workbook_sheet import cells_of
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Voice
from tests.chapters.twelve import twelve

pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore:Workbook contains no default style:UserWarning"),
]
QUESTION = (
    "How long a question can a chapter ask before its sheet sets it in a second line, and who is to read it?"
)
FRAME = pd.DataFrame(
    {
        "week": pd.to_datetime(["2026-03-30", "2026-04-06"]),
        "said": ["30 Mar", "6 Apr"],
        "season": ["2025", "2026"],
        "lot": ["007", "12"],
        "p": [0.0004, 0.0431],
        "low": [0.1, 0.2],
        "high": [0.3, float("nan")],
        "kind": ["ratio", "share"],
        "value": [1.5, 0.25],
    }
)
DECLARED = (
    columns.text("said", "Week", raw="week"),
    columns.text("season", "Season"),
    columns.text("lot", "Lot"),
    columns.p("p", "p"),
    columns.interval("low", "high", "95 % interval"),
    columns.Column("value", "The value of whatever it is that was measured", kinds="kind"),
    columns.interval("low", "high", "95 % interval"),
)


def table(voice: Voice) -> Table:
    return Table("losses-declared", "declared", FRAME, DECLARED, note="A note.", printer=voice)


def written(season: Season, path: Path) -> Any:
    """The workbook of a review whose chapters are only asked for their tables and figures."""
    review = build(season, made_on=date(2026, 6, 1))
    first, *rest = review.sections
    mine = replace(first, question=QUESTION, tables=(table(review.voice),), figures=review.figures)
    write_workbook(replace(review, sections=(mine, *rest)), path)
    return openpyxl.load_workbook(path)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Any:
    return written(twelve(), tmp_path_factory.mktemp("book") / "review.xlsx")


@pytest.fixture(scope="module")
def chapter(book: Any) -> Any:
    return book[book.sheetnames[1]]


def rows(sheet: Any) -> list[list[Any]]:
    return [[cell.value for cell in line] for line in sheet.iter_rows()]


def test_the_first_sheet_leads_to_every_other(book: Any) -> None:
    first, *others = book.sheetnames
    links = {cell.hyperlink.location for line in book[first].iter_rows() for cell in line if cell.hyperlink}
    assert links == {f"'{name}'!A1" for name in others}
    asked = [line[1] for line in rows(book[first]) if isinstance(line[1], str)]
    assert QUESTION in asked


def test_the_first_sheet_has_the_answer_and_one_picture(book: Any) -> None:
    first = book[book.sheetnames[0]]
    texts = [str(value) for line in rows(first) for value in line if value is not None]
    # twelve newborns are too few for "in 100": how the page leads with a small season
    assert any(re.match(r"(\d+|None) of 12 newborns born|\d+ of \d+ \w+ born", text) for text in texts), texts
    assert len(first._images) == 1
    assert all(not book[name]._images for name in book.sheetnames[1:])


def test_without_figures_there_is_no_picture(tmp_path: Path) -> None:
    season = twelve()
    section = Section("losses", "Losses", "How many?", (), tables=(table(Voice()),))
    review = Review(season, season.seasons[-1], (section,), Voice(), date(2026, 6, 1))
    write_workbook(review, tmp_path / "review.xlsx")
    book = openpyxl.load_workbook(tmp_path / "review.xlsx")
    assert not book[book.sheetnames[0]]._images


def test_days_seasons_and_intervals_are_no_text(chapter: Any) -> None:
    lines = rows(chapter)
    place = next(at for at, line in enumerate(lines) if line[0] == "Week")
    assert lines[place + 1][:6] == [datetime(2026, 3, 30), 2025, "007", 0.0004, 0.1, 0.3]
    assert lines[place + 2][:6] == [datetime(2026, 4, 6), 2026, "12", 0.0431, 0.2, None]
    assert len(set(lines[place])) == len(lines[place])


def test_numbers_are_shown_as_a_person_writes_them() -> None:
    english, german = cells_of(table(Voice()), Voice()), cells_of(table(Voice("de")), Voice("de"))
    assert english.formats[0][3] == '[<0.001]"<0.001";0.000'
    assert german.formats[0][3] == '[<0.001]"<0,001";0.000'
    assert english.formats[0][0].endswith("d mmm yyyy")
    assert german.formats[0][0].endswith("d. mmm yyyy")
    assert [line[6] for line in english.formats] == ["0.00", "0.0%"]
    assert english.headings[7] == "The value of whatever it is that was measured: 95 % interval, low"


def test_headings_and_long_questions_have_rows_as_high_as_their_lines(chapter: Any) -> None:
    assert chapter.row_dimensions[1].height > 30
    head = next(cell.row for cell in chapter["A"] if cell.value == "Week")
    assert chapter.row_dimensions[head].height >= 45


def test_every_sheet_is_one_page_wide_and_prints_all_that_stands_on_it(book: Any) -> None:
    for sheet in book:
        assert sheet.page_setup.fitToWidth in (None, 1), sheet.title
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        filled = [cell for line in sheet.iter_rows() for cell in line if cell.value is not None]
        left, top, right, bottom = openpyxl.utils.range_boundaries(sheet.print_area.split("!")[1])
        assert (left, top) == (1, 1)
        assert bottom >= max(cell.row for cell in filled), sheet.title
        assert right >= max(cell.column for cell in filled), sheet.title


def test_a_list_has_a_sheet_to_itself_with_lists_in_the_cells_to_fill(tmp_path: Path) -> None:
    season, frame = twelve(), pd.DataFrame({"dam": ["A", "B"], "keep": ["", ""]})
    declared = (columns.text("dam", "Dam"), columns.to_tick("keep", "Keep or cull", "keep", "cull"))
    dams = Table("losses-dams", "dams", frame, declared, printer=Voice(), own_sheet=True)
    section = Section("losses", "Losses", "How many?", (), tables=(table(Voice()), dams))
    write_workbook(
        Review(season, season.seasons[-1], (section,), Voice(), date(2026, 6, 1)), tmp_path / "review.xlsx"
    )
    book = openpyxl.load_workbook(tmp_path / "review.xlsx")
    assert book.sheetnames[1:3] == ["losses", "losses-dams"]
    assert len(book["losses"].tables) == len(book["losses-dams"].tables) == 1
    (wanted,) = book["losses-dams"].data_validations.dataValidation
    assert wanted.formula1 == '"keep,cull"'
    assert [link.value for link in book[book.sheetnames[0]]["A"] if link.hyperlink][:2] == ["Losses", "Dams"]
