"""Marks that are counted: a mark is one animal, so that the eye counts newborns and not shades.

What was lost is a filled square; what went otherwise has another shape or is hollow, so that nothing else looks like a
death, in a grey print too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from neonatal_stats.drawing.colours import INK, PAPER, QUIET, STEEL
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.house import house
from neonatal_stats.drawing.lettering import LINE_PT, wide, wrapped
from neonatal_stats.drawing.marks import ACROSS, Went, flow_marks_stand_for, squares_stand_for
from neonatal_stats.drawing.rows import APART, BELOW, INDENT, RIGHT, ROOM, Row, down_the_page
from neonatal_stats.drawing.svg import said
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Printer

PITCH = 4.4  # points from one mark to the next
SIZE = 3.6
BAR = 3.0
TEN = 2.0  # points that set one ten of them apart from the next
MIN_GAP, MAX_GAP = 3.0, 14.0  # between columns of the tally
FEWEST_ACROSS = 3  # squares side by side in a column of the tally, where there are many columns

_SQUARE = Path([(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)], closed=True)
_DIAMOND = Path([(0.5, -0.1), (1.1, 0.5), (0.5, 1.1), (-0.1, 0.5), (0.5, -0.1)], closed=True)
_CIRCLE = Path(np.asarray(Path.unit_circle().vertices) / 2 + 0.5, Path.unit_circle().codes)
LOOKS = {
    "lost": (_SQUARE, INK, INK),
    "age unknown": (_DIAMOND, INK, INK),
    "left": (_CIRCLE, PAPER, QUIET),
    "never there": (_SQUARE, PAPER, QUIET),
}
"""Shape, inside and edge of each way to go."""


def draw_flow(
    dams: pd.DataFrame,
    newborns: pd.DataFrame,
    *,
    printer: Printer,
    headings: tuple[str, str],
    name: str,
    title: str,
    alt: str,
    one_mark: str,
    also: tuple[pd.DataFrame, str] | None = None,
) -> Figure:
    """Draw the steps from dams expected to newborns alive at the end, and animal by animal what went between them.

    A bar is as long as what is still there, from 0, grey for dams and ink for newborns. Above it stands what went
    since the step before, counted in marks: filled squares the lost, filled diamonds those lost at an unknown age,
    hollow circles those that left alive, hollow squares those that were never there; with what is still there they add
    up to the step before.

    Parameters
    ----------
    dams, newborns : frames with label, n and went (a list of `Went`), in order from the top; there may be no dams.
    headings : words over the dams and over the newborns.
    one_mark : words that say how many a mark stands for, `flow_marks_stand_for` so many.
    also : further steps of dams that stand between both, with the words over them.
    """
    between = [(*also, STEEL)] if also else []
    parts = [(dams, headings[0], STEEL), *between, (newborns, headings[1], INK)]
    all_gone = [went for frame, _, _ in parts for all_went in frame["went"] for went in all_went]
    each = flow_marks_stand_for(all_gone)
    free = max((_length(went.n, each) for went in all_gone), default=0.0) + APART
    rows: list[tuple[Row, Any, str]] = []
    for frame, heading, colour in parts:
        for place, step in enumerate(each_row(frame)):
            rows += [
                (
                    Row(one.words, depth=1, drawn=False, free=free, under=BELOW * (one is step.went[-1])),
                    one,
                    colour,
                )
                for one in step.went
            ]
            row = Row(str(step.label), printer.count(step.n), heading=heading * (place == 0), band=BAR / 2)
            rows.append((row, step, colour))
    with house():
        panel = down_the_page(printer, [row for row, _, _ in rows], right=one_mark)
        largest = max([float(step.n) for row, step, _ in rows if row.drawn] + [1.0])
        panel.axes.set_xlim(0, largest)
        start = INDENT + _widest(all_gone, ROOM - INDENT - free) + APART
        for line, (row, one, colour) in zip(panel.lines, rows, strict=True):
            if row.drawn:
                bar = panel.axes.barh(line, one.n, height=BAR, color=colour, clip_on=False)[0]
                said(bar, f"{row.label}: {row.right}")
            elif one.n > 0:
                places = _two_rows(_marks(one.n, each), start, line - LINE_PT / 2)
                said(_counted(panel.axes, places, LOOKS[one.way], largest / ROOM), one.words)
    return Figure(name, title, alt, panel.figure)


def _marks(n: int, each: int) -> int:
    """How many marks, the last of them perhaps only begun."""
    return max(-(-int(n) // each), 0)


def _length(n: int, each: int) -> float:
    """The points that the marks of so many take in two rows."""
    columns = -(-_marks(n, each) // 2)
    return columns * PITCH + max(columns - 1, 0) // 5 * TEN


def _widest(went: Sequence[Went], room: float) -> float:
    return max((wide(line) for one in went for line in wrapped(one.words, room)), default=0.0)


def _two_rows(marks: int, start: float, middle: float) -> Iterator[tuple[float, float]]:
    """The upper left corners of so many marks, two under each other, every ten set apart."""
    for column, down in (divmod(place, 2) for place in range(marks)):
        yield start + column * PITCH + column // 5 * TEN, middle + (down - 1) * PITCH


def _counted(
    axes: Axes, places: Iterable[tuple[float, float]], look: tuple[Path, str, str], unit: float
) -> PathPatch:
    """Marks at these places, in points, as one shape; ``unit`` of the scale across is a point."""
    shape, inside, edge = look
    corners = np.asarray(shape.vertices) * (SIZE * unit, SIZE)
    marks = [Path(np.add(corners, (x * unit, y)), shape.codes) for x, y in places]
    thick = 0.0 if inside == edge else 0.8
    patch = PathPatch(Path.make_compound_path(*marks), fc=inside, ec=edge, lw=thick, clip_on=False)
    axes.add_patch(patch)
    return patch


def draw_tally(
    counts: pd.DataFrame,
    *,
    printer: Printer,
    rows: Sequence[str],
    columns: Sequence[str],
    colours: Sequence[str],
    name: str,
    title: str,
    alt: str,
    one_square: str,
) -> Figure:
    """Draw losses by cause and age as small squares in the cause's colour, so that the eye counts and sees no shades.

    A cause a row, an age window a column; a square is a loss, or so many as `squares_stand_for` says, the last of a
    cell perhaps only begun; the cell's count stands over its squares.

    Parameters
    ----------
    counts : frame of whole numbers, one row a cause from the top and one column an age window.
    rows, columns : printed names of the causes and of the windows.
    colours : of the causes.
    one_square : words over the rows that say how many a square stands for.
    """
    numbers = counts.to_numpy(int)
    each = squares_stand_for(int(numbers.max(initial=0)))
    across, places = _columns(columns, [printer.count(n) for n in numbers.max(axis=0, initial=0)])
    heights = [LINE_PT + PITCH * -(-_marks(int(row.max(initial=0)), each) // across) for row in numbers]
    words = [wrapped(one, room) for one, (_, room) in zip(columns, places, strict=True)]
    with house():
        panel = down_the_page(
            printer,
            [
                Row(label, printer.count(row.sum()), band=height / 2)
                for label, row, height in zip(rows, numbers, heights, strict=True)
            ],
            right=one_square,
            over=LINE_PT * max(map(len, words), default=0) + BELOW,
        )
        panel.axes.set_xlim(0, ROOM)
        for lines, (start, _) in zip(words, places, strict=True):
            at = (start, panel.top - BELOW)
            panel.axes.annotate("\n".join(lines), at, va="bottom", color=QUIET, annotation_clip=False)
        for line, label, row, height, colour in zip(
            panel.lines, rows, numbers, heights, colours, strict=True
        ):
            top = line - height / 2
            for n, column, (start, room) in zip(row, columns, places, strict=True):
                if n:
                    count = printer.count(n)
                    corners = _in_rows(_marks(n, each), across, start, top + LINE_PT)
                    cell = _cell(panel.axes, (start, top), count, room, corners, colour)
                    said(cell, f"{label}, {column}: {count}")
    return Figure(name, title, alt, panel.figure)


def _columns(names: Sequence[str], counts: Sequence[str]) -> tuple[int, list[tuple[float, float]]]:
    """How many squares stand side by side, and where each column of the tally starts, with its room.

    The room of a column is that of its squares, its longest word and its number. Where there are too many columns for
    that, fewer squares stand side by side; and where that is not enough, only the widest give way.
    """
    whole, gaps = ROOM + RIGHT - 2, max(len(names) - 1, 1)
    words = [max(map(wide, [*name.split(" "), count])) for name, count in zip(names, counts, strict=True)]
    for across in range(ACROSS, FEWEST_ACROSS - 1, -1):
        needs = [max(PITCH * across, word) for word in words]
        if sum(needs) + MIN_GAP * gaps <= whole:
            break
    needs = _within(needs, whole - MIN_GAP * gaps)
    gap = min((whole - sum(needs)) / gaps, MAX_GAP)
    starts = [sum(needs[:place]) + gap * place for place in range(len(names))]
    rooms = [*(end - gap - start for start, end in pairwise(starts)), whole - starts[-1]]
    # a room is never less than what is needed by a rounding: that would cut a word
    return across, [(start, max(room, need)) for start, room, need in zip(starts, rooms, needs, strict=True)]


def _within(needs: Sequence[float], room: float) -> list[float]:
    """What each needs, the widest made narrower alike until all fit the room.

    >>> _within([10.0, 20.0, 40.0], 60.0)
    [10.0, 20.0, 30.0]
    """
    narrow = sorted(needs)
    shares = ((room - sum(narrow[:place])) / (len(narrow) - place) for place in range(len(narrow)))
    most = next((share for one, share in zip(narrow, shares, strict=True) if one > share), room)
    return [min(need, most) for need in needs]


def _in_rows(squares: int, across: int, left: float, top: float) -> Iterator[tuple[float, float]]:
    """The upper left corners of so many squares, row by row."""
    return ((left + PITCH * (k % across), top + PITCH * (k // across)) for k in range(squares))


def _cell(
    axes: Axes,
    corner: tuple[float, float],
    count: str,
    room: float,
    squares: Iterable[tuple[float, float]],
    colour: str,
) -> PathPatch:
    """The number of one cause in one age window where it fits, and its squares; the corner is the upper left."""
    if wide(count) <= room:
        axes.annotate(count, corner, va="top", color=QUIET, annotation_clip=False)
    return _counted(axes, squares, (_SQUARE, colour, colour), 1.0)
