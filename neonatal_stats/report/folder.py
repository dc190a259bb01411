"""Output is written whole or not at all, and never over an existing folder without being told."""

from __future__ import annotations

import os
import shutil
import signal
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import current_thread, main_thread


class FolderExists(Exception):
    """The output folder is already there; the sentence says how to go on."""


class NotOurFolder(Exception):
    """The output folder holds something else than a review; the sentence says how to go on."""


class NotWritable(Exception):
    """Nothing can be written where the output was to go; the sentence says how to go on."""


MARK = "headline.json"
PAGE, WORKBOOK, TABLES, FIGURES, HEADLINE = "page", "workbook", "tables", "figures", "headline"
PARTS = (HEADLINE, TABLES, WORKBOOK, PAGE, FIGURES)
"""The parts of a review that can be written by themselves."""
KEEPER_HTML, PAGE_HTML = "keeper.html", "review.html"


def ready(out: Path, *, force: bool = False, mark: str = MARK) -> None:
    """Raise before any work is done where `out` may not be written; see `written_whole`."""
    there = os.path.exists(out)  # a path's own `exists` fails at a name that is too long
    if there and not force:
        raise FolderExists(
            f"{out} already exists; name another folder, or add --force (in Python force=True) to replace it"
        )
    if there and not _replaceable(out, mark):
        raise NotOurFolder(f"{out} holds other things than an earlier output; name another folder")
    writable(out)


def writable(out: Path) -> None:
    """Raise where a file or folder of this name could not be written: found by trying, and nothing of it is left.

    The folders above it that are not there yet are not made; the nearest that is there is tried.
    """
    out = Path(os.path.abspath(out))
    try:
        above = next(folder for folder in out.parents if os.path.exists(folder))
        with tempfile.TemporaryDirectory(prefix=f".{out.name}-old-", dir=above):
            pass
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise NotWritable(f"{out} cannot be written ({why}); name another place") from None


@contextmanager
def written_whole(out: Path, *, force: bool = False, mark: str = MARK) -> Iterator[Path]:
    """A temporary folder beside `out` that takes its place when the block ends well and vanishes when it does not.

    Parameters
    ----------
    out : the folder to be written.
    force : replace an existing folder; only one that holds the file `mark` (an earlier output) or is empty.

    Raises
    ------
    FolderExists : `out` exists and `force` is not given.
    NotOurFolder : `out` exists, is not empty and was not written by this program.
    """
    out = Path(out)
    ready(out, force=force, mark=mark)
    with _parents(out), _fresh_beside(out) as fresh:
        yield fresh
        fresh.chmod(0o777 & ~_umask())
        with _undisturbed():
            _swap(fresh, out)


@contextmanager
def _parents(out: Path) -> Iterator[None]:
    """The folders above `out`; those that had to be made vanish again where nothing came to stand in them."""
    missing = [folder for folder in out.absolute().parents if not folder.exists()]
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        yield
    finally:
        for folder in missing:
            with suppress(OSError):
                folder.rmdir()


@contextmanager
def _fresh_beside(out: Path) -> Iterator[Path]:
    fresh = None
    try:
        with _undisturbed():
            fresh = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
        yield fresh
    finally:
        if fresh is not None:
            shutil.rmtree(fresh, ignore_errors=True)


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Ctrl-C and a request to end wait until the block is over: half moved is neither old nor new."""
    if current_thread() is not main_thread():
        yield
        return
    held: list[int] = []
    names = [name for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
    handlers = {number: signal.getsignal(number) for number in (getattr(signal, name) for name in names)}
    for number, handler in handlers.items():
        if callable(handler):
            signal.signal(number, lambda number, frame: held.append(number))
    try:
        yield
    finally:
        for number, handler in handlers.items():
            if callable(handler):
                signal.signal(number, handler)
        for number in held[:1]:
            signal.raise_signal(number)


def _replaceable(out: Path, mark: str) -> bool:
    return out.is_dir() and not out.is_symlink() and ((out / mark).exists() or not any(out.iterdir()))


def _swap(fresh: Path, out: Path) -> None:
    old = Path(tempfile.mkdtemp(prefix=f".{out.name}-old-", dir=out.parent))
    try:
        if out.exists():
            os.replace(out, old / out.name)
        os.replace(fresh, out)
    finally:
        shutil.rmtree(old, ignore_errors=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
