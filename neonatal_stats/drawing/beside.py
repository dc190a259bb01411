"""Figures drawn by a second process while the first one goes on asking chapters: drawing is half of a review's time.
And further processes for whole farms side by side; whatever is started here ends with the first process.

Only the command line works this way: a process of its own must be able to start without running the caller's script
again. What is drawn is the same to the byte, whoever draws it.
"""

from __future__ import annotations

import gc
import signal
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import contextmanager, suppress
from functools import partial
from importlib import import_module
from itertools import count
from multiprocessing import get_context, resource_tracker
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from queue import SimpleQueue
from threading import Condition, Thread
from typing import Any, TypeVar

from neonatal_stats.drawing import KINDS, Figure

One = TypeVar("One")
Made = TypeVar("Made")


class Hand:
    """A second hand that draws figures as they come, at the other end of a pipe: all that were asked for as SVG before
    the first of them as PNG, since the page needs no PNG."""

    def __init__(self, pipe: Connection) -> None:
        self._pipe = pipe
        self._asked: SimpleQueue[tuple[int, object] | None] = SimpleQueue()
        self._made: dict[tuple[int, str], str | bytes] = {}
        self._numbers = count()
        self._news = Condition()
        self._there = True
        self._threads = [Thread(target=one, daemon=True) for one in (self._hand_over, self._take_back)]
        for thread in self._threads:
            thread.start()

    def draw(self, figures: Iterable[Figure]) -> None:
        """Ask for these to be drawn; returns at once. Who looks at one waits for it; if need be it is drawn here."""
        for number, figure in zip(self._numbers, figures, strict=False):
            figure.is_drawn_by(partial(self._wait, number))
            self._asked.put((number, figure.drawn))

    def rest(self) -> None:
        """Nothing more is asked for, and the other end of the pipe is closed."""
        self._asked.put(None)
        for thread in self._threads:
            thread.join()

    def _wait(self, number: int, kind: str) -> str | bytes | None:
        """A figure as "svg" or "png" as soon as it is there; None where nobody is there to draw it."""
        with self._news:
            self._news.wait_for(lambda: (number, kind) in self._made or not self._there)
            return self._made.pop((number, kind), None)

    def _hand_over(self) -> None:
        with self._until_it_fails():
            while (asked := self._asked.get()) is not None:
                self._pipe.send(asked)

    def _take_back(self) -> None:
        with self._until_it_fails():
            while True:
                number, kind, made = self._pipe.recv()
                with self._news:
                    self._made[number, kind] = made
                    self._news.notify_all()

    @contextmanager
    def _until_it_fails(self) -> Iterator[None]:
        """Whatever it was: drawn by the first process the figure says so itself."""
        try:
            yield
        except Exception:
            with self._news:
                self._there = False
                self._news.notify_all()


@contextmanager
def second_hand() -> Iterator[Hand]:
    """A second hand for the length of a block; where its process dies, everything is drawn here.

    Where the block ends, fails or is told to stop the process ends with it, if need be in the middle of a figure; where
    this process is killed the other one finds nobody at its end of the pipe and ends too.
    """
    here, process = _started(_draw_what_comes)
    hand = Hand(here)
    try:
        yield hand
    finally:
        process.terminate()
        process.join()
        hand.rest()
        here.close()


def side_by_side(
    task: Callable[[One], Made], all_of: Iterable[One], number: int
) -> Generator[tuple[One, Made | None]]:
    """Do a task with each of these in so many processes: each with what came of it, as it is done.

    None came of one whose process died in the middle of it; the others go on. ``task`` is a function that a process can
    import (or a `functools.partial` of one) and raises nothing. Where the caller stops asking (close the iterator), or
    is told to stop, the processes end, in the middle of what they do.
    """
    left, hands = deque(all_of), dict[Connection, BaseProcess]()
    busy: dict[Connection, One] = {}

    def ask(pipe: Connection) -> None:
        if left:
            busy[pipe] = left.popleft()
            pipe.send(busy[pipe])

    def begin() -> None:
        here, process = _started(_do_what_comes, task)
        hands[here] = process
        ask(here)

    try:
        for _ in range(min(number, len(left))):
            begin()
        while busy:
            for pipe in wait(list(busy)):
                assert isinstance(pipe, Connection)
                one, made = busy.pop(pipe), None
                with suppress(EOFError, OSError):
                    made = pipe.recv()
                yield one, made
                if made is not None:
                    ask(pipe)
                elif left:
                    begin()
    finally:
        for process in hands.values():
            process.terminate()
        for pipe, process in hands.items():
            process.join()
            pipe.close()


def _started(serve: Callable[..., None], *given: object) -> tuple[Connection, BaseProcess]:
    """A process that serves at the other end of a pipe, and this end."""
    spawn = get_context("spawn")
    here, there = spawn.Pipe()
    process = spawn.Process(target=serve, args=(there, *given), daemon=True)
    with _deaf_to_ctrl_c():
        process.start()
    there.close()
    return here, process


@contextmanager
def _deaf_to_ctrl_c() -> Iterator[None]:
    """What is started in this block does not hear the terminal's Ctrl-C: it is for the first process to act on."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # else it is started within the block, and lifts the mask
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _draw_what_comes(pipe: Connection) -> None:
    """Draw figures until nobody is at the other end, or one cannot be drawn: it then fails over there."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.disable()  # as the review does, see cli/review.py
    from neonatal_stats.drawing.house import as_png, as_svg

    for file in KINDS:
        import_module(f"{__package__}.{file}")  # while the first process still reads
    waiting = deque[tuple[int, Figure]]()
    with suppress(Exception):
        while True:
            if waiting and not pipe.poll():
                number, figure = waiting.popleft()
                pipe.send((number, "png", as_png(figure.canvas)))
                continue
            number, drawn = pipe.recv()
            figure = Figure("", "", "", drawn)
            waiting.append((number, figure))
            pipe.send((number, "svg", as_svg(figure.canvas)))


def _do_what_comes(pipe: Connection, task: Callable[[Any], Any]) -> None:
    """Do a task with whatever comes until nobody is at the other end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(EOFError, OSError):
        while True:
            pipe.send(task(pipe.recv()))
