"""Text files: comma, semicolon, tab or bar between the cells, in the common encodings."""

from __future__ import annotations

import csv
import io
from collections import Counter
from itertools import islice
from sys import intern

from neonatal_stats.season.grid import LONGEST_CELL, Grid, Remark, check_size
from neonatal_stats.season.trouble import CannotRead

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
SAMPLE_ROWS = 60
CHUNK = 5_000
WESTERN = {"ascii", "cp1252", "latin_1", "iso8859_15", "cp1250", "iso8859_2", "cp1257", "cp1254", "mac_roman"}


def read_delimited(name: str, data: bytes, sha256: str) -> Grid:
    """A text file as a grid; the separator is the one that gives the most even rows."""
    text, remarks = decoded(name, data)
    declared = text[:6].lower().startswith("sep=") and len(text) > 4
    separator = text[4] if declared else _separator(name, text)
    columns = _columns(name, text, separator)
    if declared:
        columns = [[None, *column[1:]] for column in columns]
    return Grid(name, "", columns, sha256, remarks, decimal_comma=separator == ";")


def decoded(name: str, data: bytes) -> tuple[str, tuple[Remark, ...]]:
    """The text of a file: UTF-8 or UTF-16 where it is that, else the likeliest of the older encodings, named."""
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            return _strictly(name, data, encoding), ()
    head = data[:4096]
    if head and head.count(0) > len(head) // 4:
        return _strictly(
            name, data, "utf-16-le" if head[1::2].count(0) > head[::2].count(0) else "utf-16-be"
        ), ()
    if b"\x00" in head:
        raise CannotRead(
            f"{name}: it is not a table but a binary file; save the records as CSV, XLSX, ODS or Parquet."
        )
    try:
        return data.decode("utf-8"), ()
    except UnicodeDecodeError:
        return _older(data)


def _strictly(name: str, data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise CannotRead(
            f"{name}: it begins as {encoding} text but byte {error.start:,} does not fit; save it again as UTF-8."
        ) from None


def _older(data: bytes) -> tuple[str, tuple[Remark, ...]]:
    from charset_normalizer import from_bytes

    odd = next(place for place, byte in enumerate(data) if byte > 127)
    best = from_bytes(data[max(0, odd - 50_000) : odd + 50_000]).best()
    encoding = "cp1252" if best is None or best.encoding in WESTERN else best.encoding
    remark = Remark(
        "",
        f"the file is not UTF-8; it was read as {encoding}",
        "look whether accented letters came out right; if not, save the file again as UTF-8",
    )
    return data.decode(encoding, errors="replace"), (remark,)


def _separator(name: str, text: str) -> str:
    """The separator with which most of the first rows agree on the largest number of cells."""
    best, most = ",", 1
    for separator in SEPARATORS:
        try:
            rows = list(islice(_reader(text[:400_000], separator), SAMPLE_ROWS))
        except csv.Error:
            continue
        sizes = Counter(len(row) for row in rows if len(row) > 1)
        if sizes and max(sizes, key=lambda size: (sizes[size] * (size - 1), size)) > most:
            best, most = separator, max(sizes, key=lambda size: (sizes[size] * (size - 1), size))
    return best


def _reader(text: str, separator: str) -> csv._reader:  # type: ignore[name-defined]
    csv.field_size_limit(LONGEST_CELL)
    return csv.reader(io.StringIO(text, newline=""), delimiter=separator)


def _columns(name: str, text: str, separator: str) -> list[list[object]]:
    columns: list[list[object]] = []
    height = 0
    reader = _reader(text, separator)
    try:
        while chunk := list(islice(reader, CHUNK)):
            width = max(len(columns), max(map(len, chunk)))
            check_size(name, height + len(chunk), width)
            columns.extend([None] * height for _ in range(width - len(columns)))
            whole = [row if len(row) == width else row + [""] * (width - len(row)) for row in chunk]
            for column, cells in zip(columns, zip(*whole, strict=True), strict=True):
                column.extend(map(intern, cells))
            height += len(chunk)
    except csv.Error as error:
        raise CannotRead(_broken(name, reader.line_num, str(error))) from None
    return columns


def _broken(name: str, line: int, error: str) -> str:
    if "field limit" in error:
        return (
            f"{name}, line {line:,}: one cell is longer than {LONGEST_CELL:,} characters; "
            "look for a quotation mark that is opened and never closed, and save the file again."
        )
    return f"{name}, line {line:,}: the text cannot be split into cells ({error}); save it again as CSV."
