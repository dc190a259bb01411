"""How tables stand on the page: the first rows of very long ones, and rows one under the other on a phone.

On a narrow screen each row of a wide table is a short paragraph, "Twins: Lost 45, Share 12.4 %", with the columns'
headings before their cells. The headings come from the page's style: they cost no node, and nothing has to scroll.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from importlib import resources

from markupsafe import Markup

from neonatal_stats.tables import Table, sentence_case
from neonatal_stats.words import Voice

FIRST_ROWS = 15
VERY_LONG = 20
"""A table of more rows shows only its first ones; all of them are in the workbook and in its CSV file."""

MOST_ROWS = 5000
"""A list with a sheet to itself holds so many rows there; all of a longer one are in its CSV file alone."""

NARROW = {"wide": "54rem", "widest": "78rem"}
"""The width of the screen under which tables that are marked so are stacked; others fit on any."""


def table_html(table: Table, voice: Voice) -> Markup:
    """The table, of a very long one the first rows and a line that says where the others are."""
    rows, first = len(table.frame), table.on_page or FIRST_ROWS
    if rows <= (table.on_page or VERY_LONG):
        return Markup(table.html())
    if rows > MOST_ROWS and table.own_sheet:
        return Markup(table.html(first=first, rest=rows_left(table, voice, first)))
    rest = voice.say(
        "The first {shown} of {rows} rows; all of them are on the sheet {sheet} of the workbook and in {file}.",
        shown=voice.count(first),
        rows=voice.count(rows),
        sheet=table.sheet,
        file=f"tables/{table.name}.csv",
    )
    return Markup(table.html(first=first, rest=rest))


def rows_left(table: Table, voice: Voice, first: int) -> str:
    """That only so many rows of a list stand here, and where all are."""
    return voice.say(
        "The first {shown} of {rows} rows; all of them are in {file}.",
        shown=voice.count(first),
        rows=voice.count(len(table.frame)),
        file=f"tables/{table.name}.csv",
    )


def stacked(tables: Iterable[Table]) -> str:
    """Rules of style that set the rows of wide tables one under the other, each cell behind its column's heading; those
    of lists on paper too, so that they run in its two columns.
    """
    rules = (resources.files("neonatal_stats.report") / "templates" / "stacked.css").read_text(
        encoding="utf-8"
    )
    narrow = (
        f"@media screen and (max-width: {width}) {{\n{rules.replace('WIDE', kind)}}}"
        for kind, width in NARROW.items()
    )
    on_paper = f"@media print {{\n{rules.replace('WIDE', 'list')}}}"
    return "\n".join((*_headings(tables), *narrow, on_paper))


def _headings(tables: Iterable[Table]) -> Iterator[str]:
    """Each heading, for the cells of all columns that have it."""
    places: defaultdict[str, list[str]] = defaultdict(list)
    for table in tables:
        for place, column in enumerate(table.shown[1:], start=2):
            places[sentence_case(column.heading)].append(f"#table-{table.name} td:nth-child({place})")
    for words, cells in places.items():
        yield f'{",".join(cells)}{{--heading:"{quoted(words)}"}}'


def quoted(words: str) -> str:
    """Words as they may stand between quotation marks in a style, whatever they are."""
    return "".join(one if one.isalnum() or one == " " else f"\\{ord(one):06x} " for one in words)
