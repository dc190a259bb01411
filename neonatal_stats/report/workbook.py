"""The workbook: every table as a real table, numbers as numbers, units in the headings, farm text harmless."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import xlsxwriter

from neonatal_stats.report.page import counted_line, title
from neonatal_stats.report.page_tables import MOST_ROWS, rows_left
from neonatal_stats.report.plan_sheet import SHEET as PLAN_SHEET
from neonatal_stats.report.plan_sheet import plan_table
from neonatal_stats.report.review import Review, Section
from neonatal_stats.report.workbook_cells import cells_of
from neonatal_stats.report.workbook_first import first_sheet
from neonatal_stats.report.workbook_sheet import Sheet
from neonatal_stats.tables import Table, columns, sentence_case
from neonatal_stats.words import Voice, joined
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
        sheets = _sheets(review)
        told = {
            name: (_title(section, tables), section.question) for name, (section, tables) in sheets.items()
        }
        first_sheet(book, review, told, (SET_ASIDE_SHEET, set_aside.title))
        for name, (section, tables) in sheets.items():
            fitting = [cells_of(_fitting(table, review.voice), review.voice) for table in tables]
            _chapter(Sheet(book, name, fitting), review, section)
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


def _sheets(review: Review) -> Mapping[str, tuple[Section, list[Table]]]:
    """By the name of each sheet the chapter it belongs to and the tables on it."""
    sheets: dict[str, tuple[Section, list[Table]]] = {}
    for section in review.sections:
        for table in section.tables:
            name = table.sheet if table.own_sheet else section.name[:31]
            sheets.setdefault(name, (section, []))[1].append(table)
    return sheets


def _title(section: Section, tables: list[Table]) -> str:
    """What leads to a sheet: the chapter's title, or that of the list that has the sheet to itself."""
    return sentence_case(tables[0].title) if tables[0].own_sheet else section.title


def _fitting(table: Table, voice: Voice) -> Table:
    """The table, or the first rows of a list that is too long for a sheet."""
    if not table.own_sheet or len(table.frame) <= MOST_ROWS:
        return table
    note = joined(filter(None, (rows_left(table, voice, MOST_ROWS), table.note)))
    return replace(table, frame=table.frame.head(MOST_ROWS), note=note)


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
