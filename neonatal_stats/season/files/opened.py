"""From paths to grids: which files are meant, each opened once, by what it is rather than by what it is called."""

from __future__ import annotations

import hashlib
import io
import json
import os
import stat
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from neonatal_stats.season.finding import NO_NEED, CannotRead, Ended, Said, printable, say
from neonatal_stats.season.grid import File, Grid, Remark, check_size

LARGEST = 250_000_000
KINDS = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm", ".ods", ".parquet", ".json")
OWN_FILES = (".toml",)
PICTURES = (".jpg", ".jpeg", ".png", ".gif", ".heic", ".webp", ".bmp", ".svg", ".mp4", ".mov", ".md", ".html")
DROPPINGS = ("thumbs.db", "desktop.ini", ".ds_store")
LOCKS = ("~$", ".~lock.", "._")
SHOWN = 10
LOOKED_AT = 5_000
Paths = str | os.PathLike[str] | Iterable[str | os.PathLike[str]]
LOCKED = say("nothing need be done; close the workbook before it is mailed or copied")
NAME_THEM = say("if they hold records, save them as CSV or XLSX and name them too")
Plain = dict[str, list[dict[str, object]]]
NOT_JSON = (
    "it holds no births as messages of the animal-data standard and is no list of plain records such as "
    '[{"dam_id": "E1", "born_at": "2026-03-05", "died": "no"}]; save it so, or as CSV.'
)


@dataclass(frozen=True, eq=False)
class Meant:
    """The files to be read, and what is to be said of files that are not."""

    files: tuple[File, ...]
    remarks: tuple[tuple[str, Remark], ...]


def listed(paths: Paths) -> Meant:
    """The files meant: those named, and those of a known kind in a folder that is named."""
    single = isinstance(paths, str | os.PathLike)
    found: list[Path] = []
    remarks: list[tuple[str, Remark]] = []
    for path in map(Path, [paths] if single else list(paths)):  # type: ignore[arg-type]
        if path.is_dir():
            inside, said = _in_folder(path)
            found += inside
            remarks += [(printable(path.name), remark) for remark in said]
        elif _is_lock(path):
            said = tuple(_left(say("lock files of open workbooks"), [path], LOCKED, "noted"))
            remarks += [(printable(path.name), remark) for remark in said]
        else:
            found.append(path)
    if not found and remarks:
        raise CannotRead(
            f"{remarks[0][0]}: it is the lock file of an open workbook and holds no records; name the workbook itself."
        )
    if not found:
        raise CannotRead(
            "No file of records was named; name at least one CSV, XLSX, ODS, Parquet or JSON file."
        )
    once, again = _once(found)
    return Meant(_told_apart(once), (*remarks, *again))


def _in_folder(folder: Path) -> tuple[list[Path], tuple[Remark, ...]]:
    """The files of records in a folder, and what is to be said of all else that stands there."""
    entries = sorted(folder.iterdir())
    files = [path for path in entries if path.is_file() and not _is_dropping(path)]
    locks = [path for path in files if _is_lock(path)]
    inside = [path for path in files if path not in locks and path.suffix.casefold() in KINDS]
    if not inside:
        raise CannotRead(
            f"{folder.name}: the folder holds no file of records; accepted are {', '.join(KINDS)}."
        )
    others = [
        path for path in files if path not in inside + locks and path.suffix.casefold() not in OWN_FILES
    ]
    pictures = [path for path in others if path.suffix.casefold() in PICTURES]
    unread = [path for path in others if path not in pictures]
    unread += [path for path in entries if not path.is_file() and not path.is_dir()]
    deeper = [path for path in entries if path.is_dir() and _holds_records(path)]
    inner = say("name these folders too if they belong to the records")
    said = (
        *_left(say("lock files of open workbooks"), locks, LOCKED, "noted"),
        *_left(say("pictures and pages"), pictures, NO_NEED, "noted"),
        *_left(say("files of other kinds"), unread, NAME_THEM, "asked"),
        *_left(say("folders inside this one, with files of records"), deeper, inner, "asked"),
    )
    return inside, said


def _left(kinds: Said, paths: Sequence[Path], remedy: Said, ended: Ended) -> Iterator[Remark]:
    names = ", ".join(printable(path.name) for path in paths[:SHOWN])
    more = f" + {len(paths) - SHOWN}" if len(paths) > SHOWN else ""
    problem = say("{kinds} were not read: {names}", kinds=kinds, names=names + more)
    if paths:
        yield Remark("", problem, remedy, ended)


def _is_lock(path: Path) -> bool:
    return path.name.startswith(LOCKS)


def _is_dropping(path: Path) -> bool:
    return path.name.casefold() in DROPPINGS


def _holds_records(folder: Path) -> bool:
    try:
        deeper = islice(folder.rglob("*"), LOOKED_AT)
        return any(path.suffix.casefold() in KINDS and not _is_lock(path) for path in deeper)
    except OSError:
        return True


def _once(paths: Sequence[Path]) -> tuple[list[Path], list[tuple[str, Remark]]]:
    """Each file once, by where it truly is; those named again are said."""
    known: dict[str, Path] = {}
    again = []
    for path in paths:
        if known.setdefault(os.path.realpath(path), path) is not path:
            problem = say("the file was named twice; it was read once")
            again.append((printable(path.name), Remark("", problem, NO_NEED)))
    return list(known.values()), again


def _told_apart(paths: Sequence[Path]) -> tuple[File, ...]:
    """Each file under its name; where two are called alike, with as much of the folder as tells them apart."""
    whole = [tuple(map(printable, Path(os.path.abspath(path)).parts)) for path in paths]
    depth = [1] * len(paths)
    for _ in range(max(map(len, whole))):
        names = ["/".join(parts[-size:]) for parts, size in zip(whole, depth, strict=True)]
        counted = Counter(names)
        depth = [size + (counted[name] > 1) for name, size in zip(names, depth, strict=True)]
    return tuple(File(path, name) for path, name in zip(paths, names, strict=True))


def bytes_of(file: File, largest: int) -> bytes:
    """The content of a file; what is no file, or is too large for a season, is refused."""
    try:
        found = os.stat(file.path)
        if not stat.S_ISREG(found.st_mode):
            raise CannotRead(
                f"{file.name}: it is a pipe, a device or a socket, not a file; save the records in one and name that."
            )
        if found.st_size > largest:
            raise CannotRead(
                f"{file.name}: it is larger than {largest // 1_000_000} MB, too large for a season's records; "
                "split it by season."
            )
        return file.path.read_bytes()
    except OSError as error:
        reason = error.strerror or "not readable"
        raise CannotRead(
            f"{file.name}: it cannot be opened ({reason}); check the name and the folder."
        ) from None


@dataclass(frozen=True, eq=False)
class Opened:
    """The sheets of all files, what is to be said of files that gave none, and deaths that belong to no newborn."""

    grids: list[Grid]
    remarks: tuple[tuple[str, Remark], ...]
    unmatched_deaths: int = 0


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
            plain = plain_grids(file.name, data, sha256)
            grids += plain
            exchanged += [] if plain else [(file, data)]
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


def needs_parquet(name: str) -> None:
    """Refuse what is to be read or written as Parquet where the extra for it is not installed."""
    try:
        import pyarrow  # noqa: F401
    except ImportError:
        raise CannotRead(
            f"{name}: Parquet needs pyarrow, which is not installed; install the extra neonatal_stats[parquet], or use "
            "CSV or XLSX."
        ) from None


def read_parquet(name: str, data: bytes, sha256: str) -> Grid:
    """A Parquet file as a grid; its own column names are the headings."""
    needs_parquet(name)
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


def plain_grids(name: str, data: bytes, sha256: str) -> list[Grid]:
    """The records of a JSON file as sheets; none where it holds anything else."""
    return [_grid(name, sheet, rows, sha256) for sheet, rows in _plain(data).items()]


def _plain(data: bytes) -> Plain:
    try:
        found = json.loads(data.decode("utf-8-sig"))
    except ValueError:
        return {}
    named = found if isinstance(found, dict) else {"": found}
    return dict(named) if named and all(map(_are_records, named.values())) else {}


def _are_records(rows: object) -> bool:
    """True for a list of objects that hold texts, numbers, yes and no, or nothing."""
    return (
        isinstance(rows, list)
        and bool(rows)
        and all(isinstance(row, dict) and row for row in rows)
        and all(cell is None or isinstance(cell, str | int | float) for row in rows for cell in row.values())
    )


def _grid(name: str, sheet: str, rows: list[dict[str, object]], sha256: str) -> Grid:
    headings = list(dict.fromkeys(key for row in rows for key in row))
    check_size(name, len(rows), len(headings))
    columns = [[None, *(row.get(heading) for row in rows)] for heading in headings]
    names = tuple(map(printable, headings))
    return Grid(name, printable(sheet), columns, sha256, headings=names, headed=True, lines=len(rows))
