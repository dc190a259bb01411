"""From paths to grids: each file opened once, by what it is rather than by what it is called."""

from __future__ import annotations

import hashlib
import io
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.grid import Grid, check_size

LARGEST = 250_000_000
KINDS = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm", ".ods", ".parquet", ".json")
Paths = str | os.PathLike[str] | Iterable[str | os.PathLike[str]]


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
    return Grid(name, "", columns, sha256, headings=tuple(map(str, table.column_names)), headed=True)


def _cells(named: tuple[object, object]) -> list[object]:
    import pandas as pd

    series = named[1]
    assert isinstance(series, pd.Series)
    values = series.astype(object)
    return values.where(series.notna(), None).tolist()


def listed(paths: Paths) -> list[Path]:
    """The files meant: those named, and those of a known kind in a folder that is named."""
    single = isinstance(paths, str | os.PathLike)
    files: list[Path] = []
    for path in map(Path, [paths] if single else list(paths)):  # type: ignore[arg-type]
        if path.is_dir():
            inside = sorted(p for p in path.iterdir() if p.suffix.casefold() in KINDS and p.is_file())
            if not inside:
                raise CannotRead(
                    f"{path.name}: the folder holds no file of records; accepted are {', '.join(KINDS)}."
                )
            files += inside
        else:
            files.append(path)
    if not files:
        raise CannotRead(
            "No file of records was named; name at least one CSV, XLSX, ODS, Parquet or JSON file."
        )
    return files


def all_grids(paths: Sequence[Path], time_zone: str) -> list[Grid]:
    """The sheets of all files; exchange messages are read together, since a death may stand in another file."""
    exchanged = [path for path in paths if path.suffix.casefold() == ".json"]
    grids = [grid for path in paths if path not in exchanged for grid in grids_of(path)]
    if exchanged:
        from neonatal_stats.season.exchange.messages_read import exchange_grids

        grids += exchange_grids(exchanged, time_zone)
    return grids


def grids_of(path: Path) -> list[Grid]:
    """The sheets of one file that is no exchange file."""
    data = _bytes(path)
    sha256 = hashlib.sha256(data).hexdigest()
    if not data.strip(b" \t\r\n\x00\xef\xbb\xbf\xff\xfe"):
        raise CannotRead(
            f"{path.name}: it is empty; the first row must hold headings, with one newborn a row below."
        )
    if data.startswith(b"PAR1"):
        pass

        return [read_parquet(path.name, data, sha256)]
    if data.startswith(b"PK\x03\x04"):
        from neonatal_stats.season.files.workbook import read_workbook

        return read_workbook(path.name, data, sha256)
    _refuse_other_kinds(path.name, path.suffix.casefold(), data)
    from neonatal_stats.season.files.delimited import read_delimited

    return [read_delimited(path.name, data, sha256)]


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST:
            raise CannotRead(
                f"{path.name}: it is larger than {LARGEST // 1_000_000} MB, too large for a season's records; "
                "split it by season."
            )
        return path.read_bytes()
    except OSError as error:
        reason = error.strerror or "not readable"
        raise CannotRead(
            f"{path.name}: it cannot be opened ({reason}); check the name and the folder."
        ) from None


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
