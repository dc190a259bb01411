"""Cells that hold text, an identity, or one or several of a column's own words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime, time, timedelta

import numpy as np

from neonatal_stats.season.cells.parsed import Parsed, blank_sentences, is_nothing, sheet_error
from neonatal_stats.season.finding import UNSAID, Said, say, term
from neonatal_stats.season.grid import RawColumn
from neonatal_stats.vocabulary.columns import Column
from neonatal_stats.vocabulary.farm_words import folded, words_of

SHORTENED = re.compile(r"\d(?:[.,]\d+)?[eE]\+?\d{1,2}")
PLAIN = re.compile(r"[A-Za-z]{0,3}[-_/ ]?\d{1,18}")
LARGEST_WHOLE = 2.0**53


def read_text(column: Column, raw: RawColumn) -> Parsed:
    """Text kept as it stands; identities keep their leading zeros and all their digits."""
    values, trouble = np.empty(len(raw.distinct), dtype=object), blank_sentences(len(raw.distinct))
    for place, cell in enumerate(raw.distinct):
        values[place], trouble[place] = _text(cell, column.name.endswith("_id"))
    remedy = say("format the column as text in the spreadsheet and type the value again")
    return Parsed(values, None, trouble, remedy, blank_sentences(len(values)))


def joined(parsed: Parsed, first: Mapping[str, str]) -> Parsed:
    """Identities of which several spellings are one, as the map says, by their first spelling."""
    if not first:
        return parsed
    values = np.array([first.get(value, value) for value in parsed.values], dtype=object)
    return replace(parsed, values=values)


def _text(cell: object, identity: bool) -> tuple[str | None, Said]:
    if isinstance(cell, str) and PLAIN.fullmatch(cell):
        return cell, UNSAID
    if cell is None or is_nothing(cell):
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
    return " ".join(str(word).replace("_", " ").casefold().split()).removesuffix(".")


def lexicon(column: Column, words: Iterable[str], own: Mapping[str, str]) -> dict[str, str]:
    """Every accepted spelling of a column's words; a farm's own words (from the map) come first.

    How farms say them in any language is known, except for words that elsewhere mean "not recorded" ("na").
    """
    words = tuple(words)
    spoken = words_of(column)
    accepted = {way: word for way, word in spoken.items() if word in words and not is_nothing(way)}
    for word in words:
        accepted[plain(word)] = word
        accepted.setdefault(plain(word).replace("-", " "), word)
    return accepted | {plain(word): meant for word, meant in own.items()}


def read_words(column: Column, raw: RawColumn, words: tuple[str, ...], own: Mapping[str, str]) -> Parsed:
    """One of the column's words, or several of them where the column takes several."""
    accepted = lexicon(column, words, own)
    values, trouble = np.empty(len(raw.distinct), dtype=object), blank_sentences(len(raw.distinct))
    for place, cell in enumerate(raw.distinct):
        several = column.kind == "terms" and plain(cell) not in accepted
        values[place], trouble[place] = (_several if several else _one)(column.name, cell, accepted, words)
    return Parsed(values, None, trouble, _remedy(column, words), blank_sentences(len(values)))


def _one(
    name: str, cell: object, accepted: Mapping[str, str], words: Iterable[str]
) -> tuple[str | None, Said]:
    spoken = plain(cell)
    if spoken not in accepted and "?" not in spoken:
        spoken = folded(spoken)
    if spoken in accepted:
        return accepted[spoken] or None, UNSAID
    if cell is None or (is_nothing(cell) and spoken not in ("none", "nil")):
        return None, UNSAID
    if sheet_error(cell):
        return None, sheet_error(cell)
    if name == "delivery" and spoken.isdigit():
        return None, say("a number for ease of birth means different things in different lists")
    return None, say("this is no word for {column}", column=term(name))


def _several(
    name: str, cell: object, accepted: Mapping[str, str], words: Iterable[str]
) -> tuple[str | None, Said]:
    if cell is None or is_nothing(cell):
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


def _remedy(column: Column, words: tuple[str, ...]) -> Said:
    return say(
        "write one of {words}, or say in the map under [words.{column}] which of these is meant",
        words=", ".join(words),
        column=column.name,
    )
