"""Output is written whole or not at all, and never over an existing folder without being told."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class FolderExists(Exception):
    """The output folder is already there; the sentence says how to go on."""


class NotOurFolder(Exception):
    """The output folder holds something else than a review; the sentence says how to go on."""


MARK = "headline.json"
PAGE, WORKBOOK, TABLES, FIGURES, HEADLINE = "page", "workbook", "tables", "figures", "headline"
PARTS = (HEADLINE, TABLES, WORKBOOK, PAGE, FIGURES)
"""The parts of a review that can be written by themselves."""
KEEPER_HTML, PAGE_HTML = "keeper.html", "review.html"


def ready(out: Path, *, force: bool = False, mark: str = MARK) -> None:
    """Raise before any work is done where `out` may not be written; see `written_whole`."""
    if out.exists() and not force:
        raise FolderExists(f"{out} already exists; name another folder, or add --force to replace it")
    if out.exists() and not _replaceable(out, mark):
        raise NotOurFolder(f"{out} holds other things than an earlier output; name another folder")


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
    out.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
    try:
        yield fresh
        fresh.chmod(0o777 & ~_umask())
        _swap(fresh, out)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


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
