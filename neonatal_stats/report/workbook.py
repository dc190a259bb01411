"""The workbook: every table as a real table, numbers as numbers, units in the headings, farm text harmless."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import xlsxwriter

from neonatal_stats.report.page import counted_line, title
from neonatal_stats.report.plan_sheet import SHEET as PLAN_SHEET
from neonatal_stats.report.plan_sheet import plan_table
from neonatal_stats.report.review import Review, Section
from neonatal_stats.report.workbook_cells import cells_of
from neonatal_stats.report.workbook_first import first_sheet
from neonatal_stats.report.workbook_sheet import Sheet
from neonatal_stats.tables import Table, columns
from neonatal_stats.words.problems import SET_ASIDE, said_in

SET_ASIDE_SHEET = "set-aside"


def write_workbook(review: Review, path: Path) -> None:
    """Write `path` (.xlsx): a first sheet with the answer in short, one sheet a chapter, the set-aside list."""
    options = {"strings_to_formulas": False, "strings_to_urls": False, "nan_inf_to_errors": False}
    with xlsxwriter.Workbook(str(path), options) as book:
        book.set_properties(
            {"title": title(review), "created": datetime.combine(review.made_on, datetime.min.time())}
        )
        set_aside = _set_aside(review)
        chapters = {section.name[:31]: section for section in review.sections if section.tables}
        first_sheet(book, review, chapters, (SET_ASIDE_SHEET, set_aside.title))
        for name, section in chapters.items():
            _chapter(
                Sheet(book, name, [cells_of(table, review.voice) for table in section.tables]),
                review,
                section,
            )
        for table, name in _loose(review, set_aside):
            cells = cells_of(table, review.voice)
            sheet = Sheet(book, name, [cells])
            sheet.table(0, cells)
            sheet.finish()


def _loose(review: Review, set_aside: Table) -> Iterator[tuple[Table, str]]:
    """The tables that have a sheet of their own: the plan, where there is one, and the set-aside list."""
    if review.season.settings.plan:
        yield plan_table(review), PLAN_SHEET
    yield set_aside, SET_ASIDE_SHEET


def _chapter(sheet: Sheet, review: Review, section: Section) -> None:
    """A chapter's question, who was counted, and its tables one below the other."""
    line = sheet.text(0, section.question, "title")
    if section.counted:
        line = sheet.text(line, counted_line(section.counted, review.voice)) + 1
    for cells in sheet.tables:
        line = sheet.titled(line, cells) + 1
    sheet.finish()


def _set_aside(review: Review) -> Table:
    voice, problems = review.voice, review.season.problems
    declared = [columns.text(name, voice.say(SET_ASIDE[name])) for name in problems.columns]
    return Table("set_aside", voice.say("Set aside"), said_in(voice, problems), declared, printer=voice)
