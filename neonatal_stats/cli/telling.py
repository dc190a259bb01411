"""What a command tells: a person in words, another program in one JSON object.

A person is told which files were named, how far it is, and trouble in one sentence; where JSON is asked for, it stands
alone on standard output.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stdout
from dataclasses import asdict
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from neonatal_stats.season.model import Season


class NoTerminal(Exception):
    """A question was to be asked where nobody can answer."""


@contextmanager
def one_sentence() -> Iterator[None]:
    """Turn the errors that this package foresees into one sentence on standard error."""
    try:
        yield
    except Exception as error:
        if not foreseen(error):
            raise
        print(f"neonatal-stats: {in_a_sentence(error)}", file=sys.stderr)
        raise SystemExit(2) from None


def foreseen(error: Exception) -> bool:
    """True for what a person can mend: told in one sentence, without a traceback."""
    from neonatal_stats.report.folder import FolderExists, NotOurFolder, NotWritable
    from neonatal_stats.report.pdf import NoBrowser, NotPrinted
    from neonatal_stats.season.finding import CannotRead

    ours = CannotRead | FolderExists | NotOurFolder | NotWritable | NoBrowser | NotPrinted | NoTerminal
    return isinstance(error, ours | OSError)


def in_a_sentence(error: Exception) -> str:
    """What a person is told of an error that was foreseen."""
    from neonatal_stats.season.finding import printable

    if isinstance(error, OSError) and error.filename is not None:
        return printable(f"{error.filename}: {error.strerror}")
    return printable(str(error))


def spelled_out(records: list[Path]) -> list[Path]:
    """Every file once, in the order named; a pattern with * or ? stands for its files in order of name."""
    found: list[Path] = []
    for record in records:
        is_pattern = any(sign in record.name for sign in "*?") and not record.exists()
        found += sorted(record.parent.glob(record.name)) if is_pattern else [record]
    return list(dict.fromkeys(found)) or records


@contextmanager
def stages(*, quiet: bool = False) -> Iterator[Callable[[str], None]]:
    """A function to be told each stage as it starts."""
    if quiet:
        yield lambda stage: None
        return
    if not sys.stderr.isatty():
        yield lambda stage: print(stage, file=sys.stderr, flush=True)
        return
    from rich.console import Console

    console = Console(stderr=True)
    with console.status("") as status:
        yield lambda stage: status.update(stage)


Tell = Callable[[dict[str, Any]], None]
"""Takes what was found, as JSON can hold it; without --json it is told to nobody."""
VERSION = 1


@contextmanager
def told(command: str, *, as_json: bool, quiet: bool) -> Iterator[Tell]:
    """How a command speaks: in words, in JSON alone, or not at all where all went well.

    With ``as_json`` the words go to standard error. The object has ``schema`` ("neonatal_stats check 1") and
    ``exit_code``; where the records cannot be read it has ``error``, the sentence that standard error shows too.
    """
    if not as_json:
        with redirect_stdout(StringIO() if quiet else sys.stdout):
            yield lambda found: None
        return
    out = sys.stdout
    schema = {"schema": f"neonatal_stats {command} {VERSION}"}

    def tell(found: dict[str, Any]) -> None:
        print(json.dumps(schema | found, indent=1, allow_nan=False), file=out, flush=True)

    with redirect_stdout(StringIO() if quiet else sys.stderr):
        try:
            yield tell
        except Exception as error:
            if foreseen(error):
                tell({"exit_code": 2, "error": in_a_sentence(error)})
            raise


def of_check(season: Season) -> dict[str, Any]:
    """Where every line and row ended, every problem, and the births whose outcome is open."""
    return {
        "exit_code": 0 if season.all_well else 1,
        "all_well": season.all_well,
        **_of_records(season),
        "problems": [
            {name: str(value) for name, value in row.items() if value != ""}
            for row in season.problems.astype(object).where(season.problems.notna(), "").to_dict("records")
        ],
    }


def of_review(season: Season, page: Path, to_know: list[str]) -> dict[str, Any]:
    """What was written where, what must be known before its numbers are used, and the headline numbers themselves.

    ``page`` is the page that was written, or the folder where none was.
    """
    folder = page if page.is_dir() else page.parent
    return {
        "exit_code": 1 if to_know else 0,
        "folder": str(folder.resolve()),
        "page": None if page.is_dir() else str(page.resolve()),
        "files": sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()),
        "births": len(season.births),
        "mobs": len(season.mobs),
        "to_know": to_know,
        **_of_records(season),
        "headline": json.loads((folder / "headline.json").read_text(encoding="utf-8")),
    }


def _of_records(season: Season) -> dict[str, Any]:
    return {
        "sources": [asdict(source) for source in season.sources],
        "balances": [asdict(balance) for balance in season.balances],
        "open_outcomes": json.loads(season.undecided.to_json(orient="records")),
    }
