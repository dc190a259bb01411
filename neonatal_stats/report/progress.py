"""A season in progress: one screen of its own, a workbook, tables, one figure and the headline numbers."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import xlsxwriter

from neonatal_stats.chapters import progress as chapter
from neonatal_stats.chapters.counted.progress import stops_early
from neonatal_stats.estimates.recent_losses import AgainstCurve
from neonatal_stats.report.first_page import ASKED
from neonatal_stats.report.folder import FIGURES, PAGE, PARTS, TABLES, WORKBOOK, written_whole
from neonatal_stats.report.outcomes import outcomes_said
from neonatal_stats.report.page import byline, counted_line, drawn, environment, style, table_html, title
from neonatal_stats.report.review import Review, Section, version
from neonatal_stats.report.workbook_sheet import Sheet, cells_of
from neonatal_stats.report.write import NUMBERS, about, plain, write_figures, write_json, write_tables
from neonatal_stats.season.model import Season
from neonatal_stats.words import joined, voice_of
from neonatal_stats.words.plain import between, out_of, whole

PROGRESS_HTML, PROGRESS_XLSX = "progress.html", "progress.xlsx"
STYLES = ("page.css", "first_page.css", "progress.css")


@dataclass(frozen=True, eq=False)
class Running:
    """A season in progress: what was counted, and its page's one section within the shell of a review."""

    result: chapter.Progress
    review: Review

    @property
    def section(self) -> Section:
        """The one section."""
        return self.review.sections[0]


def running(
    season: Season, name: str, *, made_on: date | None = None, parts: Collection[str] = PARTS
) -> Running:
    """The season of that name, of records cut by `Season.known_by`; nothing in it is a claim.

    Parameters
    ----------
    made_on : the date to print, by default today.
    parts : what will be written, of `folder.PARTS`; nothing is drawn for others.
    """
    result, voice = chapter.answer(season, name), voice_of(season)
    section = Section(
        chapter.NAME,
        voice.say(chapter.TITLE),
        voice.say(chapter.QUESTION),
        (),
        chapter.sentences(result),
        chapter.figures(result) if {PAGE, FIGURES} & set(parts) else (),
        chapter.tables(result),
        result.counted,
        chapter.method(result),
        chapter.headlines(result),
    )
    return Running(result, Review(season, name, (section,), voice, made_on or date.today()))


def running_early(season: Season, name: str, *, made_on: date | None = None) -> Running | None:
    """The same of a season whose records plainly stop early, on the day on which they do; None of any other."""
    day = None if season.alone else stops_early(season, name)
    if day is None or season.recorded is None:
        return None
    return running(season.known_by(day), name, made_on=made_on, parts=(PAGE,))


def progress_html(found: Running) -> str:
    """The one screen."""
    review, voice, section = found.review, found.review.voice, found.section
    heading, told, rate = chapter.alarm_said(found.result)
    made = voice.say("Made with neonatal_stats {version} from the records alone.", version=version())
    tables = {table.name: table_html(table, voice) for table in section.tables}
    return (
        environment()
        .get_template("progress.html.j2")
        .render(
            voice=voice,
            say=voice.say,
            title=title(review),
            css=style(title(review), review.tables, STYLES),
            section=section,
            day=voice.date(found.result.day),
            lost=_lost(found),
            not_yet=[one.text for one in section.sentences if one.role == "cannot say"],
            last_days=tuple(chapter.last_days_said(found.result)),
            alarm={"state": found.result.last_days.alarm, "heading": heading, "told": told, "rate": rate},
            outcomes=outcomes_said(review),
            counted=counted_line(section.counted, voice) if section.counted else "",
            footer=joined((byline(review), made)),
            svg=drawn,
            tables=tables,
        )
    )


def _lost(found: Running) -> dict[str, str]:
    """The one large number, the words after it, its range and what is known so far."""
    voice, main = found.review.voice, chapter.main(found.result)
    counts = voice.say(
        "{born} born so far, {lost} of them known to be lost.",
        born=voice.count(found.result.born),
        lost=voice.count(found.result.lost),
    )
    if main is None:
        return {"number": "", "words": voice.say("No share can be given yet."), "range": "", "counts": counts}
    of = out_of([main.share])
    words = voice.say(
        "in {all} {newborns} are lost by {age}, as far as this season has gone",
        all=voice.count(of),
        age=main.label,
    )
    span = between(voice, main.low, main.high, of) if main.low == main.low else ""
    told = voice.say("With chance allowed for: {range}.", range=span) if span else ""
    return {"number": whole(voice, main.share, of), "words": words, "range": told, "counts": counts}


def write_progress(
    found: Running,
    out: Path,
    *,
    force: bool = False,
    progress: Callable[[str], None] = lambda stage: None,
    parts: Collection[str] = PARTS,
) -> Path:
    """Write the folder of a season in progress, whole or not at all; the path of its page, or of the folder."""
    with written_whole(out, force=force) as folder:
        if PAGE in parts:
            progress(found.review.voice.say("Drawing the page"))
            write_page(found, folder)
        if WORKBOOK in parts:
            _write_workbook(found, folder / PROGRESS_XLSX)
        if TABLES in parts:
            write_tables(found.review, folder)
        if FIGURES in parts:
            write_figures(found.review, folder)
        write_json(progress_headline(found), folder)
    return Path(out) / PROGRESS_HTML if PAGE in parts else Path(out)


def write_page(found: Running, folder: Path) -> None:
    """`progress.html`."""
    (folder / PROGRESS_HTML).write_text(progress_html(found), encoding="utf-8")


def _write_workbook(found: Running, path: Path) -> None:
    """One sheet: the sentences, then the tables."""
    review, section = found.review, found.section
    options = {"strings_to_formulas": False, "strings_to_urls": False, "nan_inf_to_errors": False}
    with xlsxwriter.Workbook(str(path), options) as book:
        created = datetime.combine(review.made_on, datetime.min.time())
        book.set_properties({"title": title(review), "created": created})
        sheet = Sheet(book, section.name, [cells_of(table, review.voice) for table in section.tables])
        line = sheet.text(0, title(review), "title")
        for sentence in section.sentences:
            line = sheet.text(line, sentence.text)
        for cells in sheet.tables:
            line = sheet.titled(line + 1, cells)
        sheet.text(line + 1, byline(review))
        sheet.finish()


def progress_headline(found: Running) -> dict[str, Any]:
    """The headline numbers for other programs: the questions of a review are not asked of a running season."""
    review, days = found.review, found.result.last_days
    text = review.voice.say("Not asked of a season in progress.")
    nothing: dict[str, Any] = {
        "verdict": "season in progress",
        **dict.fromkeys(NUMBERS),
        "period": [],
        "against": [],
    }
    return {
        **about(review),
        "yardstick": [],
        "asked": {question: {**nothing, "text": text, "anchor": ""} for question in ASKED},
        "stands_out": [],
        "looked": {"comparisons": 0, "clear": 0, "clear_by_chance": 0.0,
                   "false_discovery_share": review.season.settings.false_discovery_share},
        "chapters": {found.section.name: "answered"},
        "in_progress": {
            "alarm": days.alarm,
            "born": days.born,
            "watched": days.watched,
            "lost": days.lost,
            "before": _against(days.before),
            "last_season": _against(days.last),
            "windows": [_window(row) for row in found.result.windows.to_dict("records")],
        },
    }  # fmt: skip


def _against(found: AgainstCurve | None) -> dict[str, Any] | None:
    if found is None:
        return None
    names = ("lost", "expected", "ratio", "low", "high", "reference_lost")
    if not chapter.can_compare(found):
        nothing: dict[str, Any] = dict.fromkeys(names)
        return nothing | {"lost": plain(found.lost), "reference_lost": plain(found.reference_lost)}
    return {name: plain(getattr(found, name)) for name in names}


def _window(row: dict[Any, Any]) -> dict[str, Any]:
    since = None if row["since"] is None or row["since"] != row["since"] else row["since"].date().isoformat()
    return {
        "window": row["window"],
        "watched": row["watched"],
        "enough": bool(row["enough"]),
        "readable_from": since,
    }
