"""Progress by stage: a moving line on a terminal, a plain log elsewhere; always on standard error."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def stages() -> Iterator[Callable[[str], None]]:
    """A function to be told each stage as it starts."""
    if not sys.stderr.isatty():
        yield lambda stage: print(stage, file=sys.stderr, flush=True)
        return
    from rich.console import Console

    console = Console(stderr=True)
    with console.status("") as status:
        yield lambda stage: status.update(stage)
