"""Text files: in which encoding, and which sign stands between the cells.

An encoding is proven, named by the map, or told by the words that each code page makes of it. One row is a line, unless
a cell goes on over several.
"""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from itertools import islice
from math import log
from sys import intern

from neonatal_stats.season.files.lines import SEPARATORS, count_lines, read_lines
from neonatal_stats.season.finding import CannotRead, say
from neonatal_stats.season.grid import LONGEST_CELL, Grid, Remark, check_size

SAMPLE_ROWS = 60
SAMPLE_LETTERS = 400_000
CHUNK = 5_000
MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
# The likelier first: where the words tell no difference, the first is taken.
CODE_PAGES: dict[str, float] = {
    "cp1252": 0.0,
    "cp1250": 0.3,
    "iso8859_15": 0.4,
    "iso8859_2": 0.6,
    "cp1257": 0.6,
    "cp850": 0.7,
    "mac_roman": 0.7,
    "cp852": 0.9,
    "cp437": 1.0,
    "cp865": 1.2,
    "iso8859_13": 2.0,
    "iso8859_14": 1.2,
    "cp775": 2.5,
    "mac_latin2": 2.5,
    "iso8859_4": 4.0,
}
TOKEN = re.compile(rb"[A-Za-z\x80-\xff'-]*[\x80-\xff][A-Za-z\x80-\xff'-]*")
PLAIN = re.compile(rb"[a-z]{2,20}")
APOSTROPHES = "'’ʼ-‐"
OPENING, CLOSING = "„“‘«‚¿¡", "”’“»…ªº°"
FAIR_SIGNS = frozenset("°£€§½¼¾²³µ«»–—‘’“”„…•×±´ºª¿¡·©®™†✓")
MOST_WORDS = 2_000
SAMPLE = 4_000_000
STRANGE_LETTER = log(1e-4)
WRONG_CASE, INSIDE, FUSED, ODD_SIGN, OTHER_LANGUAGE, DEGREES = -8.0, -9.0, -4.0, -6.0, -1.5, 5.0
KNOWN_WORD, KNOWN_BEGINNING, PLAIN_WORD, MOST_PLAIN = 4.0, 3.0, 1.2, 6.0
RARE = -1.0
CLOSE = 3.5
SHOWN = 3


def read_delimited(name: str, data: bytes, sha256: str, encoding: str = "") -> Grid:
    """A text file as a grid; the separator is the one that gives the most even rows.

    ``encoding`` is the one that the map names for a file that is not Unicode; "" leaves it to be told by its words.
    """
    text, remarks = decoded(name, data, encoding)
    declared = text[:4].lower() == "sep=" and len(text) > 4
    separator = text[4] if declared else _separator(text[:SAMPLE_LETTERS])
    lines, comma = count_lines(text), separator == ";"
    columns = _evenly(name, text, separator, lines) if text.count('"') % 2 == 0 else None
    if columns is not None:
        return Grid(name, "", columns, sha256, remarks, decimal_comma=comma, lines=lines)
    _check_cells(name, text, separator)
    rows = read_lines(text, separator)
    mended = _Columns(name)
    mended.add(rows.cells)
    return Grid(
        name,
        "",
        mended.cells,
        sha256,
        (*remarks, *rows.remarks),
        decimal_comma=comma,
        lines=lines,
        spans={place: span for place, span in enumerate(rows.spans) if span != 1},
        numbers=rows.starts if rows.remarks else (),
        aside=tuple(rows.aside),
    )


def _rows(text: str, separator: str) -> Iterator[list[str]]:
    csv.field_size_limit(LONGEST_CELL)
    return csv.reader(_stream(text), delimiter=separator)


def _stream(text: str) -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BytesIO(text.encode()), encoding="utf-8", newline="")


def _separator(sample: str) -> str:
    """The separator with which most of the first rows agree on the largest number of cells."""
    best, most = ",", 0
    for separator in SEPARATORS:
        try:
            rows = list(islice(_rows(sample, separator), SAMPLE_ROWS))
        except csv.Error:
            continue
        sizes = Counter(len(row) for row in rows if len(row) > 1)
        evenness = max((count * (size - 1) for size, count in sizes.items()), default=0)
        if evenness > most:
            best, most = separator, evenness
    return best


class _Columns:
    """Columns of cells while rows are added; a sheet that is no season of records is refused as soon as it is."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._height = 0
        self.cells: list[list[object]] = []

    def add(self, rows: Sequence[list[str]]) -> None:
        for first in range(0, len(rows), CHUNK):
            self._add(rows[first : first + CHUNK])

    def _add(self, rows: Sequence[list[str]]) -> None:
        width = max(len(self.cells), *map(len, rows))
        check_size(self._name, self._height + len(rows), width)
        self.cells.extend([None] * self._height for _ in range(width - len(self.cells)))
        whole = [row if len(row) == width else row + [""] * (width - len(row)) for row in rows]
        for column, cells in zip(self.cells, zip(*whole, strict=True), strict=True):
            column.extend(map(intern, cells))
        self._height += len(rows)


def _evenly(name: str, text: str, separator: str, lines: int) -> list[list[object]] | None:
    """The columns of a text of which every line is a row of one number of cells; None for any other text."""
    columns, rows = _Columns(name), _rows(text, separator)
    sizes: set[int] = set()
    read = 0
    try:
        while chunk := list(islice(rows, CHUNK)):
            sizes.update(map(len, chunk))
            read += len(chunk)
            columns.add(chunk)
    except csv.Error:
        return None
    return columns.cells if read == lines and len(sizes - {0}) <= 1 else None


def _check_cells(name: str, text: str, separator: str) -> None:
    """Refuse a line with a cell longer than any cell is."""
    for number, line in enumerate(_stream(text), start=1):
        if len(line) > LONGEST_CELL and max(map(len, line.split(separator))) > LONGEST_CELL:
            raise CannotRead(
                f"{name}, line {number:,}: one cell is longer than {LONGEST_CELL:,} characters; "
                "look for a quotation mark that is opened and never closed, and save the file again."
            )


def decoded(name: str, data: bytes, named: str = "") -> tuple[str, tuple[Remark, ...]]:
    """The text of a file and what is to be said of its encoding.

    A file that is Unicode throughout is read as that. Of any other the map may name the encoding (``named``); else
    the code page is taken whose words are likeliest in the languages known here, and said with some of the words.
    """
    for mark, encoding in MARKS:
        if data.startswith(mark):
            return _strictly(name, data, encoding), ()
    head = data[:4096]
    if head and head.count(0) > len(head) // 4:
        little = head[1::2].count(0) > head[::2].count(0)
        return _strictly(name, data, "utf-16-le" if little else "utf-16-be"), ()
    if b"\x00" in head:
        raise CannotRead(
            f"{name}: it is not a table but a binary file; save the records as CSV, XLSX, ODS or Parquet."
        )
    try:
        return data.decode("utf-8"), ()
    except UnicodeDecodeError as error:
        if error.end >= len(data) and error.reason == "unexpected end of data":
            return data[: error.start].decode("utf-8"), ()
    return _by_code_page(name, data, named)


def _strictly(name: str, data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        cut = "utf-16" in encoding and len(data) % 2 == 1 and error.end >= len(data)
        if cut or error.reason == "unexpected end of data":
            return data[: error.start].decode(encoding)
        raise CannotRead(
            f"{name}: it begins as {encoding} text but byte {error.start:,} does not fit; save it again as UTF-8."
        ) from None


def _by_code_page(name: str, data: bytes, named: str) -> tuple[str, tuple[Remark, ...]]:
    if named:
        try:
            return data.decode(named), ()
        except UnicodeDecodeError as error:
            raise CannotRead(
                f"{name}: the map says it is {named}, but its byte {error.start:,} does not fit; look at encoding in "
                "the map, or save the file again as UTF-8."
            ) from None
    readings = likely(data)
    best = readings[0]
    return data.decode(best.encoding, errors="replace"), (_said(best, readings[1:]),)


def _said(best: Reading, others: Sequence[Reading]) -> Remark:
    rival = next((other for other in others if best.likelihood - other.likelihood < CLOSE), None)
    if rival is None:
        words = sorted(best.words, key=lambda word: (-len(word), word))[:SHOWN]
        problem = say(
            "the file is not UTF-8; it was read as {encoding} ({words})",
            encoding=best.encoding,
            words=", ".join(words),
        )
        remedy = say("look whether accented letters came out right; if not, save the file again as UTF-8")
        return Remark("", problem, remedy)
    pairs = [(a, b) for a, b in zip(best.words, rival.words, strict=True) if a != b][:SHOWN]
    problem = say(
        "the file is not UTF-8; it was read as {encoding} ({words}) but may be {other} ({others})",
        encoding=best.encoding,
        words=", ".join(a for a, _ in pairs),
        other=rival.encoding,
        others=", ".join(b for _, b in pairs),
    )
    remedy = say(
        'say which in the map, as encoding = "{encoding}", or save the file again as UTF-8',
        encoding=best.encoding,
    )
    return Remark("", problem, remedy, "asked")


@dataclass(frozen=True)
class Reading:
    """What a code page makes of the words with letters beyond a to z, and how likely these words are."""

    encoding: str
    likelihood: float
    words: tuple[str, ...]


@dataclass(frozen=True)
class Language:
    """How likely each letter beyond a to z is among those of the language, and words of farm books."""

    letters: Mapping[str, float]
    rare: frozenset[str]
    words: frozenset[str]
    plain: frozenset[str]


@cache
def languages() -> dict[str, Language]:
    """The languages by which code pages are told apart."""
    text = (
        resources.files("neonatal_stats.season.files").joinpath("languages.toml").read_text(encoding="utf-8")
    )
    found = {}
    for code, said in tomllib.loads(text).items():
        letters: list[str] = said["letters"].split()[::2]
        parts = [float(part) for part in said["letters"].split()[1::2]]
        shares = {letter: log(part / sum(parts)) for letter, part in zip(letters, parts, strict=True)}
        words = (word for word in said["words"].split() if not word.isascii())
        found[code] = Language(
            shares, frozenset(said["rare"]), frozenset(words), frozenset(said["plain"].split())
        )
    return found


def likely(data: bytes) -> list[Reading]:
    """The readings of a file under the code pages that it can be, the likeliest first; equal readings are one."""
    sample = data[:SAMPLE]
    counted = Counter(TOKEN.findall(sample))
    tokens = [token for token, _ in sorted(counted.items(), key=lambda one: (-one[1], one[0]))[:MOST_WORDS]]
    plain = {word.decode() for word in set(PLAIN.findall(sample.lower()))}
    spoken = {
        code: min(MOST_PLAIN, PLAIN_WORD * len(language.plain & plain))
        for code, language in languages().items()
    }
    readings: dict[tuple[str, ...], Reading] = {}
    for encoding, rarity in CODE_PAGES.items():
        try:
            words = tuple(token.decode(encoding) for token in tokens)
        except UnicodeDecodeError:
            continue
        if words not in readings and not any("\x7f" <= sign <= "\x9f" for word in words for sign in word):
            readings[words] = Reading(encoding, _likelihood(words, spoken) - rarity, words)
    if not readings:
        readings[()] = Reading("cp1252", 0.0, ())
    return sorted(readings.values(), key=lambda reading: -reading.likelihood)


def _likelihood(words: Sequence[str], spoken: Mapping[str, float]) -> float:
    """How likely the words are if most are of one language; each word of another costs a little."""
    shapes = sum(_shape(word) for word in words)
    by_language = {code: [_in(word, language) for word in words] for code, language in languages().items()}
    best = [max(scores) for scores in zip(*by_language.values(), strict=True)]
    mostly = [
        spoken[code] + sum(max(own, other + OTHER_LANGUAGE) for own, other in zip(scores, best, strict=True))
        for code, scores in by_language.items()
    ]
    return float(shapes + max(mostly))


def _in(word: str, language: Language) -> float:
    """How likely the letters beyond a to z are in this language, and whether the word is known there."""
    small = word.lower()
    letters = sum(
        language.letters.get(sign, STRANGE_LETTER) for sign in small if not sign.isascii() and sign.isalpha()
    )
    letters += RARE * sum(sign in language.rare for sign in small)
    if small in language.words:
        return letters + KNOWN_WORD
    begun = any(small[:size] in language.words for size in range(5, len(small)))
    return letters + (KNOWN_BEGINNING if begun else 0.0)


def _sign(before: str, sign: str, after: str) -> float:
    """What a sign costs where it stands: inside a word, at its edge, by itself."""
    if sign not in FAIR_SIGNS:
        return INSIDE if before.isalpha() and after.isalpha() else ODD_SIGN
    if before.isalpha() and after.isalpha():
        return 0.0 if sign in APOSTROPHES else INSIDE
    fused = (after.isalpha() and sign not in OPENING) or (before.isalpha() and sign not in CLOSING)
    return FUSED if fused else 0.0


def _shape(word: str) -> float:
    """What speaks against a word in any language: capitals and signs inside it, signs that no book holds."""
    cost = 0.0
    for place, sign in enumerate(word):
        if sign.isascii():
            continue
        before, after = word[place - 1 : place], word[place + 1 : place + 2]
        if not sign.isalpha() or sign in "ªº":
            cost += _sign(before, sign, after)
        elif (sign.isupper() and (before.islower() or (before.isalpha() and after.islower()))) or (
            sign.islower() and before.isupper() and after.isupper() and sign != "ß"
        ):
            cost += WRONG_CASE
    return cost + (DEGREES if word.startswith(("°C", "°F")) else 0.0)
