"""The workbook: every table as a real table, numbers as numbers, units in the headings, farm text harmless."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import pandas as pd
import xlsxwriter

from neonatal_stats.report.page import byline, counted_line, title
from neonatal_stats.report.review import Review, Section
from neonatal_stats.tables import Table, columns, sentence_case
from neonatal_stats.tables.columns import KINDS, Column
from neonatal_stats.tables.table import harmless, plain
from neonatal_stats.words import Voice
from neonatal_stats.words.problems import SET_ASIDE, said_in

A4 = 9  # the number of that paper in a workbook
NARROWEST, WIDEST, WIDEST_HEADING = 9, 40, 16


def write_workbook(review: Review, path: Path) -> None:
    """Write `path` (.xlsx): a first sheet that says what it is, one sheet a chapter, the set-aside list."""
    options = {"strings_to_formulas": False, "strings_to_urls": False, "nan_inf_to_errors": False}
    with xlsxwriter.Workbook(str(path), options) as book:
        book.set_properties(
            {"title": title(review), "created": datetime.combine(review.made_on, datetime.min.time())}
        )
        _about(book, review)
        for section in review.sections:
            if section.tables:
                _chapter(book, review, section)
        voice, problems = review.voice, review.season.problems
        sheet = _sheet(book, "set-aside")
        declared = [columns.text(name, voice.say(SET_ASIDE[name])) for name in problems.columns]
        frame = said_in(voice, problems)
        table = Table("set_aside", voice.say("Set aside"), frame, declared, printer=voice)
        _put(book, review, sheet, 0, table, {})


def _about(book: Any, review: Review) -> None:
    sheet = _sheet(book, "about")
    sheet.set_column(0, 0, 100)
    bold = book.add_format({"bold": True, "font_size": 14})
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    sheet.write_string(0, 0, title(review), bold)
    say = review.voice.say
    lines = [
        byline(review),
        say("Shares are stored as fractions and shown as percent; ages are in hours."),
        say("These figures show association in one set of records, not proof of cause. Decisions on treatment are "
            "for a veterinary surgeon."),
    ]  # fmt: skip
    for line, text in enumerate(lines, start=2):
        sheet.write_string(line, 0, text, wrap)


def _sheet(book: Any, name: str) -> Any:
    """A sheet that prints on A4 across, as many pages long as it needs and one wide."""
    sheet = book.add_worksheet(name)
    sheet.set_paper(A4)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    return sheet


def _chapter(book: Any, review: Review, section: Section) -> None:
    sheet = _sheet(book, section.name[:31])
    widths: dict[int, int] = {}
    bold = book.add_format({"bold": True, "font_size": 12})
    sheet.write_string(0, 0, section.question, bold)
    line = 1
    if section.counted:
        sheet.write_string(line, 0, counted_line(section.counted, review.voice))
        line += 2
    for table in section.tables:
        sheet.write_string(line, 0, sentence_case(table.title), bold)
        line = _put(book, review, sheet, line + 1, table, widths) + 2


def _put(book: Any, review: Review, sheet: Any, top: int, table: Table, widths: dict[int, int]) -> int:
    """Write one table with its heading row at `top`; the row after it. ``widths`` grows to the widest so far."""
    columns = _columns(table, review.voice)
    frame = harmless(table.frame)
    used: set[str] = set()
    headings = [_unique(heading, used) for _, heading, _ in columns]
    body = [[_cell(row[name]) for name, _, _ in columns] for _, row in frame.iterrows()]
    formats = [{"num_format": cell} if cell else {} for _, _, cell in columns]
    head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom"})
    sheet.add_table(
        top,
        0,
        top + max(len(body), 1),
        len(columns) - 1,
        {
            "data": body,
            "style": "Table Style Light 1",
            "columns": [
                {
                    "header": heading,
                    "header_format": head,
                    **({"format": book.add_format(style)} if style else {}),
                }
                for heading, style in zip(headings, formats, strict=True)
            ],
        },
    )
    if table.note:
        sheet.write_string(top + max(len(body), 1) + 1, 0, table.note)
    for position, heading in enumerate(headings):
        longest = max((len(row[position]) for row in body if isinstance(row[position], str)), default=0)
        wanted = min(max(min(len(heading) + 3, WIDEST_HEADING), longest + 1), WIDEST)
        widths[position] = max(widths.get(position, NARROWEST), wanted)
        sheet.set_column(position, position, widths[position])
    return top + max(len(body), 1) + 1


def _columns(table: Table, voice: Voice) -> list[tuple[str, str, str]]:
    """The frame's column, heading and format of each; what stands together in a cell has columns of its own here."""
    columns: list[tuple[str, str, str]] = []
    for column in table.shown:
        cell = "" if column.kinds else KINDS[column.kind].cell
        headings = _headings(column, voice) if column.more else [sentence_case(column.heading)]
        columns += [(name, heading, cell) for name, heading in zip(column.parts, headings, strict=True)]
    return columns


ENDS = {
    "low": "{heading}, low",
    "high": "{heading}, high",
    "from": "{heading}, from (h)",
    "to": "{heading}, to (h)",
    "events": "{heading}, number",
    "n": "{heading}, of how many",
    "median": "{heading}, median",
}


def _headings(column: Column, voice: Voice) -> list[str]:
    """Of each of several numbers that stand in one cell of the page."""
    heading = sentence_case(column.heading)
    return [voice.say(ENDS[end], heading=heading) for end in column.ends]


def _unique(heading: str, used: set[str]) -> str:
    name, n = heading, 1
    while name.lower() in used:
        n += 1
        name = f"{heading} {n}"
    used.add(name.lower())
    return name


def _cell(value: Any) -> Any:
    value = plain(value)
    if pd.isna(value):
        return ""
    if isinstance(value, bool | int | float | str):
        return value
    if hasattr(value, "item"):
        return value.item()
    return str(value)
