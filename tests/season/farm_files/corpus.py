"""All cases, in the order of the families."""

from __future__ import annotations

import functools
import tempfile
from pathlib import Path

from tests.season.farm_files import (
    exchange,
    files,
    identity,
    languages,
    lines,
    litters,
    outcomes,
    seasons,
    words,
)
from tests.season.farm_files.case import CASES, Case
from tests.season.farm_files.reconcile import Outcome, judged

FAMILIES = (outcomes, lines, seasons, litters, files, identity, languages, words, exchange)


def cases() -> list[Case]:
    assert len({case.name for case in CASES}) == len(CASES), "two cases of one name"
    return list(CASES)


@functools.cache
def outcomes_of_all() -> tuple[Outcome, ...]:
    """Each case written to a folder of its own, read twice and judged; once a process."""
    with tempfile.TemporaryDirectory() as name:
        return tuple(judged(case, _room(Path(name), place)) for place, case in enumerate(cases()))


def _room(folder: Path, place: int) -> Path:
    room = folder / f"case{place:03d}"
    room.mkdir()
    return room
