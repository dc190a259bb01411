"""All cases, in the order of the families."""

from __future__ import annotations

from collections.abc import Sequence
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


def outcomes_of(some: Sequence[Case], folder: Path) -> tuple[Outcome, ...]:
    """Each case written to a folder of its own, read twice and judged."""
    return tuple(judged(case, _room(folder, place)) for place, case in enumerate(some))


def _room(folder: Path, place: int) -> Path:
    room = folder / f"case{place:03d}"
    room.mkdir()
    return room
