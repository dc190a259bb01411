"""A column's distinct cells in their typed form; text, identities, and one or several of a column's own words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.finding import UNSAID, Finding, Said, say, term
from neonatal_stats.season.grid import RawColumn, objects
from neonatal_stats.vocabulary.agents import agent_said
from neonatal_stats.vocabulary.columns import OF_CAUSES, Column
from neonatal_stats.vocabulary.farm_words import words_of
from neonatal_stats.vocabulary.spelling import bare_words, plain_word, words

NOTHING = words(
    "- -- --- ? ?? . / n/a na n.a. #n/a nan nat null none nil unknown not_known not_recorded nr <na>"
)
ERRORS = words("#ref! #value! #div/0! #name? #num! #null! #spill! #calc! #####")
SHORTENED = re.compile(r"\d(?:[.,]\d+)?[eE]\+?\d{1,2}")
PLAIN = re.compile(r"[A-Za-z]{0,3}[-_/ ]?\d{1,18}")
PARTS = re.compile(r"\s*[/;,+&()]\s*|\s+[-–—]\s+|\s+(?:and|with|und|et|y|con)\s+")
KEPT_TEXT = ("product", "agent")
"""Columns that keep their text; what they say beside it is asked about where it is read."""
MOST_TOLD = 2
ONE_FOR_ALL = {
    "a spreadsheet's number of a day; it was read as {when}": "when",
    "it was read as {number}, by the unit in the cell": "number",
}
"""Notes of a cell that are told once for a column, by their value."""
LARGEST_WHOLE = 2.0**53


@dataclass(frozen=True, eq=False)
class Parsed:
    """Typed values of the distinct cells, with what was wrong (`UNSAID` = nothing) and what is worth a look.

    ``extra`` holds further typed arrays of the same length, such as whether a moment is a whole day.
    """

    values: NDArray[Any]
    missing: object
    trouble: NDArray[np.object_]
    remedy: Said
    notes: NDArray[np.object_]
    note_remedy: Said = UNSAID
    extra: Mapping[str, tuple[NDArray[Any], object]] = field(default_factory=dict)


def is_nothing(cell: object) -> bool:
    """True for the words that mean "not recorded"."""
    if not isinstance(cell, str) or cell[:1].isdigit():
        return False
    return cell.casefold().replace(" ", "_") in NOTHING


def tells(cell: object) -> bool:
    """True for a cell that holds anything but a word for "not recorded"."""
    return cell is not None and not is_nothing(cell)


def sheet_error(cell: object) -> Said:
    """The sentence for a spreadsheet's own error value, else `UNSAID`."""
    if isinstance(cell, str) and (cell.casefold() in ERRORS or set(cell) == {"#"}):
        return say("the spreadsheet could not work this cell out")
    return UNSAID


def blank_sentences(size: int) -> NDArray[np.object_]:
    """No sentence yet, for each distinct cell."""
    return objects([UNSAID] * size)


def findings_of(raw: RawColumn, parsed: Parsed, column: str) -> list[Finding]:
    """The rows whose cell could not be read, and those whose cell was read but deserves a look."""
    found = []
    if any(parsed.trouble):
        at, sentences = _rows_with(raw, parsed.trouble)
        found.append(Finding(at, column, raw.at(at), sentences, parsed.remedy, "set to missing"))
    if any(parsed.notes):
        at, sentences = _rows_with(raw, _told_once(raw, parsed.notes))
        found.append(Finding(at, column, raw.at(at), sentences, parsed.note_remedy, "noted"))
    return found


def _told_once(raw: RawColumn, notes: NDArray[np.object_]) -> NDArray[np.object_]:
    """Notes that differ from cell to cell only by what was read are one with two examples, where there are many."""
    told = notes.copy()
    for template in {note.template for note in notes if note}:
        here = [at for at, note in enumerate(notes) if note and note.template == template and raw.uses[at]]
        if len(here) <= MOST_TOLD or template not in ONE_FOR_ALL:
            continue
        value = ONE_FOR_ALL[template]
        shown = ", ".join(f'"{raw.distinct[at]}" = {notes[at].filled[value]}' for at in here[:MOST_TOLD])
        told[here] = (
            say("spreadsheets' numbers of days, read as dates, such as {examples}", examples=shown)
            if value == "when"
            else say("read by the units in the cells, such as {examples}", examples=shown)
        )
    return told


def left_open(
    raw: RawColumn, parsed: Parsed, column: str, words: frozenset[str], table: str
) -> tuple[Parsed, list[Finding]]:
    """Cells whose word the map leaves open: not recorded, and asked about; text is kept as it stands."""
    here = np.array(
        [isinstance(cell, str | float | int) and plain(cell) in words for cell in raw.distinct], dtype=bool
    )
    here &= parsed.trouble != ""
    if not here.any() or column in KEPT_TEXT:
        return parsed, []
    values, trouble = parsed.values.copy(), parsed.trouble.copy()
    values[here], trouble[here] = parsed.missing, UNSAID
    at = np.flatnonzero(raw.rows_of(here)).astype(np.int64)
    problem = say("the map leaves this word open, and it counts as not recorded")
    remedy = say(
        'say in the map under [{table}.words.{column}] what it means, or "" if it says nothing',
        table=table,
        column=column,
    )
    return replace(parsed, values=values, trouble=trouble), [
        Finding(at, column, raw.at(at), problem, remedy, "asked")
    ]


def _rows_with(raw: RawColumn, sentences: NDArray[np.object_]) -> tuple[NDArray[np.int64], list[Said]]:
    by_row = raw.spread(sentences, UNSAID)
    at = np.flatnonzero(by_row != "")
    return at.astype(np.int64), list(by_row[at])


def _parsed(read: list[tuple[str | None, Said]], remedy: Said) -> Parsed:
    values, trouble = (objects(list(each)) for each in (zip(*read, strict=True) if read else ((), ())))
    return Parsed(values, None, trouble, remedy, blank_sentences(len(values)))


def read_text(column: Column, raw: RawColumn) -> Parsed:
    """Text kept as it stands; identities keep their leading zeros and all their digits."""
    identity = column.name.endswith("_id")
    remedy = say("format the column as text in the spreadsheet and type the value again")
    return _parsed([_text(cell, identity) for cell in raw.distinct], remedy)


def joined(parsed: Parsed, first: Mapping[str, str]) -> Parsed:
    """Identities of which several spellings are one, as the map says, by their first spelling."""
    if not first:
        return parsed
    return replace(parsed, values=objects([first.get(value, value) for value in parsed.values]))


def _text(cell: object, identity: bool) -> tuple[str | None, Said]:
    if isinstance(cell, str) and PLAIN.fullmatch(cell):
        return cell, UNSAID
    if not tells(cell):
        return None, UNSAID
    if isinstance(cell, int | float | np.number):
        return _text_of_number(float(cell))
    if isinstance(cell, datetime | date | time | timedelta):
        return None, say("the spreadsheet has turned this text into a date or a time")
    text = " ".join(str(cell).split())
    if text[:1] == "'" and text[1:2] in tuple("=+-@"):
        text = text[1:]
    if identity and SHORTENED.fullmatch(text):
        return None, say("the spreadsheet has shortened this number and its last digits are lost")
    return (None, sheet_error(text)) if sheet_error(text) else (text, UNSAID)


def _text_of_number(number: float) -> tuple[str | None, Said]:
    if not np.isfinite(number):
        return None, UNSAID
    if abs(number) > LARGEST_WHOLE:
        return None, say(
            "the spreadsheet keeps 15 digits of a number and the last digits of this one are lost"
        )
    return (f"{number:.0f}" if number == int(number) else f"{number:.15g}"), UNSAID


def plain(word: object) -> str:
    """A word without capitals, doubled spaces, underscores and a closing point."""
    if isinstance(word, float) and word.is_integer():
        word = int(word)
    return plain_word(str(word))


def _says(column: Column, way: str) -> bool:
    return not is_nothing(way) or (column.name == "autolysed" and way in ("none", "nil"))


OF_THE_SEXES = {
    ("e", "r"): "ewe, ram",
    ("h", "b"): "heifer, bull",
    ("g", "t"): "gimmer, tup",
    ("g", "b"): "girl, boy",
    ("h", "m"): "hembra, macho",
    ("w", "m"): "weiblich, männlich",
}
"""Letters, female and male, that mean the sexes where a column holds both and no other letter of a sex."""
OF_CASTRATES = {"w": "wether", "s": "steer"}


def by_company(column: Column, cells: RawColumn) -> dict[str, str]:
    """Letters of a column of sexes that the others beside them explain: "E" beside "R"."""
    if column.name != "sex":
        return {}
    letters = {plain(cell) for cell in cells.distinct[cells.uses > 0] if isinstance(cell, str)}
    letters = {letter for letter in letters if len(letter) == 1 and letter.isalpha()}
    for female, male in OF_THE_SEXES:
        castrates = {letter: "castrated male" for letter in OF_CASTRATES if letter not in (female, male)}
        if {female, male} <= letters <= {female, male, *castrates}:
            return {female: "female", male: "male", **castrates}
    return {}


def lexicon(
    column: Column, words: Iterable[str], own: Mapping[str, str], cells: RawColumn | None = None
) -> dict[str, str]:
    """Every accepted spelling of a column's words; a farm's own words (from the map) come first.

    How farms say them in any language is known, except for words that elsewhere mean "not recorded" ("na"); of decay,
    "none" is a finding.
    """
    company = by_company(column, cells) if cells is not None else {}
    return _spellings(column, tuple(words)) | company | {plain(word): meant for word, meant in own.items()}


@cache
def _spellings(column: Column, words: tuple[str, ...]) -> dict[str, str]:
    """Every spelling of a column's words in any language: the same for each sheet, so they are gathered once."""
    accepted = {way: word for way, word in words_of(column).items() if word in words and _says(column, way)}
    for word in words:
        accepted[plain(word)] = word
        accepted.setdefault(plain(word).replace("-", " "), word)
    return accepted


def read_words(column: Column, raw: RawColumn, words: tuple[str, ...], own: Mapping[str, str]) -> Parsed:
    """One of the column's words, or several of them where the column takes several."""
    accepted = lexicon(column, words, own, raw)
    remedy = say(
        "write one of {words}, or say in the map under [words.{column}] which of these is meant",
        words=", ".join(words),
        column=column.name,
    )
    several = column.kind == "terms"
    return _parsed(
        [
            (_several if several and plain(cell) not in accepted else _one)(
                column.name, cell, accepted, words
            )
            for cell in raw.distinct
        ],
        remedy,
    )


def _one(
    name: str, cell: object, accepted: Mapping[str, str], words: Iterable[str]
) -> tuple[str | None, Said]:
    spoken = plain(cell)
    if spoken not in accepted and "?" not in spoken:
        spoken = bare_words(spoken)
    if spoken in accepted:
        return accepted[spoken] or None, UNSAID
    if name in OF_CAUSES and (meant := cause_of(str(cell), accepted)):
        return meant, UNSAID
    if cell is None or (is_nothing(cell) and spoken not in ("none", "nil")):
        return None, UNSAID
    if name == "laboratory" and (said := agent_said(str(cell))) and said in set(words):
        return said, UNSAID
    if sheet_error(cell):
        return None, sheet_error(cell)
    if name == "delivery" and spoken.isdigit():
        return None, say("a number for ease of birth means different things in different lists")
    return None, say("this is no word for {column}", column=term(name))


def cause_of(text: str, accepted: Mapping[str, str]) -> str:
    """The one cause that all parts of a text name: "starvation / hypothermia", "trauma - laid on"; else ""."""
    parts = [part for part in PARTS.split(text) if part.strip()]
    meant = {accepted.get(plain(part)) or accepted.get(bare_words(part)) for part in parts}
    only = next(iter(meant)) if len(meant) == 1 and "?" not in text else None
    return only or ""


def _several(
    name: str, cell: object, accepted: Mapping[str, str], words: Iterable[str]
) -> tuple[str | None, Said]:
    if not tells(cell):
        return None, UNSAID
    parts = [part for part in re.split(r"[;,+/&\n]|\band\b", str(cell)) if part.strip()]
    meant = [_one(name, part, accepted, words) for part in parts]
    wrong = next((sentence for _, sentence in meant if sentence), UNSAID)
    chosen = {word for word, _ in meant}
    if wrong or not chosen - {None}:
        return None, wrong
    if "none" in chosen and len(chosen - {None}) > 1:
        return None, say("it says none and something else at once")
    return "; ".join(word for word in words if word in chosen), UNSAID
