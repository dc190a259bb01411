"""The commands as a person types them: in this process, which costs a test no start of Python; or in one of their own.

A test runs a command in a process of its own where it is about processes, signals, streams or the start; what a command
says, writes and answers with is the same here.
"""

from __future__ import annotations

import gc
import io
import os
import signal
import subprocess
import sys
import warnings
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, chdir, contextmanager, redirect_stderr, redirect_stdout
from functools import cache
from pathlib import Path
from typing import Any
from unittest.mock import patch

import typer.main

from neonatal_stats.cli.start import TOLD_TO_STOP, main

Done = subprocess.CompletedProcess[str]


def run_apart(*arguments: object, cwd: Path | None = None, env: dict[str, str] | None = None) -> Done:
    """The command in a process of its own, where any warning is an error."""
    command = [sys.executable, "-W", "error", "-m", "neonatal_stats", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, stdin=subprocess.DEVNULL, cwd=cwd, env=env)


def run(*arguments: object, cwd: Path | None = None, env: dict[str, str] | None = None) -> Done:
    """The same in this process; figures are drawn here and farms done one after another, with no second process."""
    given = list(map(str, arguments))
    code_page = (env or {}).get("PYTHONIOENCODING", "utf-8")
    out, err = _stream(code_page), _stream(code_page)
    with ExitStack() as here:
        here.enter_context(_as_it_was())
        here.enter_context(patch.object(sys, "argv", ["neonatal-stats", *given]))
        here.enter_context(patch.object(sys, "stdin", io.StringIO()))
        here.enter_context(patch.object(typer.main, "get_command", _command))
        here.enter_context(patch("neonatal_stats.drawing.beside.second_hand", _nobody))
        here.enter_context(patch("neonatal_stats.drawing.beside.side_by_side", _one_by_one))
        if cwd is not None:
            here.enter_context(chdir(cwd))
        if env is not None:
            here.enter_context(patch.dict(os.environ, env, clear=True))
        here.enter_context(warnings.catch_warnings())
        warnings.simplefilter("error")
        here.enter_context(redirect_stdout(out))
        here.enter_context(redirect_stderr(err))
        code = 0
        try:
            main()
        except SystemExit as stop:
            code = int(stop.code or 0)
    return Done(given, code, _told(out), _told(err))


_command = cache(typer.main.get_command)
"""The commands with their options, put together once: they are the same for every call."""


def _stream(code_page: str) -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BytesIO(), encoding=code_page, write_through=True)


def _told(stream: io.TextIOWrapper) -> str:
    assert isinstance(stream.buffer, io.BytesIO)
    return stream.buffer.getvalue().decode("utf-8").replace(os.linesep, "\n")


@contextmanager
def _as_it_was() -> Iterator[None]:
    """A command ends with its process, and so leaves signals and the search for rubbish as it likes."""
    before = {number: signal.getsignal(number) for number in TOLD_TO_STOP}
    try:
        yield
    finally:
        gc.enable()
        for number, heard in before.items():
            signal.signal(number, heard)


@contextmanager
def _nobody() -> Iterator[Any]:
    """Stands in for the second hand (`tests/drawing/test_beside.py` holds that it draws the same)."""
    from neonatal_stats.cli.review import _NoHand

    yield _NoHand()


def _one_by_one(task: Callable[[Any], Any], all_of: Iterable[Any], number: int) -> Iterator[tuple[Any, Any]]:
    """Stands in for processes side by side, with what is asked of them and what comes back."""
    for one in all_of:
        yield one, task(one)
