"""A table: the raw numbers for a program, and the same numbers as a person reads them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import Enum
from html import escape
from typing import Any

import numpy as np
import pandas as pd
from pandas.api.types import is_float_dtype, is_numeric_dtype

from neonatal_stats.tables.columns import KINDS, Column
from neonatal_stats.tables.printing import Printer


@dataclass(frozen=True, eq=False)
class Table:
    """One table of a chapter.

    Parameters
    ----------
    name : its file and its anchor on the page.
    title : printed above it.
    frame : the raw numbers (shares 0 to 1), at least the columns that are declared.
    columns : what is printed and kept, in order; see `tables.columns`.
    note : printed below it.
    on_page : how many rows stand on the page where it holds more; None leaves it to the page.
    own_sheet : it has a sheet of the workbook to itself, by its own name, rather than a place on its chapter's.
    printer : prints the numbers; a chapter gives its voice.

    Raises
    ------
    ValueError : a declared column is not in the frame.
    """

    name: str
    title: str
    frame: pd.DataFrame
    columns: Sequence[Column]
    note: str = field(default="", kw_only=True)
    on_page: int | None = field(default=None, kw_only=True)
    own_sheet: bool = field(default=False, kw_only=True)
    printer: Printer = field(kw_only=True)

    def __post_init__(self) -> None:
        named = dict.fromkeys(name for one in self.columns for name in (*one.parts, *one.stored))
        missing = [name for name in named if name not in self.frame]
        if missing:
            raise ValueError(f"table {self.name}: declared and not in its frame: {', '.join(missing)}")

    @property
    def sheet(self) -> str:
        """The sheet of the workbook that holds it: its chapter's, unless it has one to itself."""
        return self.name[:31] if self.own_sheet else self.name.split("-")[0]

    @property
    def shown(self) -> tuple[Column, ...]:
        """The columns that stand on the page."""
        return tuple(column for column in self.columns if column.printed)

    def html(self, first: int | None = None, rest: str = "") -> str:
        """The table as one HTML figure, farm text escaped; or its ``first`` rows, and where the ``rest`` are."""
        numeric = [place > 0 and one.numeric for place, one in enumerate(self.shown)]
        return _figure(printed(self, first), numeric, self, rest)

    def raw(self) -> pd.DataFrame:
        """What the CSV holds: every declared column once, under the frame's name for it, in order.

        Intervals are two numeric columns, dates ISO text (as they print), verdicts their plain word; numbers are
        numbers. What the frame holds besides is left out.
        """
        kinds = {name: column.kind for column in reversed(self.columns) for name in column.stored}
        names = dict.fromkeys(name for column in self.columns for name in column.stored)
        return pd.DataFrame({name: _stored(self.frame[name], kinds[name]) for name in names})

    def codebook(self) -> pd.DataFrame:
        """One row a column of `raw`: table, name, heading, kind, unit, end ("low" or "high", "from" or "to" ...)."""
        return codebook([self])

    def __repr__(self) -> str:
        names = ", ".join(dict.fromkeys(name for column in self.columns for name in column.stored))
        return f"<Table {self.name}, {len(self.frame)} rows: {names}>"

    def _repr_html_(self) -> str:
        return self.html()


WHOLE = KINDS["count"].cell
WIDE = {"widest": 8, "wide": 3}
"""Tables of more columns are marked so, for the page to set them otherwise on a narrow screen; those that have a sheet
to themselves are marked as lists, which paper sets otherwise too.
"""


def codebook(tables: Iterable[Table]) -> pd.DataFrame:
    """One row a column of each table; see `Table.codebook`."""
    rows: dict[tuple[str, str], tuple[str, ...]] = {}
    for table in tables:
        for column in table.columns:
            told = (column.heading, column.kind, column.measured_in)
            for name, end in zip(column.stored, column.ends, strict=True):
                rows.setdefault((table.name, name), (*told, end))
    named = [(*key, *row) for key, row in rows.items()]
    return pd.DataFrame(named, columns=["table", "name", "heading", "kind", "unit", "end"])


def _stored(values: pd.Series, kind: str) -> pd.Series:
    """A column as a file holds it; counts that became decimals beside missing ones are whole again."""
    if not is_numeric_dtype(values):
        return pd.Series([plain(value) for value in values], values.index, dtype=object).infer_objects()
    if KINDS[kind].cell != WHOLE or not is_float_dtype(values):
        return values
    numbers = values.to_numpy(float, na_value=math.nan)
    whole = numbers[~np.isnan(numbers)] % 1 == 0
    return values.astype("Int64") if whole.all() else values


def plain(value: Any) -> Any:
    """A value as a file holds it: an enumeration's own word, a day without its hour."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat() if value == value.normalize() else value.isoformat()
    return value


def harmless(frame: pd.DataFrame) -> pd.DataFrame:
    """The frame with text that begins with = + - @ (or a tab or return) led by an apostrophe.

    For text from the farm's files, which a spreadsheet would otherwise run as a formula; numbers are left alone.
    """
    words = {name: list(values) for name, values in frame.items() if not is_numeric_dtype(values.dtype)}
    led = {name: [_harmless(value) for value in values] for name, values in words.items()}
    return frame.assign(**{str(name): values for name, values in led.items() if values != words[name]})


def _harmless(value: Any) -> Any:
    if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")):
        return "'" + value
    return value


def sentence_case(heading: str) -> str:
    """A heading with a capital, unless it starts with a sign of one letter such as p."""
    return heading[:1].upper() + heading[1:] if heading[1:2].isalpha() else heading


def printed(table: Table, first: int | None = None) -> pd.DataFrame:
    """The table, or its ``first`` rows, as text, one column per heading, ready for a page."""
    frame = table.frame if first is None else table.frame.head(first)
    cells = {place: column.shown(frame, table.printer) for place, column in enumerate(table.shown)}
    shown = pd.DataFrame(cells, dtype=object)
    return shown.set_axis([column.heading for column in table.shown], axis="columns")


def _figure(shown: pd.DataFrame, numeric: Sequence[bool], table: Table, rest: str) -> str:
    """One `<figure class="table">` with caption, header row, row headers in the first column, and the notes.

    Numbers are set to the right, but for the first column, which names its row; headings are tied to their cells for
    screen readers.
    """
    title = escape(sentence_case(table.title))
    head = "".join(
        f'<th scope="col"{_side(right)}>{escape(sentence_case(str(heading)))}</th>'
        for heading, right in zip(shown.columns, numeric, strict=True)
    )
    body = "\n".join(_row(list(cells), numeric) for cells in shown.itertuples(index=False, name=None))
    kind = next((f"table {name}" for name, few in WIDE.items() if len(shown.columns) > few), "table")
    kind += " list" if table.own_sheet else ""
    below = "".join(f'<p class="note">{escape(note)}</p>' for note in (rest, table.note) if note)
    return (
        f'<figure class="{kind}" id="table-{escape(table.name)}"><table><caption>{title}</caption>\n'
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{body}\n</tbody></table>{below}</figure>"
    )


def _side(right: bool) -> str:
    return ' class="number"' if right else ""


def _row(cells: list[str], numeric: Sequence[bool]) -> str:
    first, *rest = cells
    tail = "".join(
        f"<td{_side(right)}>{escape(cell)}</td>" for cell, right in zip(rest, numeric[1:], strict=True)
    )
    return f'<tr><th scope="row">{escape(first)}</th>{tail}</tr>'
