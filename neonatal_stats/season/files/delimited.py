"""Text files: their encoding; comma, semicolon, tab or bar between the cells."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator
from itertools import islice
from sys import intern

from neonatal_stats.season.finding import CannotRead, say
from neonatal_stats.season.grid import LONGEST_CELL, Grid, Remark, check_size

MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
WESTERN = {"ascii", "cp1252", "latin_1", "iso8859_15", "cp1250", "iso8859_2", "cp1257", "cp1254", "mac_roman"}
SEPARATORS = (",", ";", "\t", "|")
SAMPLE_ROWS = 60
SAMPLE_BYTES = 400_000
CHUNK = 5_000


def encoding_of(name: str, data: bytes) -> tuple[str, tuple[Remark, ...]]:
    """UTF-8 or UTF-16 where the file is that throughout, else the likeliest of the older encodings, named."""
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
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        return _older(data, error.start)
    return "utf-8", ()


def _strictly(name: str, data: bytes, encoding: str) -> str:
    try:
        data.decode(encoding)
    except UnicodeDecodeError as error:
        raise CannotRead(
            f"{name}: it begins as {encoding} text but byte {error.start:,} does not fit; save it again as UTF-8."
        ) from None
    return encoding


def _older(data: bytes, odd: int) -> tuple[str, tuple[Remark, ...]]:
    """The likeliest encoding by the text around the first byte that is no UTF-8; Windows-1252 for western ones."""
    from charset_normalizer import from_bytes

    best = from_bytes(data[max(0, odd - 50_000) : odd + 50_000]).best()
    encoding = "cp1252" if best is None or best.encoding in WESTERN else best.encoding
    problem = say("the file is not UTF-8; it was read as {encoding}", encoding=encoding)
    remedy = say("look whether accented letters came out right; if not, save the file again as UTF-8")
    return encoding, (Remark("", problem, remedy),)


class _Lines:
    """The rows of a text file, read as they are asked for; a cell longer than any cell is refused."""

    def __init__(self, data: bytes, encoding: str, separator: str) -> None:
        csv.field_size_limit(LONGEST_CELL)
        stream = io.TextIOWrapper(io.BytesIO(data), encoding=encoding, errors="replace", newline="")
        self._reader = csv.reader(stream, delimiter=separator)

    def __iter__(self) -> Iterator[list[str]]:
        return self._reader

    @property
    def number(self) -> int:
        """The line last read."""
        return self._reader.line_num


def read_delimited(name: str, data: bytes, sha256: str) -> Grid:
    """A text file as a grid; the separator is the one that gives the most even rows."""
    encoding, remarks = encoding_of(name, data)
    first = data[:64].decode(encoding, errors="replace").lstrip("\ufeff")
    declared = first[:4].lower() == "sep=" and len(first) > 4
    separator = first[4] if declared else _separator(data[:SAMPLE_BYTES], encoding)
    columns = _columns(name, _Lines(data, encoding, separator))
    if declared:
        columns = [[None, *column[1:]] for column in columns]
    return Grid(name, "", columns, sha256, remarks, decimal_comma=separator == ";")


def _separator(sample: bytes, encoding: str) -> str:
    """The separator with which most of the first rows agree on the largest number of cells."""
    best, most = ",", 0
    for separator in SEPARATORS:
        try:
            rows = list(islice(_Lines(sample, encoding, separator), SAMPLE_ROWS))
        except csv.Error:
            continue
        sizes = Counter(len(row) for row in rows if len(row) > 1)
        evenness = max((count * (size - 1) for size, count in sizes.items()), default=0)
        if evenness > most:
            best, most = separator, evenness
    return best


def _columns(name: str, lines: _Lines) -> list[list[object]]:
    columns: list[list[object]] = []
    height = 0
    rows = iter(lines)
    try:
        while chunk := list(islice(rows, CHUNK)):
            width = max(len(columns), max(map(len, chunk)))
            check_size(name, height + len(chunk), width)
            columns.extend([None] * height for _ in range(width - len(columns)))
            whole = [row if len(row) == width else row + [""] * (width - len(row)) for row in chunk]
            for column, cells in zip(columns, zip(*whole, strict=True), strict=True):
                column.extend(map(intern, cells))
            height += len(chunk)
    except csv.Error as error:
        raise CannotRead(_broken(name, lines.number, str(error))) from None
    return columns


def _broken(name: str, line: int, error: str) -> str:
    if "field limit" in error:
        return (
            f"{name}, line {line:,}: one cell is longer than {LONGEST_CELL:,} characters; "
            "look for a quotation mark that is opened and never closed, and save the file again."
        )
    return f"{name}, line {line:,}: the text cannot be split into cells ({error}); save it again as CSV."
