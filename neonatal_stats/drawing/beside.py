"""Figures drawn by a second process while the first one goes on asking chapters: drawing is half of a review's time.
And further processes for whole farms side by side; whatever is started here ends with the first process.

Only the command line works this way: a process of its own must be able to start without running the caller's script
again. What is drawn is the same to the byte, whoever draws it.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import active_children, get_context, parent_process
from multiprocessing.connection import wait
from threading import Thread

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
    with further_processes(1) as pool:
        with deaf_to_ctrl_c():
            hand = Hand(pool)
        yield hand


@contextmanager
def further_processes(number: int) -> Iterator[ProcessPoolExecutor]:
    """So many processes for the length of a block.

    Where the block fails or is told to stop they end with it, in the middle of what they do; where this process is
    killed they notice and end too. They start when something is first asked of them, which is to be asked within
    `deaf_to_ctrl_c`.
    """
    others = active_children()
    pool = ProcessPoolExecutor(
        number, mp_context=get_context("spawn"), initializer=_end_with_the_first_process
    )
    try:
        yield pool
        pool.shutdown()
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        for child in active_children():
            if child not in others:
                child.terminate()
        pool.shutdown()
        raise


@contextmanager
def deaf_to_ctrl_c() -> Iterator[None]:
    """What is started in this block does not hear the terminal's Ctrl-C: it is for the first process to act on."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _end_with_the_first_process() -> None:
    """Watch, beside the drawing, for the end of the process that asked for it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_watch, daemon=True).start()


def _watch() -> None:
    first = parent_process()
    if first is not None:
        wait([first.sentinel])
        os._exit(1)


def _wake() -> None:
    """Have the process started and its imports done before the first figure comes."""


def _drawn(figure: Figure) -> tuple[str, bytes]:
    return figure.svg(), figure.png()
