"""Rows read down the page, each with its words above its line, so that the scale takes the whole width.

A row's label stands at the left and its counts at the right, right above the line on which the row is drawn. Whatever
crosses rows (the rules of the scale, an average) is drawn beside the lines alone and never through words. Heights are
points down the page, so that nothing is left to chance: what needs room is measured first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.ticker import MaxNLocator

from neonatal_stats.drawing.colours import INK, QUIET, RULE
from neonatal_stats.drawing.house import LETTERS_PT, WIDTH_IN, canvas
from neonatal_stats.drawing.lettering import LINE_PT, wide, wrapped
from neonatal_stats.tables import Printer

LEFT, RIGHT = 9.5, 12.0  # points beside the panel: half the width of the last number under a scale
ROOM = 72 * WIDTH_IN - LEFT - RIGHT
INDENT = 10.0
APART = 8.0  # between words at the left and words at the right
ABOVE = 1.5  # from words down to what is drawn under them
BELOW = 4.5  # from there to the words of the next row
BAND = 5.0  # half the height of what is drawn on a line
HEADING = 15.0
UNDER_SCALE = 16.0  # the numbers under a scale
TICKS = 5
STUB = 4.0  # of an average, from its name down


@dataclass(frozen=True)
class Row:
    """One row: its words at the left and at the right, whether anything is drawn on its line, and how it is placed.

    Parameters
    ----------
    depth : steps by which the label is indented, one for a group that is part of the one above it.
    heading : words in bold above the row, where a block begins.
    drawn : False for a row of words alone.
    band : half the height of what is drawn, points.
    under : room below it, for words or to set the row apart, points.
    free : room at the right into which the label does not run, points.
    """

    label: str
    right: str = ""
    depth: int = 0
    heading: str = ""
    drawn: bool = True
    band: float = BAND
    under: float = 0.0
    free: float = 0.0


@dataclass(frozen=True, eq=False)
class Panel:
    """The panel of a figure in rows: the line of each row in points down from the top, and the name of an average."""

    figure: Canvas
    axes: Axes
    rows: tuple[Row, ...]
    lines: tuple[float, ...]
    top: float
    name: tuple[str, ...]

    def across(self, places: Sequence[float], **look: Any) -> None:
        """A line at each place beside every row that is drawn, and nowhere else."""
        self._upright([(x, line - half, line + half) for line, half in self._drawn() for x in places], **look)

    def average(self, at: float) -> None:
        """A dotted line through all rows, with its name above the first; the scale must stand before."""
        spans = [
            (at, self.top - STUB, self.top),
            *((at, line - half, line + half) for line, half in self._drawn()),
        ]
        self._upright(spans, color=INK, lw=1.0, ls=(0, (1, 1.5)), zorder=1.5)
        low, high = self.axes.get_xlim()
        half, place = max(map(wide, self.name)) / 2, ROOM * (at - low) / (high - low)
        inside = min(max(place, half), ROOM - half)
        self.axes.annotate(
            "\n".join(self.name), (at, self.top), xytext=(inside - place, STUB), textcoords="offset points",
            ha="center", va="bottom", annotation_clip=False,
        )  # fmt: skip

    def _drawn(self) -> Iterator[tuple[float, float]]:
        """Line and half height of the rows on which something is drawn."""
        return ((at, row.band) for at, row in zip(self.lines, self.rows, strict=True) if row.drawn)

    def _upright(self, spans: Sequence[tuple[float, float, float]], **look: Any) -> None:
        """Upright strokes, each from one height to another, as one broken line."""
        points = [point for x, top, foot in spans for point in ((x, top), (x, foot), (x, np.nan))]
        if points:
            self.axes.plot(*zip(*points, strict=True), clip_on=False, **look)

    def rules(self) -> None:
        """Pale rules at the numbers of the scale, which must stand before."""
        low, high = sorted(self.axes.get_xlim())
        ticks = [float(tick) for tick in self.axes.get_xticks() if low <= tick <= high]
        self.across(ticks, color=RULE, lw=0.6, zorder=0.5)


def down_the_page(
    printer: Printer,
    rows: Sequence[Row],
    *,
    axis: str = "",
    legend: Sequence[tuple[Any, str]] = (),
    right: str = "",
    named: str = "",
    over: float = 0.0,
) -> Panel:
    """A figure as high as its rows, with the panel that holds them, their words written and nothing drawn yet.

    Parameters
    ----------
    axis : words under the scale, with the unit; "" for a panel without a scale.
    legend : marks and what they mean, over the rows.
    right : words over what stands at the right of the rows.
    named : the name of an average, for which room is kept above the first row.
    over : further room above the first row, points.
    """
    placed, axis = [_labelled(row) for row in rows], axis if any(row.drawn for row in rows) else ""
    name = wrapped(named, ROOM) if named else []
    start = (LINE_PT + 3) * bool(right) + LINE_PT * len(name) + (STUB + 2) * bool(name) + over
    lines, end = _lines(rows, placed, start)
    entries = [(mark, wrapped(words, ROOM - KEY)) for mark, words in legend]
    over, under = _legend_height(entries) + 2, _under(axis)
    figure, (axes,) = canvas(printer, (over + end + under) / 72)
    figure.set_layout_engine("none")
    axes.set_position((LEFT / (LEFT + ROOM + RIGHT), under / (over + end + under), ROOM / (LEFT + ROOM + RIGHT),
                       end / (over + end + under)))  # fmt: skip
    axes.set_ylim(end, 0)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    _scale(axes, axis)
    for row, label, line in zip(rows, placed, lines, strict=True):
        _write(axes, row, label, line)
    if right:
        axes.annotate(
            right, (1, LINE_PT), xycoords=("axes fraction", "data"), ha="right", va="bottom", color=QUIET
        )
    if entries:
        _legend(figure, entries)
    return Panel(figure, axes, tuple(rows), tuple(lines), start, tuple(name))


def _labelled(row: Row) -> list[str]:
    """The label in the lines that it needs beside the words at the right."""
    beside = max(wide(row.right) + APART if row.right else 0.0, row.free)
    return wrapped(row.label, ROOM - INDENT * row.depth - beside)


def _lines(rows: Sequence[Row], placed: Sequence[list[str]], start: float) -> tuple[list[float], float]:
    """The line of each row, and where the panel ends."""
    lines, y = [], start
    for place, (row, label) in enumerate(zip(rows, placed, strict=True)):
        if row.heading:
            y += HEADING + (BELOW if place else 0)
        y += LINE_PT * len(label)
        if row.drawn:
            y += ABOVE + row.band
        lines.append(y)
        y += row.under + (row.band + BELOW if row.drawn else 2.0)
    return lines, y


def _write(axes: Axes, row: Row, label: list[str], line: float) -> None:
    """The words of a row, their foot right above what is drawn on its line."""
    up = (ABOVE + row.band) * row.drawn
    style: dict[str, Any] = {
        "xycoords": ("axes fraction", "data"), "textcoords": "offset points", "va": "bottom", "annotation_clip": False,
    }  # fmt: skip
    axes.annotate("\n".join(label), (0, line), xytext=(INDENT * row.depth, up), ha="left", **style)
    if row.right:
        axes.annotate(row.right, (1, line), xytext=(0, up), ha="right", color=QUIET, **style)
    if row.heading:
        up += LINE_PT * len(label) + 2
        axes.annotate(row.heading, (0, line), xytext=(0, up), ha="left", weight="bold", **style)


def _under(axis: str) -> float:
    """The height of a scale with its numbers and words."""
    return UNDER_SCALE + LINE_PT * len(wrapped(axis, ROOM)) + 3 if axis else 2.0


def _scale(axes: Axes, axis: str) -> None:
    """Numbers and words under the rows; where there are none, no scale."""
    if not axis:
        axes.set_xticks([])
        axes.spines["bottom"].set_visible(False)
        return
    axes.xaxis.set_major_locator(MaxNLocator(TICKS, steps=[1, 2, 5, 10]))
    axes.tick_params(axis="x", length=3, pad=2)
    axes.set_xlabel("\n".join(wrapped(axis, ROOM)), labelpad=2)


KEY = 20.0  # a mark of the legend and the gap to its words
BETWEEN = 12.0  # columns of the legend


def _legend_columns(entries: Sequence[tuple[Any, list[str]]]) -> int:
    """How many columns fit, filled one after the other."""
    widths = [KEY + max(map(wide, words)) for _, words in entries]
    for columns in range(len(entries), 1, -1):
        parts = np.array_split(np.array(widths), columns)
        if sum(part.max() for part in parts) + BETWEEN * (columns - 1) <= ROOM:
            return columns
    return 1


def _legend_height(entries: Sequence[tuple[Any, list[str]]]) -> float:
    if not entries:
        return 0.0
    down = -(-len(entries) // _legend_columns(entries))
    return (LINE_PT * max(len(words) for _, words in entries) + 3) * down + 4


def _legend(figure: Canvas, entries: Sequence[tuple[Any, list[str]]]) -> None:
    """What the marks mean, over the rows, in as many columns as fit."""
    figure.legend(
        [mark for mark, _ in entries], ["\n".join(words) for _, words in entries], loc="upper left",
        bbox_to_anchor=(LEFT / (72 * WIDTH_IN), 1.0), ncols=_legend_columns(entries), frameon=False, borderpad=0,
        borderaxespad=0.2, handlelength=15 / LETTERS_PT, handletextpad=5 / LETTERS_PT, labelspacing=0.3,
        columnspacing=BETWEEN / LETTERS_PT, alignment="left",
    )  # fmt: skip
