"""Cells that hold a number, the time from one thing to another, or a limit ("<8"), which bounds a value and is none."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, time, timedelta
from types import MappingProxyType

import numpy as np

from neonatal_stats.season.cells.dates import LONGEST, clock_seconds, take_apart
from neonatal_stats.season.cells.parsed import Parsed, blank_sentences, sheet_error, tells
from neonatal_stats.season.finding import UNSAID, Said, say
from neonatal_stats.season.grid import RawColumn, objects
from neonatal_stats.vocabulary.columns import Column
from neonatal_stats.vocabulary.farm_words import litter_sizes
from neonatal_stats.vocabulary.spelling import unaccented, words
from neonatal_stats.vocabulary.units import Turn, turn

NUMBER = re.compile(r"([+-]?(?:\d[\d.,' \u202f\u2009]*|[.,]\d+))\s*([^\d\s.,+-].*)?")
OF_A_MOB = words("""
    joined scanned scanned_dry scanned_single scanned_twin scanned_triplet foetuses born marked weaned dams_died
""")
"""Counts of whole animals, of which there may be thousands."""
THOUSANDS = re.compile(r"[+-]?\d{1,3}([.,])\d{3}")
COMMA_DECIMAL = re.compile(r"[+-]?\d*,(?:\d{1,2}|\d{4,})\D*|.*\d\.\d{3},\d.*")
COMMA_THOUSANDS = re.compile(r".*\d,\d{3}\.\d.*|[+-]?\d{1,3}(,\d{3}){2,}\D*")
TWO_UNITS = re.compile(r"(\d+)\s*([^\d\s.,+-]+)[\s,]*(\d+(?:[.,]\d+)?)\s*([^\d\s.,+-]+)")
POINT_DECIMAL = re.compile(r"[+-]?\d*\.(?:\d{1,2}|\d{4,})\D*")

EITHER_SIGN = {
    ",": say("the comma may stand before thousands or before decimals"),
    ".": say("the point may stand before thousands or before decimals"),
}
NOT_BY = re.compile(
    r"(?:not(?: seen)?(?: yet)?(?: by| at| before| within)?|no(?: by)|>)\s*(?=\d)(.+)", re.IGNORECASE
)
NO_NUMBER = say("this is not a number")
NOT_IN_ITS_UNIT = say("this is not a number in the column's unit")
REMEDY = say(
    'write minutes after birth (45), a clock time (05:45) or "not by 06:30", or leave the cell empty'
)
LIMITED = ("igg_g_per_l", "total_protein_g_per_dl", "brix_pct")
"""Columns of samples of which a laboratory may give a limit."""
SAID = {
    "<": r"<|under|below|less than|fewer than|lower than|unter|weniger als|kleiner(?: als)?|moins de|inferieur a|sous"
    r"|menos de|menor (?:de|que)|inferior a|minder dan|lager dan|onder|mindre (?:enn|end|an)|lavere (?:enn|end)"
    r"|ponizej|mniej niz|meno di|sotto|inferiore a|llai na|o dan",
    "≤": r"≤|<=|=<|at most|no more than|up to|hochstens|maximal|bis(?: zu)?|au plus|como maximo|hoogstens"
    r"|najwyzej|al massimo",
    ">": r">|over|above|more than|greater than|higher than|uber|ueber|mehr als|grosser(?: als)?|groesser(?: als)?"
    r"|plus de|superieur a|mas de|mayor (?:de|que)|superior a|meer dan|hoger dan|boven|mer (?:enn|an)|mere end"
    r"|powyzej|wiecej niz|piu di|oltre|superiore a|mais de|maior que|mwy na",
    "≥": r"≥|>=|=>|\+|at least|no less than|from|ab|mindestens|wenigstens|au moins|al menos|minstens|minst|mindst"
    r"|co najmniej|almeno|pelo menos",
}
BEGINS = re.compile(
    "(?:" + "|".join(f"(?P<s{at}>{ways})" for at, ways in enumerate(SAID.values())) + r")\s*(?=[\d.,])(.+)",
    re.DOTALL,
)
ENDS = (
    (
        "≥",
        re.compile(
            r"(.*\d.*?)\s*(?:\+|(?:and|or) (?:more|over|above|higher)|oder mehr|und mehr|of meer|o mas|ou plus)"
        ),
    ),
    (
        "≤",
        re.compile(
            r"(.*\d.*?)\s*(?:(?:and|or) (?:less|under|below|lower)|oder weniger|of minder|o menos|ou moins)"
        ),
    ),
)
LONGEST_LIMIT = 40


def decimal_mark(raw: RawColumn, file_uses_comma: bool) -> str:
    """ "." or "," where the column's own cells prove it, else "?"; "?," where the file's separator hints at commas."""
    texts = [cell for cell in raw.distinct if isinstance(cell, str)]
    comma = any(COMMA_DECIMAL.fullmatch(text) for text in texts)
    point = any(POINT_DECIMAL.fullmatch(text) or COMMA_THOUSANDS.fullmatch(text) for text in texts)
    if comma != point:
        return "," if comma else "."
    return "?," if file_uses_comma and not point else "?"


def read_numbers(
    column: Column,
    raw: RawColumn,
    declared: Turn | None,
    file_uses_comma: bool,
    own: Mapping[str, str] = MappingProxyType({}),
) -> Parsed:
    """Numbers in the column's own unit; a unit in the cell is heeded, one in the map applies to bare numbers.

    ``own`` holds the farm's words for a litter size; how farms say single and twin is known.
    """
    size = len(raw.distinct)
    values, trouble, notes = np.full(size, np.nan), blank_sentences(size), blank_sentences(size)
    mark = decimal_mark(raw, file_uses_comma)
    words = litter_words(raw, own) if column.name == "litter_size" else {}
    for place, cell in enumerate(raw.distinct):
        spoken = words.get(_spoken(cell)) if words else None
        if spoken is not None:
            values[place] = spoken
        else:
            values[place], trouble[place], notes[place] = _number(column, cell, declared, mark)
    if column.kind == "integer":
        broken = ~np.isnan(values) & (values != np.floor(values))
        trouble[broken] = say("a whole number belongs here")
        values[broken] = np.nan
    remedy = say("write the bare number, or leave the cell empty")
    if column.unit:
        remedy = say("write the bare number in {unit}, or leave the cell empty", unit=column.unit)
    return Parsed(values, np.nan, trouble, remedy, notes, say("no action needed if this is what was meant"))


def _number(column: Column, cell: object, declared: Turn | None, mark: str) -> tuple[float, Said, Said]:
    """The number, what is wrong with it, and what is worth a look."""
    if not tells(cell):
        return np.nan, UNSAID, UNSAID
    if isinstance(cell, int | float | np.number):
        return _turned(float(cell), declared), UNSAID, UNSAID
    if isinstance(cell, date | time | timedelta):
        return np.nan, say("the spreadsheet has turned this number into a date or a time"), UNSAID
    text = str(cell)
    if sheet_error(text):
        return np.nan, sheet_error(text), UNSAID
    if len(text) <= LONGEST and (two := TWO_UNITS.fullmatch(text)):
        return _with_two_units(column, two)
    if len(text) > LONGEST or not (found := NUMBER.fullmatch(text)):
        return np.nan, NO_NUMBER, UNSAID
    unit = (found[2] or "").strip()
    if not unit and column.name in OF_A_MOB and THOUSANDS.fullmatch(found[1]) and found[1][0] in "123456789":
        number = float(re.sub("[.,]", "", found[1]))  # no mob has a part of an animal
        return (
            number,
            UNSAID,
            say("it was read as {number}, its sign as one of thousands", number=f"{number:,.0f}"),
        )
    number, wrong = plain_number(found[1], mark)
    if wrong or not unit:
        return _turned(number, declared), wrong, UNSAID
    return _with_unit(column, number, unit)


def litter_words(raw: RawColumn, own: Mapping[str, str] = MappingProxyType({})) -> dict[str, float]:
    """What a column's words say of the litter: "twin", "Zwilling", "gemelo"; the map's own words come first.

    A lone letter is read by those beside it: T is a twin, or a triplet where D (double) stands in the column too.
    """
    said, known = {_spoken(cell) for cell in raw.distinct if isinstance(cell, str)}, litter_sizes()
    words = {word: float(known[word][0]) for word in said if len(known.get(word, ())) == 1}
    for word in said - set(words):
        if len(one := known.get(word.removesuffix("s"), ())) == 1:
            words[word] = float(one[0])
    if "d" in said and "t" in said and "tr" not in said:
        words |= {"d": 2.0, "t": 3.0}
    if "d" in said and said & {"e", "z"}:
        words |= {"d": 3.0}
    return words | {_spoken(word): float(size) for word, size in own.items() if size}


def _spoken(cell: object) -> str:
    return " ".join(str(cell).casefold().rstrip(".").split()) if isinstance(cell, str) else ""


def _with_two_units(column: Column, two: re.Match[str]) -> tuple[float, Said, Said]:
    """9 lb 4 oz: both parts in units of the column, the second the smaller."""
    turns = turn(column, two[2]), turn(column, two[4])
    if turns[0] is None or turns[1] is None or turns[0][0] <= turns[1][0]:
        return np.nan, NOT_IN_ITS_UNIT, UNSAID
    value = float(two[1]) * turns[0][0] + float(two[3].replace(",", ".")) * turns[1][0]
    return value, UNSAID, _read_as(column, value)


def _with_unit(column: Column, number: float, unit: str) -> tuple[float, Said, Said]:
    turned = turn(column, unit)
    if turned is None:
        return np.nan, NOT_IN_ITS_UNIT, UNSAID
    value = _turned(number, turned)
    return value, UNSAID, UNSAID if turned == (1, 0) else _read_as(column, value)


def _read_as(column: Column, value: float) -> Said:
    return say("it was read as {number}, by the unit in the cell", number=f"{value:.6g} {column.unit}")


def _turned(number: float, by: Turn | None) -> float:
    if not np.isfinite(number):
        return np.nan
    return number if by is None else number * by[0] + by[1]


def plain_number(text: str, mark: str) -> tuple[float, Said]:
    """The number that a text holds, and what is wrong with it; ``mark`` is the column's decimal sign or "?"."""
    text = re.sub(r"[ '\u202f\u2009]", UNSAID, text)
    if THOUSANDS.fullmatch(text) and ("," in text, mark) in ((True, "?"), (False, "?,")):
        return np.nan, EITHER_SIGN["," if "," in text else "."]
    if "," in text and "." in text:
        mark = "," if text.rfind(",") > text.rfind(".") else "."
    elif mark[0] == "?":
        mark = "," if "," in text else "."
    other = "." if mark == "," else ","
    if other in text and not re.fullmatch(rf"[+-]?\d{{1,3}}(?:\{other}\d{{3}})+(?:\{mark}\d*)?", text):
        return _lone(text, other)
    bare = text.replace(other, "").replace(mark, ".")
    try:
        return float(bare), UNSAID
    except ValueError:
        return np.nan, NO_NUMBER


def _lone(text: str, sign: str) -> tuple[float, Said]:
    """A number with the other decimal sign than its column's: read where only one reading is possible."""
    if re.fullmatch(rf"[+-]?\d*\{sign}\d+", text):
        return float(text.replace(sign, ".")), UNSAID
    return np.nan, NO_NUMBER


def read_elapsed(column: Column, raw: RawColumn, declared: Turn | None, file_uses_comma: bool) -> Parsed:
    """Minutes after birth; ``extra`` keeps clock times, moments and which cells say "not by"."""
    size = len(raw.distinct)
    not_by = np.zeros(size, dtype=bool)
    clocks = np.full(size, np.nan)
    moments = np.full(size, np.datetime64("NaT"), dtype="datetime64[ns]")
    rest = np.empty(size, dtype=object)
    for at, cell in enumerate(raw.distinct):
        inner, not_by[at] = _bare(cell)
        clocks[at], moments[at], rest[at] = _clock_or_moment(inner)
    numbers = read_numbers(column, RawColumn(raw.codes, rest), declared, file_uses_comma)
    values, trouble = numbers.values, numbers.trouble
    negative = np.flatnonzero(values < 0)
    trouble[negative] = say("a time after birth cannot be negative")
    values[negative] = np.nan
    extra = {
        "not_by": (not_by, False),
        "clock_s": (clocks, np.nan),
        "moment": (moments, np.datetime64("NaT")),
    }
    return Parsed(values, np.nan, trouble, REMEDY, numbers.notes, numbers.note_remedy, extra)


def _bare(cell: object) -> tuple[object, bool]:
    found = NOT_BY.fullmatch(cell) if isinstance(cell, str) and len(cell) <= LONGEST else None
    return (found[1].strip(), True) if found else (cell, False)


def _clock_or_moment(cell: object) -> tuple[float, np.datetime64, object]:
    """Seconds since midnight, or a moment, or the cell itself where it is neither."""
    never = np.datetime64("NaT")
    if cell is None or isinstance(cell, int | float):
        return np.nan, never, cell
    if isinstance(cell, timedelta):
        return np.nan, never, cell.total_seconds() / 60
    looks_decimal = isinstance(cell, str) and re.fullmatch(r"\d+([.,]\d+)?", cell) is not None
    if not looks_decimal and (seconds := clock_seconds(cell)) is not None:
        return float(seconds), never, None
    moment = None if looks_decimal else take_apart(cell, {})
    if moment is not None and not moment.open and moment.clock_s is not None:
        try:
            return np.nan, np.datetime64(moment.at(True), "ns"), None
        except ValueError:
            return np.nan, never, cell
    return np.nan, never, cell


def limit_in(cell: object) -> tuple[str, str] | None:
    """The sign of a limit and what stands beside it; None where a cell holds no limit.

    >>> limit_in("< 8 g/l"), limit_in("below 10"), limit_in("+ 40"), limit_in("25+"), limit_in("8.5")
    (('<', '8 g/l'), ('<', '10'), ('≥', '40'), ('≥', '25'), None)
    """
    if not isinstance(cell, str) or len(cell) > LONGEST_LIMIT:
        return None
    said = " ".join(unaccented(cell.casefold()).split())
    if found := BEGINS.fullmatch(said):
        sign = next(sign for at, sign in enumerate(SAID) if found[f"s{at}"])
        return sign, str(found[found.lastindex or 0])
    return next(((sign, str(end[1])) for sign, way in ENDS if (end := way.fullmatch(said))), None)


def read_with_limits(cells: RawColumn, read: Callable[[RawColumn], Parsed]) -> Parsed:
    """A column of numbers as ``read`` reads it, its limits kept apart from the values, in ``extra`` as "<8"."""
    found = [limit_in(cell) for cell in cells.distinct]
    if not any(found):
        return read(cells)
    bare = [limit[1] if limit else cell for limit, cell in zip(found, cells.distinct, strict=True)]
    parsed = read(RawColumn(cells.codes, objects(bare)))
    values, notes = parsed.values.copy(), parsed.notes.copy()
    limits = np.full(len(values), None, dtype=object)
    for at, limit in enumerate(found):
        if limit and np.isfinite(values[at]):
            limits[at] = f"{limit[0]}{values[at]:.12g}"
            notes[at] = say(
                "it is a limit and no value, kept as {limit}: it counts where that tells the class, and in no mean",
                limit=limits[at],
            )
            values[at] = np.nan
    return replace(parsed, values=values, notes=notes, extra={**parsed.extra, "limit": (limits, None)})
