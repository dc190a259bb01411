"""Text files: comma, semicolon, tab or bar between the cells, one row a line unless a cell goes on over several."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice
from sys import intern

from neonatal_stats.season.files.encoding import decoded
from neonatal_stats.season.files.lines import SEPARATORS, count_lines, read_lines
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.grid import LONGEST_CELL, Grid, check_size

SAMPLE_ROWS = 60
SAMPLE_LETTERS = 400_000
CHUNK = 5_000


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
