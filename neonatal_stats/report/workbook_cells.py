"""A table as the cells of a workbook: numbers, days and words, each with the format that a person reads it in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
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
