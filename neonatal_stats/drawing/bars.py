"""Bars as long as what they count, from 0, one row each.

Parts of a whole stand end to end, so that every newborn can be seen to be somewhere. Whatever a colour says, hatching
says too, for a grey print.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from numpy.typing import NDArray

from neonatal_stats.drawing.colours import BLUE, INK, OCHRE, PAPER, QUIET, RULE, STEEL
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.house import house
from neonatal_stats.drawing.lettering import LINE_PT, moved_apart, wide
from neonatal_stats.drawing.rows import BELOW, ROOM, Row, down_the_page
from neonatal_stats.drawing.svg import said
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Printer

HEIGHT = 9.0  # of a bar, points
HOLDING = 11.0  # of a bar that holds numbers
HATCHED: dict[str, Any] = {"ec": PAPER, "lw": 0.6}

Look = tuple[str, str]
STATE_LOOKS: tuple[Look, ...] = ((BLUE, ""), (OCHRE, "////"), (INK, "xxxx"), (PAPER, ""))
TERM_LOOKS: tuple[Look, Look] = ((OCHRE, ""), (BLUE, "////"))


def _bar(axes: Axes, line: float, start: float, length: float, look: Look, *, height: float = HEIGHT) -> Any:
    """One bar in a look; what has the colour of the paper keeps an edge."""
    colour, hatch = look
    edge = HATCHED if colour != PAPER else {"ec": QUIET, "lw": 0.6}
    return axes.barh(line, length, height, left=start, color=colour, hatch=hatch, clip_on=False, **edge)[0]


def _key(look: Look) -> Patch:
    """A bar of the legend."""
    colour, hatch = look
    return Patch(fc=colour, hatch=hatch, **(HATCHED if colour != PAPER else {"ec": QUIET, "lw": 0.6}))


def _interval(axes: Axes, line: float, low: float, high: float) -> None:
    """An interval over a bar: a dark line with pale edges, so that it shows on the bar and beyond it."""
    for colour, thick in ((PAPER, 3.0), (INK, 1.4)):
        axes.plot([low, high], [line, line], color=colour, lw=thick, solid_capstyle="butt", clip_on=False)


def draw_causes(
    causes: pd.DataFrame,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    words: tuple[str, str],
) -> Figure:
    """Draw the causes of loss, largest first: the share of newborns lost to each, bounded by the losses not explained.

    A bar in the cause's own colour and hatch is as long as the share in percent, from 0, with its interval as a dark
    line. A hollow, dashed bar goes on to what the share would be if every loss of unknown cause were of this one.

    Parameters
    ----------
    causes : ``rates`` frame with label, look (colour and hatch), counts (text), share, low, high, highest (missing for
        the unknown) and told (in words), in order from the top; shares of newborns from 0 to 1.
    axis : words under the axis, with the unit.
    words : what the dark line and the hollow bar are, for the legend.
    """
    dashed: dict[str, Any] = {"fc": PAPER, "ec": QUIET, "lw": 0.8, "ls": (0, (2, 1.5))}
    legend: list[tuple[Any, str]] = [(Line2D([], [], color=INK, lw=1.4), words[0])]
    if causes["highest"].notna().any():
        legend.append((Patch(**dashed), words[1]))
    rows = [Row(str(row.label), row.counts) for row in each_row(causes)]
    with house():
        panel = down_the_page(printer, rows, axis=axis, legend=legend)
        axes = panel.axes
        for line, row in zip(panel.lines, each_row(causes), strict=True):
            if row.highest > row.share:
                more = 100 * (row.highest - row.share)
                axes.barh(line, more, HEIGHT, left=100 * row.share, clip_on=False, **dashed)
            said(_bar(axes, line, 0.0, 100 * row.share, row.look), f"{row.label}: {row.told}")
            _interval(axes, line, 100 * row.low, 100 * row.high)
        axes.set_xlim(left=0)
        panel.rules()
    return Figure(name, title, alt, panel.figure)


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

    From the left: blue met, ochre and hatched not met, ink and crossed died before it was due, hollow not observed;
    each part holds its count, or has it below where it is thin.

    Parameters
    ----------
    states : frame with ``label``, counts (text, at the right) and one column of counts per part, in order from the top.
    parts : the four columns and their printed names, in that order.
    axis : words under the axis, with the unit.
    """
    names, columns = [words for _, words in parts], [column for column, _ in parts]
    whole = max(float(states[columns].sum(axis=1).max()), 1.0)
    stacks = [_stack(row[columns].to_numpy(float), printer, whole) for _, row in states.iterrows()]
    rows = [
        Row(str(row.label), row.counts, band=HOLDING / 2, under=LINE_PT * any(part.thin for part in stack))
        for row, stack in zip(each_row(states), stacks, strict=True)
    ]
    legend = [(_key(look), words) for words, look in zip(names, STATE_LOOKS, strict=True)]
    with house():
        panel = down_the_page(printer, rows, axis=axis, legend=legend)
        panel.axes.set_xlim(0, whole)
        for line, row, stack in zip(panel.lines, rows, stacks, strict=True):
            for part, look, words in zip(stack, STATE_LOOKS, names, strict=True):
                if part.n:
                    bar = _bar(panel.axes, line, part.start, part.n, look, height=HOLDING)
                    said(bar, f"{row.label}, {words}: {part.count}")
            _write_counts(panel.axes, line, stack, whole)
    return Figure(name, title, alt, panel.figure)


@dataclass(frozen=True)
class _Part:
    """A part of a stacked bar: where it starts, how many it holds, that number printed, and whether it is too thin."""

    start: float
    n: float
    count: str
    thin: bool

    @property
    def middle(self) -> float:
        return self.start + self.n / 2


def _stack(counts: NDArray[np.float64], printer: Printer, whole: float) -> list[_Part]:
    """The parts of one bar, end to end."""
    starts = np.cumsum(counts) - counts
    return [
        _Part(start, n, printer.count(n), bool(n) and wide(printer.count(n)) + 3 > ROOM * n / whole)
        for start, n in zip(starts, counts, strict=True)
    ]


def _write_counts(axes: Axes, line: float, stack: Sequence[_Part], whole: float) -> None:
    """Every count inside its part; where it does not fit, under it, moved aside where two would meet."""
    for part, (colour, hatch) in zip(stack, STATE_LOOKS, strict=True):
        if part.n and not part.thin:
            box = {"boxstyle": "square,pad=0", "fc": colour, "ec": "none"} if hatch else None
            ink = INK if colour == PAPER else PAPER
            axes.annotate(
                part.count, (part.middle, line), ha="center", va="center_baseline", color=ink, bbox=box
            )
    thin = [part for part in stack if part.thin]
    if not thin:
        return
    unit, apart = whole / ROOM, max(wide(part.count) for part in thin) + 4
    ends = apart / 2 * unit
    placed = moved_apart([part.middle for part in thin], apart * unit, ends, whole - ends)
    for part, place in zip(thin, placed, strict=True):
        axes.annotate(
            part.count, (part.middle, line), xytext=(place, line + HOLDING / 2 + LINE_PT), textcoords="data",
            ha="center", va="bottom", annotation_clip=False,
        )  # fmt: skip


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
    """Draw a change between two seasons split into its parts: the sum first, then per kind of birth.

    The upper, plain ochre bar is what the mix of births added, the lower, hatched blue one what the rate did; right of
    0 is more lost, left of it less. Each is written out in percentage points at its end; the first row, the sum, has
    intervals as dark lines and is set apart by a rule.

    Parameters
    ----------
    terms : frame with label, mix, mix_low, mix_high, rate, rate_low and rate_high (differences of shares from 0 to 1,
        limits missing where there are none), the sum first.
    axis : words under the axis, with the unit.
    words : what the plain and the hatched bars are, for the legend.
    """
    rows = [
        Row(str(row.label), band=HEIGHT, under=HEIGHT * (place == 0 and len(terms) > 1))
        for place, row in enumerate(each_row(terms))
    ]
    legend = [(_key(look), one) for look, one in zip(TERM_LOOKS, words, strict=True)]
    with house():
        panel = down_the_page(printer, rows, axis=axis, legend=legend)
        for line, row in zip(panel.lines, each_row(terms), strict=True):
            _term(
                panel.axes,
                printer,
                line - HEIGHT / 2,
                (row.mix, row.mix_low, row.mix_high),
                0,
                f"{row.label}, {words[0]}",
            )
            _term(
                panel.axes,
                printer,
                line + HEIGHT / 2,
                (row.rate, row.rate_low, row.rate_high),
                1,
                f"{row.label}, {words[1]}",
            )
        _room_for_words(panel.axes, terms, printer)
        panel.across([0.0], color=INK, lw=0.9)
        if len(rows) > 1:
            rule = panel.lines[0] + HEIGHT + BELOW / 2 + HEIGHT / 2
            panel.axes.axhline(rule, color=RULE, lw=0.8, clip_on=False)
    return Figure(name, title, alt, panel.figure)


def _term(
    axes: Axes, printer: Printer, line: float, shares: tuple[float, float, float], part: int, words: str
) -> None:
    """One of the two parts: a bar from 0 with its interval where it has one, its length written past its end."""
    value, low, high = (100 * share for share in shares)
    written = printer.points(value / 100)
    interval = f" ({printer.points_range(low / 100, high / 100)})" if np.isfinite(low) else ""
    said(_bar(axes, line, 0.0, value, TERM_LOOKS[part]), f"{words}: {written}{interval}")
    if interval:
        _interval(axes, line, low, high)
    right = value >= 0
    end = np.nanmax([value, high]) if right else np.nanmin([value, low])
    axes.annotate(
        written, (end, line), xytext=(3 if right else -3, 0), textcoords="offset points",
        ha="left" if right else "right", va="center_baseline", annotation_clip=False,
    )  # fmt: skip


def _room_for_words(axes: Axes, terms: pd.DataFrame, printer: Printer) -> None:
    """A scale with room for the words past the bars at either side."""
    ends = 100 * terms.drop(columns="label").to_numpy(float)
    low, high = min(float(np.nanmin(ends)), 0.0), max(float(np.nanmax(ends)), 0.0)
    room = max(wide(printer.points(share)) for share in terms[["mix", "rate"]].to_numpy(float).ravel()) + 6
    unit = max(high - low, 0.1) / (ROOM - 2 * room)
    axes.set_xlim(low - room * unit, high + room * unit)


def draw_classes(
    shares: pd.DataFrame, *, printer: Printer, name: str, title: str, alt: str, axis: str, goal: str
) -> Figure:
    """Draw the share of newborns in each class of passive transfer, best on top, against its goal.

    A blue bar is as long as the share in percent, with its interval as a dark line; an open ochre diamond stands at
    the goal where there is one; counts stand at the right.

    Parameters
    ----------
    shares : ``rates`` frame with label, events, n, share, low, high, target (missing where there is none) and told (in
        words), in order from the top; shares from 0 to 1.
    axis : words under the axis, with the unit; it runs from 0 to 100 %.
    goal : what a diamond is, for the legend.
    """
    diamond: dict[str, Any] = {
        "marker": "D",
        "color": OCHRE,
        "mfc": PAPER,
        "mec": OCHRE,
        "mew": 1.4,
        "ms": 6.0,
        "ls": "",
    }
    legend = [(Line2D([], [], **diamond), goal)] * bool(shares["target"].notna().any())
    rows = [
        Row(str(row.label), printer.counts(row.events, row.n), band=HEIGHT / 2) for row in each_row(shares)
    ]
    with house():
        panel = down_the_page(printer, rows, axis=axis, legend=legend)
        for line, row in zip(panel.lines, each_row(shares), strict=True):
            said(_bar(panel.axes, line, 0.0, 100 * row.share, (BLUE, "")), row.told)
            _interval(panel.axes, line, 100 * row.low, 100 * row.high)
            if pd.notna(row.target):
                panel.axes.plot(100 * row.target, line, zorder=4, clip_on=False, **diamond)
        panel.axes.set_xlim(0, 100)
        panel.rules()
    return Figure(name, title, alt, panel.figure)


def draw_needed(
    needed: pd.DataFrame,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    there: tuple[float, str],
) -> Figure:
    """Draw how many newborns each fall in loss needs before it can be seen, against how many there were.

    Parameters
    ----------
    needed : frame with label (the fall in words) and n (newborns), in order from the top.
    axis : words under the axis.
    there : how many there were, a dotted line through the rows, and its name.
    """
    rows = [Row(str(row.label), printer.count(row.n), band=HEIGHT / 2) for row in each_row(needed)]
    with house():
        panel = down_the_page(printer, rows, axis=axis, named=there[1])
        for line, row in zip(panel.lines, each_row(needed), strict=True):
            said(_bar(panel.axes, line, 0.0, row.n, (STEEL, "")), f"{row.label}: {printer.count(row.n)}")
        panel.axes.set_xlim(0, 1.05 * max(float(needed["n"].max()), there[0]))
        panel.rules()
        panel.average(there[0])
    return Figure(name, title, alt, panel.figure)
