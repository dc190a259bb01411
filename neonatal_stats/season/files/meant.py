"""Which files are meant: those named and those in a folder that is named, each once and told apart by its name."""

from __future__ import annotations

import os
import stat
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from neonatal_stats.season.finding import CannotRead, Said, printable, say
from neonatal_stats.season.grid import File, Remark

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
            remarks.append(
                (printable(path.name), _left(say("lock files of open workbooks"), [path], LOCKED, "noted"))
            )
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


def _in_folder(folder: Path) -> tuple[list[Path], list[Remark]]:
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
    named = say("name these folders too if they belong to the records")
    said = [
        _left(say("lock files of open workbooks"), locks, LOCKED, "noted"),
        _left(say("pictures and pages"), pictures, say("nothing need be done"), "noted"),
        _left(say("files of other kinds"), unread, NAME_THEM, "asked"),
        _left(say("folders inside this one, with files of records"), deeper, named, "asked"),
    ]
    return inside, [
        remark for remark, paths in zip(said, (locks, pictures, unread, deeper), strict=True) if paths
    ]


def _left(kinds: Said, paths: Sequence[Path], remedy: Said, ended: str) -> Remark:
    names = ", ".join(printable(path.name) for path in paths[:SHOWN])
    more = f" + {len(paths) - SHOWN}" if len(paths) > SHOWN else ""
    problem = say("{kinds} were not read: {names}", kinds=kinds, names=names + more)
    return Remark("", problem, remedy, "asked" if ended == "asked" else "noted")


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
            again.append((printable(path.name), Remark("", problem, say("nothing need be done"))))
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
