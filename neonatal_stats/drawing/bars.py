"""Bars"""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.collections import PatchCollection
from matplotlib.patches import Rectangle

from neonatal_stats.drawing.figure import CLEAR, INK, PAPER, QUIET, RULE, SERIES, Figure, canvas, house
from neonatal_stats.tables import Printer

DAMS = "#5d6d7e"
ROOM_FOR_NUMBER = 0.08


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
    """Draw the flow of dams, if there is one, above the flow of newborns.

    Parameters
    ----------
    dams, newborns : frames with label, n, lost, left, age_unknown and went (words for what went at this
    step). headings : printed over each part.
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
    largest = max(float(frame["n"].max()), 1.0)
    for line, row in enumerate(frame.to_dict("records")):
        panel.barh(line, row["n"], height=0.66, color=colour, ec=PAPER)
        _number(panel, printer, line, float(row["n"]), largest, colour)
        end = _gone(panel, line, float(row["n"]), [row["lost"], row["left"], row["age_unknown"]])
        if row["went"]:
            panel.annotate(
                str(row["went"]),
                (end, line),
                xytext=(5 if end > row["n"] or row["n"] >= ROOM_FOR_NUMBER * largest else 30, 0),
                textcoords="offset points",
                va="center",
                fontsize=8.5,
                annotation_clip=False,
            )
    panel.set_yticks(range(len(frame)), [str(label) for label in frame["label"]])
    panel.set_ylim(len(frame) - 0.5, -0.5)
    panel.set_xlim(0, largest)
    panel.set_xticks([])
    panel.tick_params(axis="y", length=0)
    for side in ("bottom", "left"):
        panel.spines[side].set_visible(False)


def _number(panel: Axes, printer: Printer, line: int, n: float, largest: float, colour: str) -> None:
    inside = n >= ROOM_FOR_NUMBER * largest
    panel.annotate(
        printer.count(n),
        (0 if inside else n, line),
        xytext=(5, 0),
        textcoords="offset points",
        va="center",
        color=PAPER if inside else colour,
        weight="bold",
    )


def _gone(panel: Axes, line: int, start: float, counts: Sequence[float]) -> float:
    """The parts that went since the step before; returns where they end."""
    looks = ((CLEAR, "////"), (QUIET, "...."), (INK, "xxxx"))
    for count, (edge, hatch) in zip(counts, looks, strict=True):
        if count > 0:
            panel.barh(line, count, left=start, height=0.66, color=PAPER, ec=edge, hatch=hatch, lw=0.8)
            start += count
    return start


PALE = "#c5d3de"


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
    """Draw a ``rates`` frame by week.

    Parameters
    ----------
    weeks : frame with label (printed under the bars), events, n, share, low, high; one row a week, in order.
    axes_words : words for the count of births, for the share in percent, and for the weeks.
    reference : share of the whole season, a thin line, or None.
    """
    with house():
        figure, (births, shares) = canvas(printer, 4.3, rows=2, sharex=True, height_ratios=(1.25, 1))
        _bars(births, printer, weeks)
        births.set_ylabel(axes_words[0])
        _shares(shares, weeks, reference)
        shares.set_ylabel(axes_words[1])
        shares.set_xlabel(axes_words[2])
        every = max(1, -(-len(weeks) // 10))
        shares.set_xticks(range(0, len(weeks), every), [str(label) for label in weeks["label"][::every]])
    return Figure(name, title, alt, figure)


def _bars(axes: Axes, printer: Printer, weeks: pd.DataFrame) -> None:
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
    for place, row in enumerate(weeks.to_dict("records")):
        axes.plot([place, place], [100 * row["low"], 100 * row["high"]], color=SERIES[0], lw=1.6)
        axes.plot(place, 100 * row["share"], "o", color=SERIES[0], ms=5.5, mec=PAPER)
    if reference is not None:
        axes.axhline(100 * reference, color=INK, lw=0.8, ls=":")
    axes.set_ylim(0, None)
    axes.set_xlim(-0.6, len(weeks) - 0.4)
    axes.grid(axis="y", color=RULE, lw=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(axis="x", color=QUIET)


_LOOKS = ((SERIES[0], "", PAPER), (SERIES[1], "", PAPER), (CLEAR, "xxxx", PAPER), (RULE, "", INK))
_BAR: dict[str, Any] = {"height": 0.62, "ec": PAPER, "lw": 0.8, "zorder": 2}
_ROOM = 0.045  # share of the bar under which a count no longer fits inside it


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
    """One bar a milestone, all newborns born alive in each.

    Parameters
    ----------
    states : frame with ``label`` and one column of counts per part.
    parts : the columns and their printed names, in order.
    axis : the words under the axis, with the unit.
    """
    with house():
        figure, (axes,) = canvas(printer, 1.25 + 0.42 * len(states))
        left = pd.Series(0.0, index=states.index)
        for place, ((column, label), look) in enumerate(zip(parts, _LOOKS, strict=True)):
            axes.barh(
                range(len(states)),
                states[column],
                left=left,
                color=look[0],
                hatch=look[1],
                label=label,
                **_BAR,
            )
            _counts(axes, printer, states[column], left, look, below=place % 2 == 1)
            left = left + states[column]
        axes.set_yticks(range(len(states)), [str(label) for label in states["label"]])
        axes.set_ylim(len(states) - 0.5, -0.5)
        axes.set_xlim(0, max(float(left.max()), 1.0))
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(axis)
        figure.legend(
            loc="outside upper left", ncols=len(parts), frameon=False, fontsize=8.5, handlelength=1.2
        )
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
        inside = count / whole >= _ROOM
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


HEIGHT = 0.36


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
    """Draw frame with label, mix_term, rate_term (shares), one line a row; the last is the sum, set apart.

    Parameters
    ----------
    words : what the plain and the hatched bars are.
    """
    with house():
        figure, (axes,) = canvas(printer, 1.2 + 0.42 * len(terms))
        lines = np.arange(len(terms), dtype=float)
        lines[-1] += 0.35
        for side, column, colour, hatch, word in (
            (-HEIGHT / 2, "mix_term", SERIES[1], "", words[0]),
            (HEIGHT / 2, "rate_term", SERIES[0], "////", words[1]),
        ):
            values = 100 * terms[column].to_numpy(float)
            axes.barh(
                lines + side, values, HEIGHT, color=colour, hatch=hatch, edgecolor=PAPER, lw=0.4, label=word
            )
            for line, value in zip(lines, values, strict=True):
                where = "left" if value >= 0 else "right"
                gap = 3 if value >= 0 else -3
                axes.annotate(
                    printer.points(value / 100),
                    (value, line + side),
                    (gap, 0),
                    textcoords="offset points",
                    ha=where,
                    va="center",
                    fontsize=8,
                )
        axes.axvline(0, color=INK, lw=0.9)
        axes.axhline(lines[-1] - 0.68, color=RULE, lw=0.8)
        axes.set_yticks(lines, list(terms["label"]))
        axes.set_ylim(lines[-1] + 0.6, -0.6)
        axes.margins(x=0.12)
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
        axes.set_xlabel(axis)
        figure.legend(loc="outside upper left", ncols=2, frameon=False, fontsize=8.5)
    return Figure(name, title, alt, figure)


ACROSS = 6  # squares in one row of a cell
DOWN = 5  # rows of squares in one cell


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
    """Draw counts as squares in the cells of a grid.

    Parameters
    ----------
    counts : frame of whole numbers, one row a cause and one column an age window.
    rows, columns : printed names of the causes and of the windows.
    axis : words under the windows.
    one_square : words that say what a square stands for, with {n} for the number.
    """
    each = squares_stand_for(int(counts.to_numpy().max(initial=0)))
    with house():
        figure, (axes,) = canvas(printer, 1.15 + 0.46 * len(rows))
        for line, row in enumerate(counts.to_numpy()):
            for place, n in enumerate(row):
                _cell(axes, printer, line, place, int(n), each)
        axes.set_yticks(range(len(rows)), list(rows))
        axes.set_xticks(
            range(len(columns)), [fill(words, 8, break_long_words=False) for words in columns], fontsize=8.5
        )
        axes.set_ylim(len(rows) - 0.5, -0.5)
        axes.set_xlim(-0.5, len(columns) - 0.5)
        axes.tick_params(length=0)
        for edge in np.arange(-0.5, len(rows)):
            axes.axhline(edge, color=RULE, lw=0.6)
        axes.set_xlabel(axis)
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
    """Draw classes, best on top: bar, interval, counts, and a diamond at the goal where there is one.

    Parameters
    ----------
    shares : frame with label, events, n, share, low, high, target.
    goal : the words beside the first diamond.
    """
    with house():
        figure, (axes,) = canvas(printer, 0.95 + 0.44 * len(shares))
        for line, row in enumerate(shares.to_dict("records")):
            axes.barh(line, 100 * row["share"], height=0.56, color=SERIES[0], alpha=0.85)
            axes.plot([100 * row["low"], 100 * row["high"]], [line, line], color=INK, lw=1.3)
            counts = printer.counts(row["events"], row["n"])
            axes.annotate(counts, (1.01, line), xycoords=("axes fraction", "data"), va="center", color=QUIET)
            if pd.notna(row["target"]):
                axes.plot(100 * row["target"], line, "D", mfc=PAPER, mec=SERIES[1], mew=1.4, ms=7, zorder=4)
        aimed = np.flatnonzero(shares["target"].notna().to_numpy())
        if len(aimed):
            at = (100 * float(shares["target"].iloc[aimed[0]]), float(aimed[0]))
            axes.annotate(goal, at, xytext=(6, 9), textcoords="offset points", fontsize=7.5, color=SERIES[1])
        axes.set_yticks(range(len(shares)), [str(label) for label in shares["label"]])
        axes.set_ylim(len(shares) - 0.5, -0.7)
        axes.set_xlim(0, 100)
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(axis)
    return Figure(name, title, alt, figure)


def draw_response(
    curve: pd.DataFrame,
    points: pd.DataFrame,
    cuts: Sequence[float],
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    fed_axis: str,
    value_axis: str,
) -> Figure:
    """Draw a serum result against age at first feed: every newborn, the smooth mean and its interval, the
    cut points.

    Parameters
    ----------
    curve : frame with fed_h, value, low, high; points : frame with fed_h, value.
    cuts : values drawn as dotted lines.
    """
    with house():
        figure, (axes,) = canvas(printer, 3.5)
        age = curve["fed_h"].to_numpy(float)
        axes.fill_between(age, curve["low"], curve["high"], color=SERIES[0], alpha=0.16, lw=0)
        axes.plot(age, curve["value"], color=SERIES[0], lw=1.9)
        axes.plot(points["fed_h"], points["value"], "o", color=SERIES[5], mec=PAPER, mew=0.4, ms=4, alpha=0.8)
        for cut in cuts:
            axes.axhline(cut, color=QUIET, lw=0.7, ls=":")
            axes.annotate(printer.number(cut), (1.01, cut), xycoords=("axes fraction", "data"), va="center",
                          fontsize=7.5, color=QUIET)  # fmt: skip
        axes.set_xlim(0, float(points["fed_h"].max()) * 1.03)
        axes.set_ylim(0, float(np.nanmax([points["value"].max(), *cuts])) * 1.06)
        axes.set_xlabel(fed_axis)
        axes.set_ylabel(value_axis)
    return Figure(name, title, alt, figure)
