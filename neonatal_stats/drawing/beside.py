"""Figures drawn by a second process while the first one goes on asking chapters: drawing is half of a review's time.

Only the command line draws this way: a process of its own must be able to start without running the caller's script
again. What is drawn is the same to the byte, whoever draws it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context

from neonatal_stats.drawing.figure import Figure


class Hand:
    """A second hand that draws figures as they come."""

    def __init__(self, pool: ProcessPoolExecutor) -> None:
        self._pool = pool
        self._asked: list[tuple[Figure, Future[tuple[str, bytes]]]] = []
        pool.submit(_wake)

    def draw(self, figures: Iterable[Figure]) -> None:
        """Ask for these to be drawn; returns at once."""
        self._asked += [(figure, self._pool.submit(_drawn, figure)) for figure in figures]

    def finish(self) -> None:
        """Draw here, from the last one, what has not been begun there; then wait for the rest."""
        for figure, asked in reversed(self._asked):
            try:
                drawn = None if asked.cancel() else asked.result()
            except BrokenProcessPool:
                drawn = None
            if drawn is None:
                figure.png()
            else:
                figure.keep(*drawn)


@contextmanager
def second_hand() -> Iterator[Hand]:
    """A second hand for the length of a block; where its process dies, everything is drawn here."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        yield Hand(pool)


def _wake() -> None:
    """Have the process started and its imports done before the first figure comes."""


def _drawn(figure: Figure) -> tuple[str, bytes]:
    return figure.svg(), figure.png()
