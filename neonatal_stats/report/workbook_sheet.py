"""One sheet of the workbook: as wide as its words need, every row as high, printed on A4.

A table stands on it as cells: numbers, days and words, each with the format that a person reads it in.
"""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from itertools import accumulate
from typing import Any

import pandas as pd
from pandas.api.types import is_datetime64_any_dtype

from neonatal_stats.tables import Table, sentence_case
from neonatal_stats.tables.columns import KINDS, Column
from neonatal_stats.tables.table import harmless, plain
from neonatal_stats.vocabulary.languages import ENGLISH
from neonatal_stats.words import Voice

WHOLE = re.compile(r"0|[1-9]\d{0,8}")
DAYS = {ENGLISH: "[$-809]d mmm yyyy", "de": "[$-407]d. mmm yyyy"}
"""The format of a day in each language; any other has the English one."""
ENDS = {
    "low": "{heading}, low",
    "high": "{heading}, high",
    "from": "{heading}, from (h)",
    "to": "{heading}, to (h)",
    "events": "{heading}, number",
    "n": "{heading}, of how many",
    "median": "{heading}, median",
}


@dataclass(frozen=True)
class Cells:
    """A table laid out in cells: a heading a column, the values row by row, the number format of each ("" for none).

    ``choices`` are the words to choose from in a column that is left open, none in the others.
    """

    table: Table
    headings: list[str]
    body: list[list[Any]]
    formats: list[list[str]]
    choices: list[tuple[str, ...]]

    def numeric(self, position: int) -> bool:
        """Whether a column holds numbers, days among them."""
        return any(row[position] != "" and not isinstance(row[position], str) for row in self.body)

    def longest(self, position: int) -> int:
        """Of the words in one column, in letters."""
        return max((len(row[position]) for row in self.body if isinstance(row[position], str)), default=0)


def cells_of(table: Table, voice: Voice) -> Cells:
    """The table's cells; what stands together in a cell of the page, as an interval does, has columns of its own."""
    frame, used = harmless(table.frame), set[str]()
    headings: list[str] = []
    values: list[list[Any]] = []
    formats: list[list[str]] = []
    choices: list[tuple[str, ...]] = []
    for column in table.shown:
        beside = headings[-1] if headings else ""
        for name, heading in zip(_kept(column, frame), _headings(column, voice), strict=True):
            headings.append(_unique(heading, beside, used))
            values.append(_values(frame[name]))
            formats.append(_formats(column, frame, name, voice))
            choices.append(column.choices)
    return Cells(table, headings, _rows(values), _rows(formats), choices)


def _rows(by_column: list[list[Any]]) -> list[list[Any]]:
    return [list(row) for row in zip(*by_column, strict=True)]


def _kept(column: Column, frame: pd.DataFrame) -> tuple[str, ...]:
    """The frame's columns that are kept: the day itself where the page has it in words."""
    if column.raw and is_datetime64_any_dtype(frame[column.raw]):
        return (column.raw,)
    return column.parts


def _headings(column: Column, voice: Voice) -> list[str]:
    """Of the column, or of each of several numbers that stand in one cell of the page."""
    heading = sentence_case(column.heading)
    return [voice.say(ENDS[end], heading=heading) for end in column.ends] if column.more else [heading]


def _unique(heading: str, beside: str, used: set[str]) -> str:
    """The heading; where an earlier column has it too, after the heading that it stands beside, or numbered."""
    names = [heading, f"{beside}: {heading}"] if beside else [heading]
    names += [f"{heading} {n}" for n in range(2, len(used) + 3)]
    name = next(name for name in names if name.lower() not in used)
    used.add(name.lower())
    return name


def _values(column: pd.Series) -> list[Any]:
    """Numbers as numbers, also where a column of words holds nothing else, such as the years of seasons."""
    values = [_value(value) for value in column]
    words = [value for value in values if value != ""]
    if words and all(isinstance(word, str) and WHOLE.fullmatch(word) for word in words):
        return [int(value) if value else "" for value in values]
    return values


def _value(value: Any) -> Any:
    if isinstance(value, pd.Timestamp):
        return value.to_pydatetime()
    value = plain(value)
    if pd.isna(value):
        return ""
    if isinstance(value, bool | int | float | str):
        return value
    return value.item() if hasattr(value, "item") else str(value)


def _formats(column: Column, frame: pd.DataFrame, name: str, voice: Voice) -> list[str]:
    """Of each cell of one column; rows may differ in kind."""
    if is_datetime64_any_dtype(frame[name]):
        return [DAYS.get(voice.language, DAYS[ENGLISH])] * len(frame)
    if not column.kinds:
        return [_spoken(KINDS[column.kind].cell, voice)] * len(frame)
    kinds = frame[column.kinds].astype(str)
    spoken = {kind: _spoken(KINDS[kind].cell, voice) for kind in kinds.unique()}
    return [spoken[kind] for kind in kinds]


def _spoken(cell: str, voice: Voice) -> str:
    """A number format with what stands in it as words, such as "<0.001", in the voice's language."""
    return re.sub(r'"([^"]*)"', lambda words: f'"{voice.signs(words[1])}"', cell)


def is_day(value: Any) -> bool:
    """Whether a cell holds a day."""
    return isinstance(value, datetime)


A4 = 9  # the number of that paper in a workbook
NARROWEST, WIDEST, WIDEST_HEADING = 9, 40, 18
DAY = 12
"""Widths in letters: of any column, of the widest, of one whose heading is its longest word, of one of days."""
ACROSS = 110
"""A text over several columns is as wide as those that fit into so many letters."""
LINE = 15.0
"""The height of a line in points."""
GAP, PICTURE, SCALE = 3, 74, 1.5
"""Widths in letters: before a picture, and of its column; how much larger it is shown than the file says."""
LETTER = 5.25
"""The width of a letter in points."""
FILTERED = 10
"""Tables of more rows have a filter in each heading."""
STYLES: dict[str, dict[str, Any]] = {
    "text": {},
    "title": {"bold": True, "font_size": 14},
    "heading": {"bold": True, "font_size": 12},
    "number": {"bold": True, "font_size": 18},
    "link": {"font_color": "#0b4f8a", "underline": 1},
}


class Sheet:
    """A sheet that will hold ``tables``, by which its columns are as wide as they must be."""

    def __init__(self, book: Any, name: str, tables: Sequence[Cells], widths: Sequence[float] = ()) -> None:
        self.tables = tuple(tables)
        self.sheet = book.add_worksheet(name)
        self._book, self._formats = book, dict[tuple[tuple[str, Any], ...], Any]()
        self._bottom = 0
        self.widths = list(widths) or _widths(self.tables)
        for position, width in enumerate(self.widths):
            self.sheet.set_column(position, position, width)
        within = sum(end <= ACROSS for end in accumulate(self.widths))
        self._last = max(min(within, len(self.widths)), min(2, len(self.widths))) - 1

    def style(self, **wanted: Any) -> Any:
        """A format of the book, made once."""
        key = tuple(sorted(wanted.items()))
        if key not in self._formats:
            self._formats[key] = self._book.add_format(wanted)
        return self._formats[key]

    def text(self, row: int, text: str, style: str = "text", first: int = 0) -> int:
        """Write a text across the sheet from the column ``first``, in as many lines as it needs; the row after it."""
        look = {**STYLES[style], "text_wrap": True, "valign": "top"}
        size = look.get("font_size", 11) / 11
        wide = sum(self.widths[first : self._last + 1]) / size
        lines = _lines(text, wide)
        if self._last > first:
            self.sheet.merge_range(row, first, row, self._last, text, self.style(**look))
        else:
            self.sheet.write_string(row, first, text, self.style(**look))
        self.sheet.set_row(row, lines * LINE * size + (3 if size > 1 else 0))
        self._bottom = max(self._bottom, row)
        return row + 1

    def titled(self, row: int, cells: Cells) -> int:
        """Write a table below its title, and its note below it; the row after them."""
        return self.table(self.text(row, sentence_case(cells.table.title), "heading"), cells)

    def table(self, top: int, cells: Cells) -> int:
        """Write a table with its headings in the row `top`, and its note; the row after them."""
        last = top + max(len(cells.body), 1)
        self.sheet.add_table(
            top,
            0,
            last,
            len(cells.headings) - 1,
            {
                "style": "Table Style Light 1",
                "autofilter": len(cells.body) > FILTERED,
                "columns": [
                    {"header": heading, "header_format": self._head(cells.numeric(position))}
                    for position, heading in enumerate(cells.headings)
                ],
            },
        )
        lines = [_lines(text, wide - 3) for text, wide in zip(cells.headings, self.widths, strict=False)]
        self.sheet.set_row(top, max(lines) * LINE + 2)
        for row, (values, formats) in enumerate(zip(cells.body, cells.formats, strict=True), start=top + 1):
            self._row(row, values, formats)
        for position, choices in enumerate(cells.choices):
            if choices and cells.body:
                wanted = {"validate": "list", "source": list(choices), "ignore_blank": True}
                self.sheet.data_validation(top + 1, position, last, position, wanted)
        self._bottom = max(self._bottom, last)
        return self.text(last + 1, cells.table.note) if cells.table.note else last + 1

    def _head(self, numeric: bool) -> Any:
        """The format of a heading, set above its numbers or its words."""
        side = "right" if numeric else "left"
        return self.style(bold=True, bottom=1, text_wrap=True, valign="bottom", align=side)

    def _row(self, row: int, values: list[Any], formats: list[str]) -> None:
        lines = 1
        for position, (value, shown) in enumerate(zip(values, formats, strict=True)):
            look: dict[str, Any] = {"valign": "top"}
            if isinstance(value, str):
                look["text_wrap"] = True
                lines = max(lines, _lines(value, self.widths[position]))
            elif shown:
                look["num_format"] = shown
            if value != "":
                self.sheet.write(row, position, value, self.style(**look))
        if lines > 1:
            self.sheet.set_row(row, lines * LINE)

    def link(self, row: int, sheet: str, words: str) -> None:
        """Write words in the first column that lead to another sheet."""
        self.sheet.write_url(
            row, 0, f"internal:'{sheet}'!A1", self.style(**STYLES["link"], valign="top"), words
        )

    def finish(self, pages: int = 0) -> None:
        """Set it for paper: A4, its name and pages below, as many pages long as it needs (0) or so many."""
        self.sheet.set_paper(A4)
        self.sheet.set_landscape()
        self.sheet.print_area(0, 0, self._bottom, max(len(self.widths) - 1, 0))
        self.sheet.fit_to_pages(1, pages)
        self.sheet.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.7)
        self.sheet.set_footer("&L&A&R&P / &N")

    def picture(self, row: int, title: str, png: bytes, alt: str) -> None:
        """Put a picture beside the text under its title, in a column of its own, larger than the file says it is."""
        # its pixels stand in bytes 16 to 24 (W3C, PNG Specification, 11.2.2 IHDR)
        width, height = (int.from_bytes(png[start : start + 4]) for start in (16, 20))
        place = len(self.widths) + 1
        self.widths += [GAP, PICTURE]
        self.sheet.set_column(place - 1, place - 1, GAP)
        self.sheet.set_column(place, place, PICTURE)
        look = {**STYLES["heading"], "text_wrap": True, "valign": "top"}
        self.sheet.write_string(row, place, title, self.style(**look))
        options = {
            "image_data": BytesIO(png),
            "description": alt,
            "object_position": 2,
            "x_scale": SCALE,
            "y_scale": SCALE,
        }
        self.sheet.insert_image(row + 1, place, "picture.png", options)
        self._bottom = max(self._bottom, row + math.ceil(PICTURE * LETTER * height / width / LINE))


def _lines(text: str, wide: float) -> int:
    """How many lines a text takes in a column so many letters wide."""
    most = max(int(wide), 4)
    if len(text) <= most and text.isprintable():
        return 1
    return sum(max(len(textwrap.wrap(part, most)), 1) for part in text.split("\n"))


def _widths(tables: Sequence[Cells]) -> list[float]:
    """Of each column, by the widest of what stands in it in any table."""
    widths: list[float] = [NARROWEST] * max((len(cells.headings) for cells in tables), default=1)
    for cells in tables:
        for position, heading in enumerate(cells.headings):
            word = max(len(word) for word in heading.split())
            days = DAY if any(is_day(row[position]) for row in cells.body) else 0
            wanted = max(
                min(6 * len(heading) // 5 + 3, WIDEST_HEADING),
                6 * word // 5 + 3,
                cells.longest(position) + 1,
                days,
            )
            widths[position] = max(widths[position], min(wanted, WIDEST))
    return widths
