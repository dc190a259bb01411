"""Where the command line begins and how it ends: told to stop, it leaves no process, no half folder and no traceback.

This page imports next to nothing, so that Ctrl-C is heard from the first moment.
"""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from types import FrameType

TOLD_TO_STOP = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name)
)
"""Ctrl-C, a polite request to end, a terminal that was closed; what there is of them on this system."""


class Stopped(SystemExit):
    """Somebody asked the program to end; every block is left as after an error, so that it can tidy up."""


def main() -> None:
    """Run the command line; exit code 130 after Ctrl-C and 143 after a request to end, as shells expect."""
    with stopping_well():
        _print_whatever_stands_in_a_name()
        from neonatal_stats.cli.main import main as run

        run()


@contextmanager
def stopping_well() -> Iterator[None]:
    """Turn what tells a program to stop into an orderly end, said in one line; a second request does not cut it short.

    What the caller has chosen to ignore (Ctrl-C, in the background of a shell) stays ignored.
    """
    heard = [number for number in TOLD_TO_STOP if signal.getsignal(number) != signal.SIG_IGN]

    def stop(number: int, frame: FrameType | None) -> None:
        _all(heard, signal.SIG_IGN)
        raise Stopped(128 + number)

    for number in heard:
        signal.signal(number, stop)
    try:
        yield
    except Stopped:
        with suppress(OSError):
            print("neonatal-stats: stopped", file=sys.stderr)
        raise
    finally:
        _all(heard, signal.SIG_DFL)


def _all(numbers: list[signal.Signals], handler: signal.Handlers) -> None:
    for number in numbers:
        signal.signal(number, handler)


def _print_whatever_stands_in_a_name() -> None:
    """A sign that the terminal or the file has no letter for is printed as its code, and ends no command."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
