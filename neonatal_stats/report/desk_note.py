"""A note on a farm's records, for its keeper: what was read, what must be known, what to mend, what to record next."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from neonatal_stats.report.at_a_glance import to_record
from neonatal_stats.report.outcomes import outcomes_said
from neonatal_stats.report.page import environment, style
from neonatal_stats.report.review import Review
from neonatal_stats.season.finding import printable
from neonatal_stats.season.ledger import Matter, matters
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice, joined, voice_of
from neonatal_stats.words.plain import asks
from neonatal_stats.words.problems import heard

NOTE_HTML, NOTE_TXT = "note.html", "note.txt"
STYLES = ("page.css", "desk.css")
ENDINGS = ("asked", "set aside", "set to missing")
"""What a keeper can answer or mend, what weighs most first."""
MOST_MATTERS, MOST_ROWS, MOST_VALUES, MOST_ASKED = 12, 8, 3, 3


@dataclass(frozen=True)
class Note:
    """The note: its heading, what was read, what must be known of outcomes, what to mend, what to write down."""

    title: str
    read: str
    outcomes: tuple[str, ...]
    mend: tuple[str, ...]
    more: str
    record: str
    foot: str
    voice: Voice


def note_of(name: str, review: Review) -> Note:
    """The note of a farm that was read."""
    voice, found = review.voice, tuple(_matters(review))
    more = len(found) - MOST_MATTERS
    columns = to_record(review)[:MOST_ASKED]
    record = voice.say(
        "Of each {newborn}: {columns}.", columns=joined((asks(voice, one) for one in columns), "; ")
    )
    return Note(
        voice.say("A note on the records of {farm}", farm=name),
        _read(review),
        tuple(map(printable, outcomes_said(review))),
        tuple(_told(voice, one) for one in found[:MOST_MATTERS]),
        voice.say("Further matters, of less weight: {n}.", n=voice.count(more)) if more > 0 else "",
        record if columns else "",
        _foot(voice),
        voice,
    )


def note_of_failure(name: str, failed: str, settings: Settings) -> Note:
    """The note of a farm whose files could not be read: the one thing to mend first."""
    voice = voice_of(_Of(settings))
    said = voice.say("The files could not be read, so there is no review yet.")
    title = voice.say("A note on the records of {farm}", farm=name)
    return Note(title, said, (), (printable(failed),), "", "", _foot(voice), voice)


@dataclass(frozen=True)
class _Of:
    """What is spoken of where no records are at hand."""

    settings: Settings
    species: str = ""


def _foot(voice: Voice) -> str:
    return voice.say("Mend it in your own files and send them again; nothing was changed in them.")


def _read(review: Review) -> str:
    """How many rows of births were read and how they were used."""
    voice, births = review.voice, [one for one in review.season.balances if one.table == "births"]
    counted = {
        name: voice.count(sum(getattr(one, name) for one in births))
        for name in ("rows_read", "used", "used_with_missing", "set_aside", "no_record")
    }
    return voice.say(
        "Rows of births read: {rows_read}. Used whole: {used}; used with a field missing: {used_with_missing}; set "
        "aside: {set_aside}; no record: {no_record}.",
        **counted,
    )


def _matters(review: Review) -> Iterator[Matter]:
    for ending in ENDINGS:
        yield from matters(review.season.problems, ending)


def _told(voice: Voice, matter: Matter) -> str:
    """One matter in one line: where, what, what was found there, and what to do."""
    problem, remedy = heard(voice, matter.problem), heard(voice, matter.remedy)
    cells = ", ".join(f'"{value}"' for value, _ in matter.found[:MOST_VALUES])
    text = voice.say("{place}: {problem}. To mend: {remedy}.", place=_place(voice, matter), problem=problem,
                     remedy=remedy)  # fmt: skip
    return printable(joined((text, voice.say("Found: {cells}.", cells=cells))) if cells else text)


def _place(voice: Voice, matter: Matter) -> str:
    """File, sheet, rows and column, as far as they are known."""
    shown = ", ".join(matter.rows[:MOST_ROWS])
    more = len(matter.rows) - MOST_ROWS
    rows = voice.say("{rows} and {n} more", rows=shown, n=voice.count(more)) if more > 0 else shown
    parts = (
        matter.file or voice.say("All files"),
        matter.sheet and voice.say("sheet {sheet}", sheet=matter.sheet),
        rows and voice.say("rows {rows}" if len(matter.rows) > 1 else "row {rows}", rows=rows),
        matter.column and voice.say("column {column}", column=matter.column),
    )
    return ", ".join(filter(None, parts))


def write_note(note: Note, folder: Path) -> None:
    """`note.html`, to print, and `note.txt`, to put into a letter."""
    (folder / NOTE_HTML).write_text(_html(note), encoding="utf-8")
    (folder / NOTE_TXT).write_text(_text(note), encoding="utf-8")


def _html(note: Note) -> str:
    template = environment().get_template("note.html.j2")
    return template.render(note=note, voice=note.voice, say=note.voice.say, css=style(note.title, (), STYLES))


def _text(note: Note) -> str:
    say = note.voice.say
    blocks = [note.title, note.read]
    for heading, lines in (
        (say("To be known before the numbers are used"), note.outcomes),
        (say("To mend"), (*note.mend, *filter(None, (note.more,)))),
        (say("To write down next season"), tuple(filter(None, (note.record,)))),
    ):
        if lines:
            blocks.append("\n".join((f"{heading}:", *(f"- {line}" for line in lines))))
    return "\n\n".join((*blocks, note.foot)) + "\n"
