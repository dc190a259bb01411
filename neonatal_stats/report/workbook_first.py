"""The workbook's first sheet: the answer in short, the headline numbers, what is on which sheet, one picture."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.report.first_page import first_page
from neonatal_stats.report.how_bad import leading, main_loss
from neonatal_stats.report.page import byline, lists_alone, title
from neonatal_stats.report.plan_sheet import SHEET as PLAN_SHEET
from neonatal_stats.report.review import Review
from neonatal_stats.report.workbook_cells import cells_of
from neonatal_stats.report.workbook_sheet import Sheet
from neonatal_stats.tables import Table, columns

PICTURES: tuple[str, ...] = ("causes-ranked", "losses-windows", "mobs-flow", "examinations-when")
PICTURES += ("colostrum-transfer-igg", "colostrum-transfer-total", "colostrum-transfer-brix")
"""The figures that the sheet may show; the first of them that was drawn is."""
WIDTHS = (40, 11, 11, 11, 11, 11)


def first_sheet(
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
