"""What a command found, for another program: one JSON object on standard output, and nothing else there."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stdout
from dataclasses import asdict
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from neonatal_stats.cli.terminal import foreseen, in_a_sentence

if TYPE_CHECKING:
    from neonatal_stats.season.model import Season

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
