"""The workbook: every table as a real table, numbers as numbers, units in the headings, farm text harmless."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import xlsxwriter

from neonatal_stats.report.page import counted_line, title
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
        cells = cells_of(set_aside, review.voice)
        sheet = Sheet(book, SET_ASIDE_SHEET, [cells])
        sheet.table(0, cells)
        sheet.finish()


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
