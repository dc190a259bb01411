"""One sentence and exit code 2, never a traceback, for anything that a person can mend."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager


class NoTerminal(Exception):
    """A question was to be asked where nobody can answer."""


@contextmanager
def one_sentence() -> Iterator[None]:
    """Turn the errors that this package foresees into one sentence on standard error."""
    try:
        yield
    except Exception as error:
        if not _foreseen(error):
            raise
        print(f"neonatal-stats: {_sentence(error)}", file=sys.stderr)
        raise SystemExit(2) from None


def _foreseen(error: Exception) -> bool:
    from neonatal_stats.report.folder import FolderExists, NotOurFolder
    from neonatal_stats.report.pdf import NoBrowser, NotPrinted
    from neonatal_stats.season.finding import CannotRead

    ours = CannotRead | FolderExists | NotOurFolder | NoBrowser | NotPrinted | NoTerminal
    return isinstance(error, ours | OSError)


def _sentence(error: Exception) -> str:
    from neonatal_stats.season.finding import printable

    if isinstance(error, OSError) and error.filename is not None:
        return printable(f"{error.filename}: {error.strerror}")
    return printable(str(error))
