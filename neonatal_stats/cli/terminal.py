"""Between a person and a command: which files were named, how far it is, and trouble told in one sentence."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path


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
