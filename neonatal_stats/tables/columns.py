"""The columns of a table, each declared once: what the frame calls it, its heading, and what kind of thing it is.

    from neonatal_stats.tables import Table, columns

    columns.text("by", say("Lost by"), raw="window")         printed as "by" reads, kept as "window" in the CSV
    columns.count("events", say("Lost"))
    columns.interval("low", "high", say("95 % interval"))    one column on the page, two in the CSV and the workbook
    columns.key("factor", say("By"))                         in the CSV alone: what a program tells rows apart by

The kind decides how a value is printed, which format its cells have in a workbook, and its unit. A word that stands
in a column of numbers ("all litters" over a column of counts) is printed as it is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from neonatal_stats.tables.printing import NOT_KNOWN, Printer

BOX = "\u2610"


@dataclass(frozen=True)
class Kind:
    """A kind of value: how one is printed, how several that stand in one cell are, its workbook format, its unit.

    ``ends`` says what the several are: the ends of an interval, or a number and of how many.
    """

    one: Callable[[Printer, Any], str]
    several: Callable[..., str]
    cell: str = ""
    unit: str = ""
    ends: tuple[str, ...] = ("low", "high")


def _range(one: Callable[[Printer, Any], str]) -> Callable[..., str]:
    return lambda printer, low, high: printer.range_of(low, high, lambda value: one(printer, value))


def _text(printer: Printer, value: object) -> str:
    return str(value)


def _hours(printer: Printer, age_h: float) -> str:
    """An age in hours however old, for ages that are told one by one."""
    return f"{printer.count(age_h)}\u00a0{printer.number_words.hours}"


def _number(digits: int, unit: str = "") -> Kind:
    def one(printer: Printer, value: float) -> str:
        return printer.number(value, digits)

    return Kind(one, _range(one), f"0.{'0' * digits}".rstrip("."), unit)


def _percent(digits: int) -> Kind:
    return Kind(
        lambda printer, value: printer.percent(value, digits),
        lambda printer, low, high: printer.percent_range(low, high, digits),
        f"0.{'0' * digits}".rstrip(".") + "%",
        "share, 0 to 1",
    )


def _out_of(several: Callable[..., str]) -> Kind:
    return Kind(Printer.count, several, "#,##0", "count", ("events", "n"))


def _slash(between: str) -> Callable[..., str]:
    return lambda printer, events, n, *_: (
        NOT_KNOWN if n != n else f"{printer.count(events)}{between}{printer.count(n)}"
    )


def _middle_half(printer: Printer, _: float, n: float, median: float, low: float, high: float) -> str:
    half = printer.span(printer.number(low), printer.number(high))
    return f"{printer.number(median)} ({half}; {printer.count(n)})"


KINDS: dict[str, Kind] = {
    "text": Kind(_text, _range(_text)),
    "count": Kind(Printer.count, _range(Printer.count), "#,##0", "count"),
    "share": _percent(1),
    "whole percent": _percent(0),
    "limits": Kind(Printer.percent, _range(Printer.percent), "0.0%", "share, 0 to 1"),
    "points": Kind(Printer.points, Printer.points_range, "+0.0%;-0.0%", "difference of shares, -1 to 1"),
    "ratio": Kind(Printer.ratio, Printer.ratio_range, "0.00", "ratio"),
    "age": Kind(Printer.age, Printer.age_span, "0", "hours since birth", ("from", "to")),
    "hours": Kind(_hours, _range(_hours), "0", "hours since birth", ("from", "to")),
    "p": Kind(Printer.p_value, _range(Printer.p_value), '[<0.001]"<0.001";0.000', "probability"),
    "number": _number(1),
    "whole number": _number(0),
    "two decimals": _number(2),
    "kg": _number(2, "kg"),
    "counts": _out_of(lambda printer, events, n, *_: NOT_KNOWN if n != n else printer.counts(events, n)),
    "of": _out_of(_slash("/")),
    "out of": _out_of(_slash(" / ")),
    "middle half": Kind(Printer.count, _middle_half, "", "", ("events", "n", "median", "low", "high")),
}


@dataclass(frozen=True)
class Column:
    """One declared column of a table.

    ``name`` is a column of the frame, ``more`` are others that are printed with it in one cell (the other end of an
    interval). ``kind`` is a key of `KINDS`; where rows differ in kind, ``kinds`` is the frame's column that holds
    each row's own. ``raw`` is what the CSV holds instead of a text that is only the reader's word for it. ``printed``
    is False for a key that stands in the CSV alone. ``unit`` overrides the kind's. ``choices`` are words for a person
    to tick: a box each on the page, a list in the workbook's empty cells, nothing in the CSV.
    """

    name: str
    heading: str
    kind: str = "text"
    more: tuple[str, ...] = ()
    raw: str = ""
    kinds: str = ""
    unit: str = ""
    printed: bool = True
    choices: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"{self.name}: {self.kind!r} is no kind of column; there are {', '.join(KINDS)}")

    @property
    def parts(self) -> tuple[str, ...]:
        """The frame's columns that are printed: one, or those that stand together in one cell."""
        return (self.name, *self.more)

    @property
    def ends(self) -> tuple[str, ...]:
        """What each of `stored` is where there are several, "" where there is one."""
        return KINDS[self.kind].ends[: len(self.stored)] if len(self.stored) > 1 else ("",)

    @property
    def stored(self) -> tuple[str, ...]:
        """The frame's columns that the CSV holds."""
        return (self.raw,) if self.raw else self.parts

    @property
    def numeric(self) -> bool:
        """Whether it is set to the right."""
        return self.kind != "text" or bool(self.more or self.kinds)

    @property
    def measured_in(self) -> str:
        """Its unit in words, "" where it has none."""
        return self.unit or KINDS[self.kind].unit

    def shown(self, frame: pd.DataFrame, printer: Printer) -> list[str]:
        """Its cells as a person reads them; a dash where a value is missing, boxes where one is to be ticked."""
        if self.choices:
            return ["  ".join(f"{BOX}\u00a0{choice}" for choice in self.choices)] * len(frame)
        kinds = frame[self.kinds].astype(str) if self.kinds else [self.kind] * len(frame)
        if self.more:
            values = zip(*(frame[name].astype(float) for name in self.parts), strict=True)
            return [KINDS[kind].several(printer, *one) for kind, one in zip(kinds, values, strict=True)]
        return [_shown(value, KINDS[k], printer) for k, value in zip(kinds, frame[self.name], strict=True)]


def _shown(value: Any, kind: Kind, printer: Printer) -> str:
    if isinstance(value, str):
        return printer.word(str(value))
    return NOT_KNOWN if pd.isna(value) else kind.one(printer, value)


def text(name: str, heading: str, *, raw: str = "") -> Column:
    """Words. Where they only say in the reader's language what another column holds, ``raw`` names that column."""
    return Column(name, heading, raw=raw)


def to_tick(name: str, heading: str, *choices: str) -> Column:
    """Left open for a person: one of some words. The frame's column is empty, and nothing ever fills it."""
    return Column(name, heading, choices=choices)


def key(name: str, heading: str) -> Column:
    """In the CSV alone: what a program tells the rows apart by, in the vocabulary's own words."""
    return Column(name, heading, printed=False)


def in_csv(column: Column) -> Column:
    """The same column in the CSV alone."""
    return replace(column, printed=False)


def count(name: str, heading: str, *, unit: str = "") -> Column:
    """A whole number of something; ``unit`` says of what, where the heading does not."""
    return Column(name, heading, "count", unit=unit)


def share(name: str, heading: str, *, whole: bool = False) -> Column:
    """A share from 0 to 1, printed as percent; ``whole`` without decimals."""
    return Column(name, heading, "whole percent" if whole else "share")


def points(name: str, heading: str) -> Column:
    """A difference of two shares, printed in percentage points with its sign."""
    return Column(name, heading, "points")


def ratio(name: str, heading: str) -> Column:
    """A ratio of risks, odds, hazards or means."""
    return Column(name, heading, "ratio")


def p(name: str, heading: str) -> Column:
    """A p-value or q-value."""
    return Column(name, heading, "p")


def age(name: str, heading: str) -> Column:
    """An age in hours since birth."""
    return Column(name, heading, "age")


def number(name: str, heading: str, *, digits: int = 1, unit: str = "") -> Column:
    """A measured number with 0, 1 or 2 decimals."""
    return Column(name, heading, ("whole number", "number", "two decimals")[digits], unit=unit)


def interval(low: str, high: str, heading: str, kind: str = "share", *, unit: str = "") -> Column:
    """Two columns of the frame, printed as one: low to high, in the kind of what they bound."""
    return Column(low, heading, kind, (high,), unit=unit)


def counts(events: str, n: str, heading: str, kind: str = "counts") -> Column:
    """A number and of how many, in one cell: "5 of 628 (0.8 %)"; "5/628" where the kind is "of"."""
    return Column(events, heading, kind, (n,))


def age_span(start_h: str, end_h: str, heading: str) -> Column:
    """A span of ages, from and to in hours since birth: "0 to 12 h"."""
    return Column(start_h, heading, "age", (end_h,))


def mixed(column: Column, kinds: str) -> Column:
    """The same column where rows differ in kind: the frame's column ``kinds`` holds each row's kind.

    >>> mixed(interval("low", "high", "Interval"), "kind").kinds
    'kind'
    """
    return replace(column, kinds=kinds)
