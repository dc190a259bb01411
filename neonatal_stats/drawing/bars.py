"""Bars and squares: as long, or as many, as what they count.

Parts of a whole stand end to end, so that every newborn can be seen to be somewhere. Red and hatched is what was
lost, blue what is there or was met; hatching or dots say what a colour says, for a grey print.
"""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.collections import PatchCollection
from matplotlib.patches import Rectangle

from neonatal_stats.drawing.colours import CLEAR, INK, PAPER, QUIET, RULE, SERIES
from neonatal_stats.drawing.figure import Figure, beside, canvas, house, legend_above, one_line_each
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Printer

DAMS = "#5d6d7e"
PALE = "#c5d3de"
ROOM_FOR_NUMBER = 0.08  # share of the longest bar under which its number no longer fits inside it
TERM_HEIGHT = 0.36
ACROSS = 6  # squares in one row of a cell
DOWN = 5  # rows of squares in one cell

_LOOKS = ((SERIES[0], "", PAPER), (SERIES[1], "", PAPER), (CLEAR, "xxxx", PAPER), (RULE, "", INK))
_BAR: dict[str, Any] = {"height": 0.62, "ec": PAPER, "lw": 0.8, "zorder": 2}
_ROOM_FOR_COUNT = 0.045  # share of the bar under which a part's count no longer fits inside it


def draw_flow(
    dams: pd.DataFrame,
    newborns: pd.DataFrame,
    *,
    printer: Printer,
    headings: tuple[str, str],
    name: str,
    title: str,
    alt: str,
) -> Figure:
    """Draw a staircase from dams expected to newborns alive at the end: each step is as long as what is still there.

    What went since the step before stands at the bar's end: hatched red the lost, dotted grey those that left alive,
    crossed those lost at an unknown age; together they reach to where the step before ended. Dams, where there are
    any, stand above the newborns, their bars grey and those of newborns blue.

    Parameters
    ----------
    dams, newborns : frames with label, n, lost, left, age_unknown (counts) and went (words for what went at this
        step), in order from the top.
    headings : words over the dams and over the newborns.
    """
    parts = [(dams, headings[0], DAMS), (newborns, headings[1], SERIES[0])]
    parts = [part for part in parts if len(part[0])]
    with house():
        rows = [len(frame) + 0.6 for frame, _, _ in parts]
        figure, panels = canvas(printer, 0.42 * sum(rows) + 0.5, rows=len(parts), height_ratios=rows)
        for panel, (frame, heading, colour) in zip(panels, parts, strict=True):
            _steps(panel, printer, frame, colour)
            panel.set_title(heading)
    return Figure(name, title, alt, figure)


def _steps(panel: Axes, printer: Printer, frame: pd.DataFrame, colour: str) -> None:
    """One staircase with its numbers and words."""
    largest = max(float(frame["n"].max()), 1.0)
    for line, row in enumerate(each_row(frame)):
        inside = row.n >= ROOM_FOR_NUMBER * largest
        panel.barh(line, row.n, height=0.66, color=colour, ec=PAPER)
        ink = PAPER if inside else colour
        _after(panel, 0 if inside else row.n, line, printer.count(row.n), color=ink, weight="bold")
        end = _gone(panel, line, float(row.n), [row.lost, row.left, row.age_unknown])
        if row.went:
            clear_of_number = end > row.n or inside
            _after(panel, end, line, str(row.went), points=5 if clear_of_number else 30, fontsize=8.5)
    one_line_each(panel, frame["label"], "", grid=False)
    panel.set_xlim(0, largest)
    panel.set_xticks([])
    for side in ("bottom", "left"):
        panel.spines[side].set_visible(False)


def _gone(panel: Axes, line: int, start: float, counts: Sequence[float]) -> float:
    """The parts that went since the step before: lost, left, of unknown age; returns where they end."""
    looks = ((CLEAR, "////"), (QUIET, "...."), (INK, "xxxx"))
    for count, (edge, hatch) in zip(counts, looks, strict=True):
        if count > 0:
            panel.barh(line, count, left=start, height=0.66, color=PAPER, ec=edge, hatch=hatch, lw=0.8)
            start += count
    return start


def _after(panel: Axes, x: float, line: float, words: str, *, points: float = 5, **style: Any) -> None:
    """Words so many points right of a place on a line."""
    panel.annotate(
        words,
        (x, line),
        xytext=(points, 0),
        textcoords="offset points",
        va="center",
        annotation_clip=False,
        **style,
    )


def draw_weeks(
    weeks: pd.DataFrame,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axes_words: tuple[str, str, str],
    reference: float | None = None,
) -> Figure:
    """Draw the season week by week: how many were born, how many of them were lost, and the share lost below.

    A pale bar is as high as the births of its week, the red hatched part at its foot as high as those of them that
    were lost; both counts stand above it. Below, a blue dot stands at the share lost in percent, on its interval.

    Parameters
    ----------
    weeks : ``rates`` frame with label (printed under the bars), events, n, share, low, high; one row a week, in order;
        shares from 0 to 1.
    axes_words : words beside the count of births, beside the share in percent, and under the weeks.
    reference : share of the whole season, a dotted line, or None.
    """
    with house():
        figure, (births, shares) = canvas(printer, 4.3, rows=2, sharex=True, height_ratios=(1.25, 1))
        _births_with_lost(births, printer, weeks)
        births.set_ylabel(axes_words[0])
        _shares(shares, weeks, reference)
        shares.set_ylabel(axes_words[1])
        shares.set_xlabel(axes_words[2])
        every = max(1, -(-len(weeks) // 10))
        shares.set_xticks(range(0, len(weeks), every), [str(label) for label in weeks["label"][::every]])
    return Figure(name, title, alt, figure)


def _births_with_lost(axes: Axes, printer: Printer, weeks: pd.DataFrame) -> None:
    places = range(len(weeks))
    axes.bar(places, weeks["n"], width=0.8, color=PALE, ec=PAPER)
    axes.bar(places, weeks["events"], width=0.8, color=CLEAR, ec=PAPER, hatch="////")
    for place, (events, n) in enumerate(zip(weeks["events"], weeks["n"], strict=True)):
        if n:
            text = f"{printer.count(events)} / {printer.count(n)}"
            axes.annotate(
                text, (place, n), xytext=(0, 2), textcoords="offset points", ha="center", fontsize=8
            )
    axes.tick_params(axis="x", length=0)
    axes.margins(y=0.15)


def _shares(axes: Axes, weeks: pd.DataFrame, reference: float | None) -> None:
    for place, row in enumerate(each_row(weeks)):
        axes.plot([place, place], [100 * row.low, 100 * row.high], color=SERIES[0], lw=1.6)
        axes.plot(place, 100 * row.share, "o", color=SERIES[0], ms=5.5, mec=PAPER)
    if reference is not None:
        axes.axhline(100 * reference, color=INK, lw=0.8, ls=":")
    axes.set_ylim(0, None)
    axes.set_xlim(-0.6, len(weeks) - 0.4)
    axes.grid(axis="y", color=RULE, lw=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(axis="x", color=QUIET)


def draw_milestones(
    states: pd.DataFrame,
    parts: Sequence[tuple[str, str]],
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
) -> Figure:
    """Draw one bar a milestone with all newborns born alive in it, split by what became of it.

    From the left: blue met, ochre not met, red and crossed died before it was due, grey not observed; each part holds
    its count, or has it above or below where it is thin.

    Parameters
    ----------
    states : frame with ``label`` and one column of counts per part, in order from the top.
    parts : the four columns and their printed names, in that order.
    axis : words under the axis, with the unit.
    """
    with house():
        figure, (axes,) = canvas(printer, 1.25 + 0.42 * len(states))
        lines, left = range(len(states)), pd.Series(0.0, index=states.index)
        for place, ((column, label), look) in enumerate(zip(parts, _LOOKS, strict=True)):
            colour, hatch, _ = look
            axes.barh(lines, states[column], left=left, color=colour, hatch=hatch, label=label, **_BAR)
            _counts(axes, printer, states[column], left, look, below=place % 2 == 1)
            left = left + states[column]
        one_line_each(axes, states["label"], axis, grid=False)
        axes.set_xlim(0, max(float(left.max()), 1.0))
        legend_above(figure, columns=len(parts), handlelength=1.2)
    return Figure(name, title, alt, figure)


def _counts(
    axes: Axes,
    printer: Printer,
    counts: pd.Series,
    left: pd.Series,
    look: tuple[str, str, str],
    *,
    below: bool,
) -> None:
    """Counts inside their part; where they do not fit, above it or below it in turn, so that neighbours stay
    apart.
    """
    colour, hatch, ink = look
    whole = float((left + counts).max()) or 1.0
    box = {"boxstyle": "round,pad=0.15", "fc": colour, "ec": "none"} if hatch else None
    for line, (count, start) in enumerate(zip(counts, left, strict=True)):
        inside = count / whole >= _ROOM_FOR_COUNT
        height = line if inside else line + (0.43 if below else -0.43)
        if count:
            axes.annotate(
                printer.count(count),
                (start + count / 2, height),
                ha="center",
                va="center",
                color=ink if inside else QUIET,
                fontsize=8.5 if inside else 7.5,
                zorder=3,
                bbox=box if inside else None,
            )


def draw_terms(
    terms: pd.DataFrame,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    words: tuple[str, str],
) -> Figure:
    """Draw a change between two seasons split into its parts: per kind of birth, what the mix and the rate added.

    The upper, plain ochre bar is the mix, the lower, hatched blue one the rate; right of 0 is more lost, left of it
    less. Each is written out in percentage points at its end. The last line is the sum, set apart by a rule.

    Parameters
    ----------
    terms : frame with label, mix_term, rate_term (differences of shares from 0 to 1), in order from the top.
    axis : words under the axis, with the unit.
    words : what the plain and the hatched bars are, for the legend.
    """
    with house():
        figure, (axes,) = canvas(printer, 1.2 + 0.42 * len(terms))
        lines = np.arange(len(terms), dtype=float)
        lines[-1] += 0.35
        half = TERM_HEIGHT / 2
        _term(axes, printer, lines - half, terms["mix_term"], color=SERIES[1], hatch="", label=words[0])
        _term(axes, printer, lines + half, terms["rate_term"], color=SERIES[0], hatch="////", label=words[1])
        axes.axvline(0, color=INK, lw=0.9)
        axes.axhline(lines[-1] - 0.68, color=RULE, lw=0.8)
        one_line_each(axes, terms["label"], axis, lines=lines, room=(0.6, 0.6), grid=False)
        axes.margins(x=0.12)
        axes.spines["left"].set_visible(False)
        legend_above(figure, columns=2)
    return Figure(name, title, alt, figure)


def _term(axes: Axes, printer: Printer, lines: np.ndarray, shares: pd.Series, **look: Any) -> None:
    """One of the two parts: a bar a line from 0, its length written at its end."""
    values = 100 * shares.to_numpy(float)
    axes.barh(lines, values, TERM_HEIGHT, edgecolor=PAPER, lw=0.4, **look)
    for line, value in zip(lines, values, strict=True):
        side, points = ("left", 3) if value >= 0 else ("right", -3)
        _after(axes, value, line, printer.points(value / 100), points=points, ha=side, fontsize=8)


def draw_tally(
    counts: pd.DataFrame,
    *,
    printer: Printer,
    rows: Sequence[str],
    columns: Sequence[str],
    name: str,
    title: str,
    alt: str,
    axis: str,
    one_square: str,
) -> Figure:
    """Draw losses by cause and age as small blue squares, so that the eye counts newborns and not shades.

    A cause a line, an age window a column; a square is a loss, or so many as `squares_stand_for` says, the last of a
    cell perhaps only begun; the cell's count stands after its squares.

    Parameters
    ----------
    counts : frame of whole numbers, one row a cause from the top and one column an age window.
    rows, columns : printed names of the causes and of the windows.
    axis : words under the windows.
    one_square : words over the grid that say what a square stands for.
    """
    each = squares_stand_for(int(counts.to_numpy().max(initial=0)))
    with house():
        figure, (axes,) = canvas(printer, 1.15 + 0.46 * len(rows))
        for line, row in enumerate(counts.to_numpy()):
            for place, n in enumerate(row):
                _cell(axes, printer, line, place, int(n), each)
        names = [fill(words, 8, break_long_words=False) for words in columns]
        axes.set_xticks(range(len(columns)), names, fontsize=8.5)
        axes.set_xlim(-0.5, len(columns) - 0.5)
        one_line_each(axes, rows, axis, grid=False)
        axes.tick_params(length=0)
        for edge in np.arange(-0.5, len(rows)):
            axes.axhline(edge, color=RULE, lw=0.6)
        for spine in axes.spines.values():
            spine.set_visible(False)
        axes.set_title(one_square, fontsize=8.5, weight="normal", color=INK)
    return Figure(name, title, alt, figure)


def squares_stand_for(largest: int) -> int:
    """How many losses one square must stand for, so that the largest cell fits: 1, 2, 5, 10, ..."""
    for each in (1, 2, 5, 10, 20, 50, 100, 200, 500):
        if largest <= each * ACROSS * DOWN:
            return each
    return -(-largest // (ACROSS * DOWN))


def _cell(axes: Axes, printer: Printer, line: int, place: int, n: int, each: int) -> None:
    """The squares of one cause in one age window, in rows around the line, and their number."""
    if not n:
        return
    wide, high = 0.6 / ACROSS, 0.84 / DOWN
    squares = -(-n // each)
    left, top = place - 0.42, line - high * (-(-squares // ACROSS)) / 2
    drawn = [
        Rectangle((left + wide * (k % ACROSS), top + high * (k // ACROSS)), wide * 0.84, high * 0.8)
        for k in range(squares)
    ]
    axes.add_collection(PatchCollection(drawn, facecolor=SERIES[0], edgecolor=PAPER, linewidth=0))
    end = left + wide * min(squares, ACROSS) + 0.04
    axes.annotate(printer.count(n), (end, line), va="center", ha="left", fontsize=9, color=INK)


def draw_classes(
    shares: pd.DataFrame, *, printer: Printer, name: str, title: str, alt: str, axis: str, goal: str
) -> Figure:
    """Draw the share of newborns in each class of passive transfer, best on top, against its goal.

    A blue bar is as long as the share in percent, with its interval as a dark line; an open ochre diamond stands at
    the goal where there is one; counts are written at the right.

    Parameters
    ----------
    shares : ``rates`` frame with label, events, n, share, low, high and target (missing where there is none), in
        order from the top; shares from 0 to 1.
    axis : words under the axis, with the unit; it runs from 0 to 100 %.
    goal : words beside the first diamond.
    """
    with house():
        figure, (axes,) = canvas(printer, 0.95 + 0.44 * len(shares))
        for line, row in enumerate(each_row(shares)):
            axes.barh(line, 100 * row.share, height=0.56, color=SERIES[0], alpha=0.85)
            axes.plot([100 * row.low, 100 * row.high], [line, line], color=INK, lw=1.3)
            beside(axes, line, printer.counts(row.events, row.n))
            if pd.notna(row.target):
                axes.plot(100 * row.target, line, "D", mfc=PAPER, mec=SERIES[1], mew=1.4, ms=7, zorder=4)
        aimed = np.flatnonzero(shares["target"].notna().to_numpy())
        if len(aimed):
            at = (100 * float(shares["target"].iloc[aimed[0]]), float(aimed[0]))
            axes.annotate(goal, at, xytext=(6, 9), textcoords="offset points", fontsize=7.5, color=SERIES[1])
        one_line_each(axes, shares["label"], axis, room=(0.7, 0.5))
        axes.set_xlim(0, 100)
    return Figure(name, title, alt, figure)
