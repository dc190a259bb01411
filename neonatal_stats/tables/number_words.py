"""The few words and signs that stand inside a printed number: each language has its own."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass


@dataclass(frozen=True)
class NumberWords:
    """ "3 of 7", "9.0 to 14.2 %", "at least 1.20", "under 0.001", "6 h", "36 d", 12 345."""

    of: str = "of"
    to: str = "to"
    at_least: str = "at least"
    at_most: str = "at most"
    under: str = "under"
    hours: str = "h"
    days: str = "d"
    decimal: str = "."
    thousands: str = "\u202f"


ENGLISH = NumberWords()
_SPOKEN: ContextVar[NumberWords] = ContextVar("number_words", default=ENGLISH)


def spoken() -> NumberWords:
    """The words in which numbers are printed at this moment."""
    return _SPOKEN.get()


@contextmanager
def numbers_in(words: NumberWords) -> Iterator[None]:
    """Print numbers in these words inside the block; whatever was set before holds again after it."""
    before = _SPOKEN.set(words)
    try:
        yield
    finally:
        _SPOKEN.reset(before)
