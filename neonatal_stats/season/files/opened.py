"""From paths to grids: each file opened once, by what it is rather than by what it is called."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Mapping
from dataclasses import dataclass

from neonatal_stats.season.files.meant import Meant, bytes_of
from neonatal_stats.season.finding import CannotRead, printable, say
from neonatal_stats.season.grid import File, Grid, Remark, check_size

LARGEST = 250_000_000


def read_parquet(name: str, data: bytes, sha256: str) -> Grid:
    """A Parquet file as a grid; its own column names are the headings."""
    import pyarrow.parquet
    from pyarrow import ArrowException

    try:
        file = pyarrow.parquet.ParquetFile(io.BytesIO(data))
        check_size(name, file.metadata.num_rows, len(file.schema_arrow.names))
        table = file.read()
    except (ArrowException, OSError, ValueError):
        raise CannotRead(
            f"{name}: it is named or begins as Parquet but cannot be read as that; write it anew."
        ) from None
    columns = [[None, *_cells(column)] for column in table.to_pandas(timestamp_as_object=False).items()]
    headings = tuple(map(printable, table.column_names))
    return Grid(name, "", columns, sha256, headings=headings, headed=True, lines=table.num_rows)


def _cells(named: tuple[object, object]) -> list[object]:
    import pandas as pd

    series = named[1]
    assert isinstance(series, pd.Series)
    values = series.astype(object)
    return values.where(series.notna(), None).tolist()


@dataclass(frozen=True, eq=False)
class Opened:
    """The sheets of all files, what is to be said of files that gave none, and deaths that belong to no newborn."""

    grids: list[Grid]
    remarks: tuple[tuple[str, Remark], ...]
    unmatched_deaths: int = 0


def all_grids(meant: Meant, time_zone: str, encodings: Mapping[str, str] | None = None) -> list[Grid]:
    """The sheets of all files; see `open_all`."""
    return open_all(meant, time_zone, encodings or {}).grids


def open_all(meant: Meant, time_zone: str, encodings: Mapping[str, str]) -> Opened:
    """The sheets of all files; exchange messages are read together, since a death may stand in another file.

    A file of the same bytes as an earlier one is read once. ``encodings`` names the encoding of files by their name,
    "" of all that are not Unicode.
    """
    first: dict[str, str] = {}
    grids: list[Grid] = []
    exchanged: list[tuple[File, bytes]] = []
    remarks = list(meant.remarks)
    unmatched = 0
    for file in meant.files:
        data = bytes_of(file, LARGEST)
        sha256 = hashlib.sha256(data).hexdigest()
        if sha256 in first:
            problem = say(
                "it holds the same as {other}, byte for byte, and was read once", other=first[sha256]
            )
            remarks.append((file.name, Remark("", problem, say("nothing need be done; keep one of the two"))))
            continue
        first[sha256] = file.name
        if file.path.suffix.casefold() == ".json":
            exchanged.append((file, data))
        else:
            named = encodings.get(file.name, encodings.get(file.path.name, encodings.get("", "")))
            grids += _grids_of(file, data, sha256, named)
    if exchanged:
        from neonatal_stats.season.exchange.messages_read import exchange_grids

        told, unmatched = exchange_grids(exchanged, time_zone)
        grids += told
    return Opened(grids, tuple(remarks), unmatched)


def _grids_of(file: File, data: bytes, sha256: str, encoding: str) -> list[Grid]:
    """The sheets of one file that is no exchange file."""
    if not data.strip(b" \t\r\n\x00\xef\xbb\xbf\xff\xfe"):
        raise CannotRead(
            f"{file.name}: it is empty; the first row must hold headings, with one newborn a row below."
        )
    if data.startswith(b"PAR1"):
        return [read_parquet(file.name, data, sha256)]
    if data.startswith(b"PK\x03\x04"):
        from neonatal_stats.season.files.workbook import read_workbook

        return read_workbook(file.name, data, sha256)
    _refuse_other_kinds(file.name, file.path.suffix.casefold(), data)
    from neonatal_stats.season.files.delimited import read_delimited

    return [read_delimited(file.name, data, sha256, encoding)]


def _refuse_other_kinds(name: str, suffix: str, data: bytes) -> None:
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise CannotRead(
            f"{name}: it is an old or a password-locked workbook; open it and save it as XLSX without a password."
        )
    if data.startswith(
        (b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"Rar!", b"7z\xbc\xaf", b"\x1f\x8b", b"{\\rtf")
    ):
        raise CannotRead(f"{name}: it is not a table; save the records as CSV, XLSX, ODS or Parquet.")
    if suffix in (".parquet", ".xlsx", ".xlsm", ".ods"):
        raise CannotRead(f"{name}: it is named {suffix} but is not such a file; save the records again.")
    if data[:200].lstrip().lower().startswith((b"<!doctype", b"<html", b"<?xml")):
        raise CannotRead(f"{name}: it is a web or XML page, not a table; save the records as CSV or XLSX.")
