"""Answers kept beside an output that is not written yet, so that a run that was killed goes on where it stood.

The folder is named after all that an answer follows from: the files (paths, sizes, times), the settings, the code.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

import neonatal_stats
from neonatal_stats import __version__
from neonatal_stats.season.settings import Settings

SPILL = "spill"


@dataclass(frozen=True)
class Kept:
    """The folder in which the answers of one run are kept; it is made with the first."""

    folder: Path

    def answer(self, name: str) -> tuple[pd.DataFrame, dict[str, Any]] | None:
        """The frame and the facts that were kept under a name; None where there are none."""
        told = self.folder / f"{name}.json"
        if not told.is_file():
            return None
        facts: dict[str, Any] = json.loads(told.read_text(encoding="utf-8"))
        frame = pd.read_parquet(self.folder / f"{name}.parquet", engine="pyarrow")
        for column, words in facts.pop("levels").items():
            frame[column] = pd.Categorical(frame[column], words, ordered=True)
        return frame, facts

    def keep(self, name: str, frame: pd.DataFrame, facts: dict[str, Any]) -> None:
        """Keep a frame and facts that JSON can hold; what is half written is not found again."""
        self.folder.mkdir(parents=True, exist_ok=True)
        levels = {
            str(column): [str(word) for word in frame[column].cat.categories]
            for column in frame
            if isinstance(frame[column].dtype, pd.CategoricalDtype)
        }
        part = self.folder / f".{name}.part"
        frame.astype(dict.fromkeys(levels, object)).to_parquet(part, index=False, engine="pyarrow")
        os.replace(part, self.folder / f"{name}.parquet")
        part.write_text(json.dumps(facts | {"levels": levels}, ensure_ascii=False), encoding="utf-8")
        os.replace(part, self.folder / f"{name}.json")

    def answered(self) -> bool:
        """Whether an earlier run has answered anything."""
        return any(self.folder.glob("*.json"))


def kept_beside(out: Path, files: Iterable[Path], settings: Settings, *asked: object) -> Kept:
    """Where the answers for an output are kept: a folder beside it that ends with a fingerprint.

    Parameters
    ----------
    asked : whatever else the answers follow from.
    """
    out = Path(os.path.abspath(out))
    told = hashlib.sha256(f"{__version__}\n{settings!r}\n{asked!r}\n{_code()}\n".encode())
    for file in files:
        about = file.stat()
        told.update(
            f"{os.path.abspath(file)}\t{about.st_size}\t{about.st_mtime_ns}\n".encode(
                "utf-8", "surrogateescape"
            )
        )
    return Kept(out.parent / f"{_start(out)}{told.hexdigest()[:16]}")


def remove_kept(out: Path) -> None:
    """Remove all that runs for this output have kept, under whatever fingerprint."""
    out = Path(os.path.abspath(out))
    for folder in out.parent.iterdir() if out.parent.is_dir() else ():
        if folder.name.startswith(_start(out)) and folder.is_dir():
            shutil.rmtree(folder, ignore_errors=True)


def _start(out: Path) -> str:
    return f".{out.name}-answers-"


def _code() -> str:
    """A digest of the package's own code, so that an answer of another is not taken for this one's."""
    root = Path(neonatal_stats.__file__).parent
    told = hashlib.sha256()
    for file in sorted(root.rglob("*.py")):
        told.update(file.read_bytes())
    return told.hexdigest()
