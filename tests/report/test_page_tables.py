"""Tables on the page: long ones in part, wide ones stacked on a phone behind headings that come from the style."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import pytest

from neonatal_stats.report.page import FIRST_ROWS, MOST_ROWS, VERY_LONG, quoted, stacked, table_html
from neonatal_stats.report.review import Review
from neonatal_stats.tables import Printer, Table, columns
from neonatal_stats.words import Voice


def table(rows: int, *headings: str) -> Table:
    frame = pd.DataFrame(
        {name: [f"{name}{i}" for i in range(rows)] for name in "abcdefghijkl"[: len(headings)]}
    )
    declared = [columns.text(name, heading) for name, heading in zip(frame, headings, strict=True)]
    return Table("pens-all", "Pens", frame, declared, printer=Printer())


def test_a_very_long_table_shows_its_first_rows_and_says_where_all_are() -> None:
    html = table_html(table(VERY_LONG + 1, "Pen"), Voice())
    assert html.count("<tr>") == 1 + FIRST_ROWS
    assert (
        "The first 15 of 21 rows; all of them are on the sheet pens of the workbook and in tables/pens-all.csv."
        in html
    )


def test_a_list_says_how_many_of_its_rows_stand_here_and_where_all_of_a_longer_one_are() -> None:
    listed = replace(table(31, "Pen"), on_page=30, own_sheet=True)
    html = table_html(listed, Voice())
    assert html.count("<tr>") == 1 + 30
    assert "all of them are on the sheet pens-all of the workbook" in html
    assert table_html(replace(listed, on_page=31), Voice()).count("<tr>") == 1 + 31
    long = replace(table(MOST_ROWS + 1, "Pen"), on_page=30, own_sheet=True)
    said = "The first 30 of 5\u202f001 rows; all of them are in tables/pens-all.csv."
    assert said in table_html(long, Voice())


def test_another_is_whole() -> None:
    html = table_html(table(VERY_LONG, "Pen"), Voice())
    assert html.count("<tr>") == 1 + VERY_LONG
    assert "rows" not in html


@pytest.mark.parametrize(
    ("number", "kind"), [(3, "table"), (4, "table wide"), (8, "table wide"), (9, "table widest")]
)
def test_a_table_says_how_wide_it_is(number: int, kind: str) -> None:
    assert f'<figure class="{kind}" id="table-pens-all">' in table(2, *"ABCDEFGHIJKL"[:number]).html()


def test_each_column_but_the_first_has_its_heading_in_the_style() -> None:
    css = stacked([table(2, "pen", "lost", "born", "share")])
    assert '#table-pens-all td:nth-child(2){--heading:"Lost"}' in css
    assert '#table-pens-all td:nth-child(4){--heading:"Share"}' in css
    assert "nth-child(1)" not in css
    assert ".wide td::before { content: var(--heading)" in css
    assert "WIDE" not in css


def test_the_farms_words_stay_words_in_the_style() -> None:
    """A quotation mark, a brace or a tag would end the style; each becomes its number, as CSS Syntax 4.3.7 reads it."""
    assert quoted('"}</style>') == "\\000022 \\00007d \\00003c \\00002f style\\00003e "
    assert quoted("Lämmer 2") == "Lämmer 2"


def test_the_sheet_that_is_named_is_in_the_workbook(hill_review: Review) -> None:
    for section in hill_review.sections:
        own = {one.name for one in section.tables if one.own_sheet}
        assert {one.sheet for one in section.tables} <= {section.name, *own}
