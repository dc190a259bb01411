"""A blank plan: a line for every measure with its value of the season, and how to fill in what is agreed."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from neonatal_stats.measures.plan_measures import seen
from neonatal_stats.season.blank import help_sheet
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.model import Season, in_seasons
from neonatal_stats.season.plan import NOTE
from neonatal_stats.vocabulary.columns import heading_said
from neonatal_stats.vocabulary.plan import BY_CAUSE, DONE, PLAN, PlanMeasure, plan_measures
from neonatal_stats.words import Voice, voice_of
from neonatal_stats.words.names import measure_name

ENOUGH_LOSSES = 10
"""A cause has a line of its own from this many losses on."""
SHEET, ROWS = "plan", 200
WIDTHS = {
    "season": 9,
    "action": 44,
    "who": 16,
    "by_when": 16,
    "cost": 12,
    "done": 10,
    "measure": 36,
    "from": 22,
    "to": 12,
}
MADE_ON = datetime(2026, 1, 1)

Row = dict[str, str]


def write_plan(out: Path, season: Season, focus: str | None = None) -> int:
    """Write a blank plan, as CSV or as a workbook by the name's end.

    Parameters
    ----------
    focus : the season whose values stand in it, by default the one under review.

    Returns
    -------
    How many measures it offers.
    """
    must_be_a_plan(out)
    focus = focus or season.under_review
    if focus not in season.seasons:
        raise CannotRead(f"--season: no records of {focus!r}; the records hold {', '.join(season.seasons)}")
    voice, rows = voice_of(season), plan_rows(season, focus)
    if out.suffix.casefold() == ".csv":
        out.write_text(_csv(voice, rows), encoding="utf-8-sig", newline="")
    else:
        _workbook(out, voice, rows, season)
    return len(rows)


def must_be_a_plan(out: Path) -> None:
    """Refuse a name that is neither of a text file nor of a workbook."""
    if out.suffix.casefold() not in (".csv", ".xlsx"):
        raise CannotRead(f"{out.name}: a plan is written as .csv or .xlsx; name it so.")


def plan_rows(season: Season, focus: str) -> list[Row]:
    """A row a measure: the season to come where its name follows from this one's, the measure, its counts and share."""
    this, settings, voice = in_seasons(season, (focus,)), season.settings, voice_of(season)
    following = str(int(focus) + 1) if focus.isdigit() else ""
    rows = []
    for measure in plan_measures(settings.windows_h, settings.causes):
        value, events = _value(voice, this, measure)
        if measure.counted != BY_CAUSE.counted or events >= ENOUGH_LOSSES:
            rows.append({"season": following, "measure": measure_name(voice, measure), "from": value})
    return rows


def _value(voice: Voice, season: Season, measure: PlanMeasure) -> tuple[str, int]:
    """A measure of one season as a plan holds it: "398 of 558 (71.6 %)"; "" where it cannot be told."""
    found = seen(season, measure)
    if found.why:
        return "", 0
    events, n = int(found.newborns["event"].sum()), len(found.newborns)
    share = voice.percent(events / n).replace("\u00a0", " ")
    return f"{events} {voice.number_words.of} {n} ({share})", events


def _headings(voice: Voice) -> list[str]:
    return [voice.say(heading_said(column)) for column in PLAN]


def notes(voice: Voice) -> tuple[str, ...]:
    """How to fill it in."""
    say = voice.say
    done = ", ".join(say(word) for word in DONE)
    return (
        say(
            "One action a line. A line without an action is a measure that was not chosen: leave it or delete it."
        ),
        say("An action needs no measure; then only whether it was done can be followed up."),
        say("From: as it stands. To: what it should come to, a percent (85 %) or counts."),
        say("Done, after the season: {words}; blank means not recorded, and is never guessed.", words=done),
        say("What was done for {newborns} can show in one season; losses swing by themselves and seldom do."),
        say("Drugs, tubes and operations only as your vet directs; local rules come first."),
    )


def _csv(voice: Voice, rows: Sequence[Row]) -> str:
    """The headings, a line a measure, and the notes as lines that begin with a sign of their own."""
    text = io.StringIO()
    written = csv.writer(text, lineterminator="\r\n")
    written.writerow(_headings(voice))
    for row in rows:
        written.writerow([row.get(column.name, "") for column in PLAN])
    for note in notes(voice):
        written.writerow([f"{NOTE} {note}", *[""] * (len(PLAN) - 1)])
    return text.getvalue()


def _workbook(out: Path, voice: Voice, rows: Sequence[Row], season: Season) -> None:
    """The plan on one sheet, with drop-downs, and how to fill it in on another; the same bytes every time."""
    import xlsxwriter

    options = {"strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(str(out), options) as book:
        book.set_properties({"title": voice.say("The plan"), "created": MADE_ON})
        sheet = book.add_worksheet(SHEET)
        _fill(book, sheet, voice, rows)
        _drop_downs(sheet, voice)
        how_to = book.add_worksheet(help_sheet(voice.language))
        wrap = book.add_format({"text_wrap": True, "valign": "top"})
        how_to.set_column(0, 0, 30, wrap)
        how_to.set_column(1, 1, 90, wrap)
        for row, (left, right) in enumerate(_help(voice)):
            how_to.write_string(row, 0, left, wrap)
            how_to.write_string(row, 1, right, wrap)


def _fill(book: Any, sheet: Any, voice: Voice, rows: Sequence[Row]) -> None:
    bold = book.add_format({"bold": True, "bottom": 1, "text_wrap": True})
    wrap = book.add_format({"text_wrap": True, "valign": "top", "num_format": "@"})
    for place, (column, heading) in enumerate(zip(PLAN, _headings(voice), strict=True)):
        sheet.set_column(place, place, WIDTHS[column.name], wrap)
        sheet.write_string(0, place, heading, bold)
        for row, cells in enumerate(rows, start=1):
            if cells.get(column.name):
                sheet.write_string(row, place, cells[column.name], wrap)
    sheet.freeze_panes(1, 0)
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 0)


def _drop_downs(sheet: Any, voice: Voice) -> None:
    """What may stand in the columns of words; a measure of the list may also be typed otherwise."""
    places = {column.name: place for place, column in enumerate(PLAN)}
    done = [voice.say(word) for word in DONE]
    rule = {"validate": "list", "source": done, "error_type": "stop"}
    sheet.data_validation(1, places["done"], ROWS, places["done"], rule)
    for column in PLAN:
        if column.name != "done":
            message = {
                "input_title": voice.say(heading_said(column))[:32],
                "input_message": voice.say(column.meaning),
            }
            place = places[column.name]
            sheet.data_validation(1, place, ROWS, place, {"validate": "any", **message})


def _help(voice: Voice) -> list[tuple[str, str]]:
    columns = [(voice.say(heading_said(column)), voice.say(column.meaning)) for column in PLAN]
    return [*(("", note) for note in notes(voice)), *columns]
