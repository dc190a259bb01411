"""One small square a newborn: the strip of a season, and the 100 squares of the keeper's sheet.

They are SVG made by hand, with the colours as variables of the page around them. A mark tells by colour and by shape,
so that it is told apart in grey as well; all marks of one kind are one path, however many they are.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from html import escape

STEP = 10.0  # from one square to the next; a mark is at most `WIDE` of it
WIDE = 8.4
MOST_SQUARES = 1500
"""More newborns than this share their squares."""
LONG = 2.1  # how much wider than high a strip is


@dataclass(frozen=True)
class Mark:
    """How one kind of newborn is drawn: the name of its shape, and of its colour in the page's style."""

    shape: str
    colour: str


ALIVE, UNWATCHED = Mark("dot", "past"), Mark("open", "past")
LOST = (
    Mark("square", "ink"),
    Mark("corner", "clear"),
    Mark("diamond", "ochre"),
    Mark("bar", "blue"),
    Mark("cross", "violet"),
    Mark("ring", "green"),
)
"""The marks of those lost, earliest first; of more kinds than these the last repeats."""


def lost_mark(place: int) -> Mark:
    """The mark of the so-manieth kind of loss."""
    return LOST[min(place, len(LOST) - 1)]


@dataclass(frozen=True)
class Kind:
    """So many newborns of one kind, their mark, and the words for who points at one of them."""

    n: int
    mark: Mark
    words: str


def stands_for(born: int) -> int:
    """How many newborns one square stands for.

    >>> stands_for(606), stands_for(1501), stands_for(100_000)
    (1, 2, 100)
    """
    if born <= MOST_SQUARES:
        return 1
    least = born / MOST_SQUARES
    power = 10.0 ** math.floor(math.log10(least))
    return int(next(step * power for step in (1, 2, 5, 10) if step * power >= least))


def strip(kinds: Sequence[Kind], alt: str) -> str:
    """Every newborn of a season as a square, in the order of the kinds, row by row; wider than high.

    Of many newborns one square stands for `stands_for` of them, and for no fewer than one where there is any.
    """
    each = stands_for(sum(kind.n for kind in kinds))
    shown = [Kind(max(1, round(kind.n / each)) if kind.n else 0, kind.mark, kind.words) for kind in kinds]
    total = sum(kind.n for kind in shown)
    return _drawn(shown, max(1, math.ceil(math.sqrt(LONG * total))), alt)


def hundred(kinds: Sequence[Kind], alt: str) -> str:
    """Ten rows of ten (of fewer than 100 newborns as many as they fill), in the order of the kinds."""
    return _drawn(kinds, 10, alt)


def key(mark: Mark) -> str:
    """One mark by itself, for the words beside it."""
    half = STEP / 2
    return (
        f'<svg class="key" viewBox="0 0 {STEP:g} {STEP:g}" aria-hidden="true">'
        f"{_path(mark, [(half, half)], '')}</svg>"
    )


def _drawn(kinds: Sequence[Kind], columns: int, alt: str) -> str:
    """The kinds one after the other, so many squares to a row."""
    paths, done = [], 0
    for kind in kinds:
        places = [divmod(place, columns) for place in range(done, done + kind.n)]
        middles = [((column + 0.5) * STEP, (row + 0.5) * STEP) for row, column in places]
        paths.append(_path(kind.mark, middles, kind.words) if middles else "")
        done += kind.n
    width, height = columns * STEP, max(1, math.ceil(done / columns)) * STEP
    return (
        f'<svg class="squares" viewBox="0 0 {width:g} {height:g}" role="img" aria-label="{escape(alt)}">'
        f"{''.join(paths)}</svg>"
    )


def _path(mark: Mark, middles: Sequence[tuple[float, float]], words: str) -> str:
    shape = SHAPES[mark.shape]
    line = f'fill="none" stroke="var(--{mark.colour})" stroke-width="1.2"'
    style = line if mark.shape in OUTLINED else f'fill="var(--{mark.colour})"'
    title = f"<title>{escape(words)}</title>" if words else ""
    return f'<path {style} d="{"".join(shape(x, y) for x, y in middles)}">{title}</path>'


def _square(x: float, y: float, wide: float = WIDE) -> str:
    return f"M{x - wide / 2:g} {y - wide / 2:g}h{wide:g}v{wide:g}h{-wide:g}z"


def _dot(x: float, y: float) -> str:
    return _square(x, y, 0.42 * WIDE)


def _corner(x: float, y: float) -> str:
    half = WIDE / 2
    return f"M{x - half:g} {y - half:g}v{WIDE:g}h{WIDE:g}z"


def _diamond(x: float, y: float) -> str:
    half = 0.56 * WIDE
    return f"M{x:g} {y - half:g}l{half:g} {half:g}l{-half:g} {half:g}l{-half:g} {-half:g}z"


def _bar(x: float, y: float) -> str:
    return f"M{x - WIDE / 2:g} {y - WIDE / 4:g}h{WIDE:g}v{WIDE / 2:g}h{-WIDE:g}z"


def _cross(x: float, y: float) -> str:
    half, thick = WIDE / 2, WIDE / 3
    arm = half - thick / 2
    return (
        f"M{x - thick / 2:g} {y - half:g}h{thick:g}v{arm:g}h{arm:g}v{thick:g}h{-arm:g}v{arm:g}h{-thick:g}"
        f"v{-arm:g}h{-arm:g}v{-thick:g}h{arm:g}z"
    )


def _ring(x: float, y: float) -> str:
    return _square(x, y) + f"M{x - 2:g} {y - 2:g}v4h4v-4z"


def _open(x: float, y: float) -> str:
    return _square(x, y, 0.62 * WIDE)


SHAPES: Mapping[str, Callable[[float, float], str]] = {
    "square": _square,
    "corner": _corner,
    "diamond": _diamond,
    "bar": _bar,
    "cross": _cross,
    "ring": _ring,
    "dot": _dot,
    "open": _open,
}
OUTLINED = ("open",)
