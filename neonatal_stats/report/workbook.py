"""The workbook: every table as a real table, numbers as numbers, units in the headings, farm text harmless.

Its first sheet gives the answer in short, the headline numbers, what is on which sheet and one picture; then come a
sheet a chapter, the plan and the set-aside list.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import pandas as pd
import xlsxwriter

from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.report.first_page import first_page
from neonatal_stats.report.how_bad import leading, main_loss
from neonatal_stats.report.page import MOST_ROWS, byline, counted_line, lists_alone, rows_left, title
from neonatal_stats.report.review import Review, Section
from neonatal_stats.report.workbook_sheet import Sheet, cells_of
from neonatal_stats.season.actions import Action
from neonatal_stats.tables import Table, columns, sentence_case
from neonatal_stats.vocabulary.columns import heading_said
from neonatal_stats.vocabulary.plan import PLAN
from neonatal_stats.words import Voice, joined
from neonatal_stats.words.names import measure_name, measure_of
from neonatal_stats.words.problems import SET_ASIDE, said_in

SET_ASIDE_SHEET = "set-aside"
PLAN_SHEET = "plan"

PICTURES: tuple[str, ...] = ("causes-ranked", "losses-windows", "mobs-flow", "examinations-when")
PICTURES += ("colostrum-transfer-igg", "colostrum-transfer-total", "colostrum-transfer-brix")
"""The figures that the sheet may show; the first of them that was drawn is."""
WIDTHS = (40, 11, 11, 11, 11, 11)


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
        _first_sheet(book, review, told, (SET_ASIDE_SHEET, set_aside.title))
        for name, (section, tables) in sheets.items():
            fitting = [cells_of(_fitting(table, review.voice), review.voice) for table in tables]
            _chapter(Sheet(book, name, fitting), review, section)
        for table, name in _loose(review, set_aside):
            cells = cells_of(table, review.voice)
            sheet = Sheet(book, name, [cells])
            sheet.table(0, cells)
            sheet.finish()


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


def _first_sheet(
    book: Any, review: Review, sheets: Mapping[str, tuple[str, str]], set_aside: tuple[str, str]
) -> None:
    """Write it before the others; ``sheets`` by name, each with its title and question, ``set_aside`` the last."""
    say = review.voice.say
    numbers = cells_of(_headlines(review), review.voice)
    sheet = Sheet(book, say("At a glance"), [numbers], WIDTHS)
    line = sheet.text(0, title(review), "title")
    if lists_alone(review):
        line = _found(sheet, review, line) + 1
    else:
        line = _stands_out(sheet, review, _how_bad(sheet, review, line) + 1) + 1
    if numbers.body:
        line = sheet.titled(line, numbers) + 1
    line = sheet.text(line, say("What is on which sheet"), "heading")
    line = _contents(sheet, review, line, sheets, set_aside) + 1
    for text in (
        byline(review),
        say("Shares are stored as fractions and shown as percent; ages are in hours."),
        say("These figures show association in one set of records, not proof of cause. Decisions on treatment are "
            "for a veterinary surgeon."),
    ):  # fmt: skip
        line = sheet.text(line, text)
    drawn = {figure.name: figure for figure in review.figures}
    shown = next((drawn[name] for name in PICTURES if name in drawn), None)
    if shown is not None:
        sheet.picture(1, shown.title, shown.png(), shown.alt)
    sheet.finish(pages=1)


def _how_bad(sheet: Sheet, review: Review, line: int) -> int:
    """The one number that the page leads with, and what it was counted from."""
    main = main_loss(review)
    if main is None:
        return line
    line = sheet.text(line, " ".join(leading(review.voice, main)), "number")
    return sheet.text(line, review.voice.say("Counted: {counts}.", counts=main.printed))


def _found(sheet: Sheet, review: Review, line: int) -> int:
    """The answer in short of each chapter, where there are no births and so nothing that is always asked of them."""
    for section in review.sections:
        line = sheet.text(line, section.lead)
    return line


def _stands_out(sheet: Sheet, review: Review, line: int) -> int:
    top = first_page(review)
    line = sheet.text(line, review.voice.say("What stands out"), "heading")
    for text in [f"{point.short} {point.span}" for point in top.stand_out] or top.nothing:
        line = sheet.text(line, text)
    return line


def _headlines(review: Review) -> Table:
    """The figures of the top of the page, as numbers."""
    say = review.voice.say
    frame = pd.DataFrame([vars(line) for line in review.headlines], columns=HEADLINE).dropna(subset="events")
    declared = (
        columns.text("label", say("What")),
        columns.count("events", say("Number")),
        columns.count("n", say("Of how many")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval_heading(review.voice, review.season.settings.level)),
    )
    return Table("headline", say("In numbers"), frame, declared, printer=review.voice)


HEADLINE = ["label", "events", "n", "share", "low", "high"]


def _contents(
    sheet: Sheet, review: Review, line: int, sheets: Mapping[str, tuple[str, str]], set_aside: tuple[str, str]
) -> int:
    """A line a sheet: its name, which leads to it, and the question that it answers."""
    for name, (words, question) in sheets.items():
        after = sheet.text(line, question, first=1)
        sheet.link(line, name, words)
        line = after
    if review.season.settings.plan:
        after = sheet.text(line, review.voice.say("What is agreed, to fill in and go on with?"), first=1)
        sheet.link(line, PLAN_SHEET, review.voice.say("The plan"))
        line = after
    after = sheet.text(line, review.voice.say("Which rows were set aside, and why?"), first=1)
    sheet.link(line, *set_aside)
    return after


def _loose(review: Review, set_aside: Table) -> Iterator[tuple[Table, str]]:
    """The tables that have a sheet of their own: the plan, where there is one, and the set-aside list."""
    if review.season.settings.plan:
        yield _plan(review), PLAN_SHEET
    yield set_aside, SET_ASIDE_SHEET


def _plan(review: Review) -> Table:
    """Every action of the plan as it was written; `season.plan.read_plan` reads the sheet back."""
    voice = review.voice
    rows = [_action(review, action) for action in review.season.settings.plan]
    declared = [columns.text(column.name, voice.say(heading_said(column))) for column in PLAN]
    frame = pd.DataFrame(rows, columns=[column.name for column in PLAN], dtype=object)
    return Table(PLAN_SHEET, voice.say("The plan"), frame, declared, printer=voice)


def _action(review: Review, action: Action) -> dict[str, str]:
    voice, measure = review.voice, measure_of(review.season.settings, action.measure)
    plain = {name: getattr(action, name) for name in ("season", "action", "who", "by_when", "cost")}
    return {
        **plain,
        "done": voice.say(action.done) if action.done else "",
        "measure": measure_name(voice, measure) if measure else "",
        "from": action.stood.text if action.stood else "",
        "to": action.target.text if action.target else "",
    }


def _set_aside(review: Review) -> Table:
    voice, problems = review.voice, review.season.problems
    declared = [columns.text(name, voice.say(SET_ASIDE[name])) for name in problems.columns]
    return Table("set_aside", voice.say("Set aside"), said_in(voice, problems), declared, printer=voice)
