"""The adviser's desk as it goes out: page, workbook, tables and numbers, and each keeper's place among the letters.

The page names the farms and is for the adviser alone; what stands in a farm's own folder holds that farm's figures, and
of the others no more than letters.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from typing import Any

import pandas as pd
import xlsxwriter

from neonatal_stats.chapters import desk as chapter
from neonatal_stats.chapters.desk import Desk, OnDesk
from neonatal_stats.drawing import Figure
from neonatal_stats.report.desk_farm import NOTE_HTML, Done, kept_in
from neonatal_stats.report.folder import KEEPER_HTML, PAGE_HTML
from neonatal_stats.report.page import counted_line, drawn, environment, style, table_html
from neonatal_stats.report.review import version
from neonatal_stats.report.workbook_sheet import Sheet, cells_of
from neonatal_stats.report.write import plain, write_json
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table
from neonatal_stats.tables.table import harmless
from neonatal_stats.words import Method, Sentence, Voice, joined, voice_of

SCHEMA = "neonatal_stats desk 1"
DESK_HTML, DESK_XLSX, AMONG_HTML = "desk.html", "desk.xlsx", "among.html"
FARMS = "farms"
STYLES = ("page.css", "first_page.css", "desk.css")
AMONG_STYLES = ("page.css", "desk.css")


HEADINGS = {True: "{Birthing} {season}: one farm", False: "{Birthing} {season}: {n} farms"}


@dataclass(frozen=True, eq=False)
class Block:
    """The farms of one species: what was counted, and how it is told."""

    desk: Desk
    voice: Voice
    heading: str
    sentences: tuple[Sentence, ...]
    figures: tuple[Figure, ...]
    tables: tuple[Table, ...]
    method: Method


@dataclass(frozen=True, eq=False)
class AtDesk:
    """Everything on the desk: the blocks, what became of each farm, the settings, and the day."""

    blocks: tuple[Block, ...]
    done: tuple[Done, ...]
    settings: Settings
    voice: Voice
    spoken_to: Mapping[str, Mapping[str, str]]
    made_on: date
    beside: tuple[str, ...] = ()

    @cached_property
    def failed(self) -> tuple[Done, ...]:
        """The farms that could not be reviewed."""
        return tuple(one for one in self.done if one.failed)

    @property
    def tables(self) -> tuple[Table, ...]:
        """Every table, in reading order."""
        return tuple(table for block in self.blocks for table in block.tables)


@dataclass(frozen=True)
class _Of:
    settings: Settings
    species: str = ""


def at_desk(
    farms: Path,
    done: Sequence[Done],
    settings: Settings,
    *,
    season: str = "",
    beside: Sequence[str] = (),
) -> AtDesk:
    """Put the farms that were reviewed side by side.

    Parameters
    ----------
    farms : the folder that holds a folder for each farm, as `desk_farm.review_farm` left it.
    season : the season to compare, by default the one that most farms of a species have under review.
    beside : files that stood beside the farms' folders and were not read.

    Raises
    ------
    CannotRead : where no farm has records of that season.
    """
    read, spoken_to = [], {}
    for one in done:
        if not one.failed:
            farm, spoken = kept_in(farms / one.folder)
            read.append(farm)
            spoken_to[one.name] = spoken
    held = sorted({name for one in read for name in one.measures.seasons})
    if season and read and season not in held:
        raise CannotRead(f"--season: no farm has records of {season!r}; they hold {', '.join(held)}")
    species = sorted({one.measures.species for one in read}, key=lambda name: (not name, name))
    by_species = [[one for one in read if one.measures.species == name] for name in species]
    desks = chapter.jointly([chapter.answer(some, settings, season) for some in by_species]) if read else ()
    blocks = tuple(_block(desk, several=len(desks) > 1) for desk in desks)
    voice = blocks[0].voice if len(blocks) == 1 else voice_of(_Of(settings))
    made = date.today()
    return AtDesk(blocks, tuple(done), settings, voice, spoken_to, made, tuple(beside))


def _block(desk: Desk, *, several: bool) -> Block:
    voice = voice_of(desk)
    tables = chapter.tables(desk)
    if several:
        tables = tuple(replace(one, name=f"{one.name}-{desk.species or 'mixed'}") for one in tables)
    figures = chapter.figures(desk)
    if several:
        figures = tuple(replace(one, name=f"{one.name}-{desk.species or 'mixed'}") for one in figures)
    farms = len(desk.farms)
    heading = voice.say(HEADINGS[farms == 1], season=desk.season, n=voice.count(farms))
    return Block(desk, voice, heading, chapter.sentences(desk), figures, tables, chapter.method(desk))


@dataclass(frozen=True)
class Line:
    """One farm in the list of what there is: its name, letter, and the files of its folder that can be opened."""

    name: str
    letter: str
    folder: str
    files: tuple[tuple[str, str], ...]
    failed: str = ""


def _lines(found: AtDesk, out: Path) -> tuple[Line, ...]:
    """Every farm, in order of name, with what stands in its folder."""
    say = found.voice.say
    letters = {
        row["name"]: row["letter"]
        for block in found.blocks
        for row in block.desk.farms[["name", "letter"]].to_dict("records")
    }
    offered = (
        (PAGE_HTML, say("review")),
        (KEEPER_HTML, say("keeper's sheet")),
        (AMONG_HTML, say("among the letters")),
        (NOTE_HTML, say("note on the records")),
    )
    return tuple(
        Line(
            one.name,
            letters.get(one.name, ""),
            f"{FARMS}/{one.folder}",
            tuple((name, words) for name, words in offered if (out / FARMS / one.folder / name).exists()),
            one.failed,
        )
        for one in found.done
    )


def title(found: AtDesk) -> str:
    """The page's title."""
    return found.voice.say("The adviser's desk")


def byline(found: AtDesk) -> str:
    """How many farms were read, and when the page was made."""
    voice = found.voice
    return voice.say(
        "{read} of {all} farms read. Page made on {day}.",
        read=voice.count(len(found.done) - len(found.failed)),
        all=voice.count(len(found.done)),
        day=voice.date(found.made_on),
    )


def desk_html(found: AtDesk, out: Path) -> str:
    """The page of the desk, which leads to what stands in the farms' folders below ``out``."""
    voice = found.voice
    made = voice.say("Made with neonatal_stats {version} from the records alone.", version=version())
    return (
        environment()
        .get_template("desk.html.j2")
        .render(
            found=found,
            voice=voice,
            say=voice.say,
            title=title(found),
            byline=byline(found),
            css=style(title(found), found.tables, STYLES),
            lines=_lines(found, out),
            beside=", ".join(found.beside),
            footer=joined((byline(found), made)),
            svg=drawn,
            table_html=lambda block, table: table_html(table, block.voice),
            counted=lambda block: counted_line(block.desk.counted, block.voice),
        )
    )


def among_html(found: AtDesk, block: Block, name: str) -> str:
    """One farm among the letters, in the language of its own settings: one side for its keeper."""
    spoken: dict[str, Any] = {**found.spoken_to[name]}
    desk = replace(block.desk, settings=replace(block.desk.settings, **spoken))
    voice = voice_of(desk)
    heading = voice.say("{farm} among the letters", farm=name)
    figures, told = chapter.among_figures(desk, name), chapter.method(desk)
    return (
        environment()
        .get_template("among.html.j2")
        .render(
            voice=voice,
            say=voice.say,
            title=heading,
            css=style(heading, (), AMONG_STYLES),
            sentences=chapter.among_sentences(desk, name),
            figures=figures,
            limits=told.limits[1:],
            made=voice.say("Page made on {day}.", day=voice.date(found.made_on)),
            svg=drawn,
        )
    )


def write_desk(found: AtDesk, out: Path, *, progress: Callable[[str], None] = lambda stage: None) -> None:
    """Write all that is the desk's own into ``out``, where the farms' folders stand already, and each farm's letter.

    `desk.html`, `desk.xlsx`, `tables/`, `codebook.csv` and `headline.json`.
    """
    progress("Placing each farm among the letters")
    for block in found.blocks:
        for name in block.desk.farms["name"]:
            folder = next(one.folder for one in found.done if one.name == name)
            text = among_html(found, block, name)
            (out / FARMS / folder / AMONG_HTML).write_text(text, encoding="utf-8")
    progress("Drawing the page of the desk")
    (out / DESK_HTML).write_text(desk_html(found, out), encoding="utf-8")
    _write_workbook(found, out / DESK_XLSX)
    (out / "tables").mkdir()
    for table in found.tables:
        harmless(table.raw()).to_csv(out / "tables" / f"{table.name}.csv", index=False, lineterminator="\n")
    books = [table.codebook() for table in found.tables]
    if books:
        pd.concat(books).to_csv(out / "codebook.csv", index=False, lineterminator="\n")
    write_json(desk_headline(found), out)


def _write_workbook(found: AtDesk, path: Path) -> None:
    """The answer in short on the first sheet, then a sheet for each table, and the farms that were not read."""
    say = found.voice.say
    options = {"strings_to_formulas": False, "strings_to_urls": False, "nan_inf_to_errors": False}
    with xlsxwriter.Workbook(str(path), options) as book:
        created = datetime.combine(found.made_on, datetime.min.time())
        book.set_properties({"title": title(found), "created": created})
        first = Sheet(book, say("At a glance"), [], (60, 40))
        line = first.text(0, title(found), "title")
        for block in found.blocks:
            line = first.text(line, block.heading, "heading")
            for sentence in block.sentences:
                line = first.text(line, sentence.text)
        if found.failed:
            line = first.text(line, say("Not read"), "heading")
        for one in found.failed:
            line = first.text(line, say("{farm}: {problem}", farm=one.name, problem=one.failed))
        first.text(line + 1, byline(found))
        first.finish(pages=1)
        for block in found.blocks:
            for table in block.tables:
                cells = cells_of(table, block.voice)
                sheet = Sheet(book, table.name.removeprefix("desk-")[:31], [cells])
                sheet.titled(0, cells)
                sheet.finish()


def desk_headline(found: AtDesk) -> dict[str, Any]:
    """The desk's numbers for other programs; described by `desk.schema.json` in this package."""
    return {
        "schema": SCHEMA,
        "version": version(),
        "made_on": found.made_on.isoformat(),
        "desks": [_desk_numbers(block.desk) for block in found.blocks],
        "not_read": [{"farm": one.name, "why": one.failed} for one in found.failed],
        "farms": [
            {
                "farm": one.name,
                "folder": f"{FARMS}/{one.folder}",
                "read_again": not (one.again or one.failed),
                "births": one.births,
                "to_know": one.to_know,
            }
            for one in found.done
        ],
    }


NUMBERS = (
    "events", "n", "share", "low", "high", "expected", "standardised", "excess", "excess_low", "excess_high",
    "other_low", "other_high", "p", "q",
)  # fmt: skip


def _desk_numbers(desk: Desk) -> dict[str, Any]:
    farms = desk.farms.to_dict("records")
    return {
        "species": desk.species,
        "season": desk.season,
        "window": desk.window.name,
        "spread": desk.spread,
        "false_discovery_share": desk.settings.false_discovery_share,
        "named": [row["name"] for row in farms if row["named"]],
        "order": [_farm_numbers(row, desk.read[str(row["name"])]) for row in farms],
    }


def _farm_numbers(row: Mapping[Any, Any], farm: OnDesk) -> dict[str, Any]:
    """One farm in its place in the order."""
    process = farm.measures.process.to_dict("records")
    moved = farm.moved
    return {
        "farm": row["name"],
        "letter": row["letter"],
        "season": row["season"],
        "compared": bool(row["compared"]),
        "why_not": row["why"],
        "named": bool(row["named"]),
        **{name: plain(float(row[name])) for name in NUMBERS},
        "beside_published": farm.beside,
        "process": {
            str(one["name"]): {
                part: plain(float(one[part])) for part in ("events", "n", "share", "low", "high")
            }
            for one in process
        },
        "records": dict(farm.measures.records),
        "change": moved
        and {
            "against": moved.versus,
            "estimate": plain(moved.estimate),
            "low": plain(moved.low),
            "high": plain(moved.high),
            "verdict": moved.verdict.value,
        },
        "plan": [{"action": what, "done": done, "verdict": came.value} for what, done, came in farm.kept],
    }


def to_tell(found: AtDesk) -> list[str]:
    """What is to be known before the numbers are used, a line a farm, for the terminal."""
    open_ones = [
        f"{one.name}: its note says what to know of its outcomes" for one in found.done if one.to_know
    ]
    return [*(f"{one.name}: not read. {one.failed}" for one in found.failed), *open_ones]
