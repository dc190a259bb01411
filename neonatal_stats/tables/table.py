"""A table: the raw numbers for a program, and the same numbers as a person reads them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from neonatal_stats.tables import printing
from neonatal_stats.tables.html import table_html

FORMATS: dict[str, Callable[[Any], str]] = {
    "count": printing.count,
    "share": printing.percent,
    "points": printing.points,
    "ratio": printing.ratio,
    "age": printing.age,
    "p": printing.p_value,
    "number": printing.number,
    "kg": lambda value: printing.number(value, 2),
    "text": str,
}


@dataclass(frozen=True, eq=False)
class Table:
    """One table of a chapter.

    ``frame`` holds raw numbers (shares 0 to 1); ``headings`` the printed heading of each column that is
    printed, in order; ``formats`` how each is printed (a key of `FORMATS`; text where none is given). A
    heading of the pseudo-column ``interval`` prints low and high together, as percent unless
    ``formats["interval"]`` is "ratio", "points" or "number".
    """

    name: str
    title: str
    frame: pd.DataFrame
    headings: Mapping[str, str]
    formats: Mapping[str, str] = field(default_factory=dict)
    note: str = ""

    def html(self) -> str:
        """The table as one HTML figure, farm text escaped."""
        numeric = [self.formats.get(name, "text") != "text" or name == "interval" for name in self.headings]
        shown = printed(self).rename(columns=sentence_case)
        return table_html(shown, numeric, name=self.name, title=sentence_case(self.title), note=self.note)

    def _repr_html_(self) -> str:
        return self.html()


def sentence_case(heading: str) -> str:
    """A heading with a capital, unless it starts with a sign of one letter such as p."""
    return heading[:1].upper() + heading[1:] if heading[1:2].isalpha() else heading


def printed(table: Table) -> pd.DataFrame:
    """The table as text, one column per heading, ready for a page."""
    columns: dict[str, list[str]] = {}
    for name, heading in table.headings.items():
        columns[heading] = _interval(table) if name == "interval" else _column(table, name)
    return pd.DataFrame(columns, dtype=object)


def _column(table: Table, name: str) -> list[str]:
    show = FORMATS[table.formats.get(name, "text")]
    return [printing.NOT_KNOWN if pd.isna(value) else show(value) for value in table.frame[name]]


def _interval(table: Table) -> list[str]:
    kind = table.formats.get("interval", "share")
    pairs = zip(table.frame["low"].astype(float), table.frame["high"].astype(float), strict=True)
    if kind == "share":
        return [printing.percent_range(low, high) for low, high in pairs]
    if kind == "ratio":
        return [printing.ratio_range(low, high) for low, high in pairs]
    show = FORMATS[kind]
    return [_range(low, high, show) for low, high in pairs]


def _range(low: float, high: float, show: Callable[[Any], str]) -> str:
    """An interval; a side that is not known is a dash, and so is the whole where neither is."""
    if math.isnan(low) and math.isnan(high):
        return printing.NOT_KNOWN
    return printing.span(show(low), show(high))
