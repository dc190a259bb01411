"""A declared table as it goes out: numbers as numbers in the CSV and the workbook, intervals in two columns."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.report.review import Review, Section
from neonatal_stats.report.workbook import write_workbook
from neonatal_stats.report.write import write_tables
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import voice_of
from tests.chapters.twelve import twelve

pytestmark = pytest.mark.filterwarnings("ignore:Workbook contains no default style:UserWarning")
FRAME = pd.DataFrame(
    {
        "week": pd.to_datetime(["2026-03-30"]),
        "pen": ["=1+1"],
        "change": [-0.031],
        "low": [-0.05],
        "high": [-0.01],
        "start_h": [12.0],
        "end_h": [48.0],
        "verdict": [Verdict.CLEAR],
        "said": ["lost less"],
    }
)


@pytest.fixture
def review() -> Review:
    season = twelve()
    table = Table(
        "losses-declared",
        "declared",
        FRAME,
        (
            columns.text("week", "Week"),
            columns.text("pen", "Pen"),
            columns.points("change", "Change"),
            columns.interval("low", "high", "95 % interval", "points"),
            columns.age_span("start_h", "end_h", "Age"),
            columns.text("said", "Reading", raw="verdict"),
        ),
        printer=voice_of(season),
    )
    section = Section("losses", "Losses", "How many?", (), tables=(table,))
    return Review(season, season.seasons[-1], (section,), voice_of(season), date(2026, 6, 1))


def test_the_csv(review: Review, tmp_path: Path) -> None:
    write_tables(review, tmp_path)
    assert (tmp_path / "tables" / "losses-declared.csv").read_text(encoding="utf-8").splitlines() == [
        "week,pen,change,low,high,start_h,end_h,verdict",
        "2026-03-30,'=1+1,-0.031,-0.05,-0.01,12.0,48.0,clear",
    ]


def test_the_workbook(review: Review, tmp_path: Path) -> None:
    write_workbook(review, tmp_path / "review.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "review.xlsx")["losses"]
    headings, cells = list(sheet.iter_rows())[2:4]
    assert [(heading.value, cell.value) for heading, cell in zip(headings, cells, strict=True)] == [
        ("Week", datetime(2026, 3, 30)),
        ("Pen", "'=1+1"),
        ("Change", -0.031),
        ("95 % interval, low", -0.05),
        ("95 % interval, high", -0.01),
        ("Age, from (h)", 12),
        ("Age, to (h)", 48),
        ("Reading", "lost less"),
    ]
    assert [cell.number_format for cell in cells[2:7]] == ["+0.0%;-0.0%"] * 3 + ["0", "0"]
