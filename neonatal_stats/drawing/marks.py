"""What a picture is given besides frames, and how many animals one mark of it must stand for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

IN_FLOW = 50  # marks of one step of the flow, in two rows
ACROSS, DOWN = 6, 5  # rows of marks in a cell of the tally


@dataclass(frozen=True)
class Went:
    """What went at a step of the flow: how many, in which way (a key of `tallies.LOOKS`), and in words with the
    number."""

    words: str
    n: int
    way: str


@dataclass(frozen=True)
class Rose:
    """The day from which deaths rose, with its interval, as positions along the axis; in which panel, None for all."""

    at: float
    low: float
    high: float
    panel: int | None
    words: str


def flow_marks_stand_for(went: Iterable[Went]) -> int:
    """How many animals one mark of the flow must stand for, so that the largest loss fits: 1, 2, 5, 10, ..."""
    return _stand_for(max((one.n for one in went), default=0), IN_FLOW)


def squares_stand_for(largest: int) -> int:
    """How many losses one square of the tally must stand for, so that the largest cell fits: 1, 2, 5, 10, ..."""
    return _stand_for(largest, ACROSS * DOWN)


def _stand_for(largest: int, room: int) -> int:
    for each in (1, 2, 5, 10, 20, 50, 100, 200, 500):
        if largest <= each * room:
            return each
    return -(-largest // room)
