"""Dots with their intervals, one line a group, read down the page.

A dot stands at what was counted and the line through it runs from the lower to the upper end of its interval. Red
is what stands out, blue all else; whatever a colour says, filling, thickness or shape says too, for a grey print.
"""

from __future__ import annotations

from textwrap import fill
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, NullLocator

from neonatal_stats.drawing.colours import CLEAR, INK, PAPER, QUIET, SERIES
from neonatal_stats.drawing.figure import Figure, beside, canvas, house, legend_above, one_line_each
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Printer

LABEL_WIDTH = 34  # characters after which a label takes another line
TICKS = (0.01, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 1000)


def draw_rates(
    rates: pd.DataFrame,
    by: str,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    reference: float | None = None,
) -> Figure:
    """Draw shares of groups, the first group on top: events of n newborns each.

    A blue dot stands at the share in percent, on its interval; the counts are written at the right.

    Parameters
    ----------
    rates : ``rates`` frame with `by`, events, n, share, low, high; shares from 0 to 1.
    by : the column of the groups' printed names.
    axis : words under the axis, with the unit ("lost within 42 days, % of newborns").
    reference : a share drawn as a dotted line across (the whole flock), or None.
    """
    with house():
        figure, (axes,) = canvas(printer, 0.9 + 0.42 * len(rates))
        for line, row in enumerate(each_row(rates)):
            _share(axes, line, row, size=6)
            beside(axes, line, printer.part_of(row.events, row.n))
        if reference is not None:
            axes.axvline(100 * reference, color=INK, lw=0.8, ls=":")
        one_line_each(axes, rates[by], axis)
        axes.set_xlim(left=0)
    return Figure(name, title, alt, figure)


def draw_grouped_rates(
    rates: pd.DataFrame,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    reference: float | None = None,
) -> Figure:
    """Draw shares of groups in blocks, each block under its heading: events of n newborns a group.

    A blue dot stands at the share in percent, on its interval; the counts are written at the right. Of a group
    too small to say anything only the counts are written.

    Parameters
    ----------
    rates : ``rates`` frame with heading (equal ones stand together), name, quiet (yes-no: too few to say), events,
        n, share, low, high; shares from 0 to 1.
    axis : words under the axis, with the unit.
    reference : a share drawn as a dotted line across (all newborns), or None.
    """
    lines, headings = _in_blocks(rates["heading"])
    with house():
        figure, (axes,) = canvas(printer, 0.75 + 0.265 * (max(lines) + 1.5))
        for line, row in zip(lines, each_row(rates), strict=True):
            if not row.quiet:
                _share(axes, line, row, size=5.5)
            beside(axes, line, printer.part_of(row.events, row.n), fontsize=8.5)
        if reference is not None:
            axes.axvline(100 * reference, color=INK, lw=0.8, ls=":", zorder=0)
        one_line_each(axes, rates["name"], axis, lines=lines, room=(1.5, 0.7))
        axes.set_xlim(left=0)
        for heading, line in headings.items():
            axes.annotate(
                heading, (0, line), xycoords=("axes fraction", "data"), xytext=(4, 0), textcoords="offset points",
                va="center", weight="bold", fontsize=9,
            )  # fmt: skip
    return Figure(name, title, alt, figure)


def _in_blocks(headings: pd.Series) -> tuple[list[float], dict[str, float]]:
    """The line of each group, and of each heading above its block."""
    lines: list[float] = []
    above: dict[str, float] = {}
    line, before = -1.0, None
    for heading in headings:
        line += 1.0 if before in (heading, None) else 2.1
        lines.append(line)
        above.setdefault(str(heading), line - 0.95)
        before = heading
    return lines, above


def _share(axes: Axes, line: float, row: Any, *, size: float) -> None:
    """A share in percent on its interval."""
    ends = [100 * row.low, 100 * row.high]
    axes.plot(ends, [line, line], color=SERIES[0], lw=2, solid_capstyle="butt")
    axes.plot(100 * row.share, line, "o", color=SERIES[0], ms=size, mec=PAPER)


def draw_ranked(
    groups: pd.DataFrame, *, printer: Printer, name: str, title: str, alt: str, axis: str, counts_heading: str
) -> Figure:
    """Draw how many newborns more, or fewer, each group lost than the rest's risk would have given.

    A dot stands at the excess, right of the line at 0 where more were lost, left of it where fewer, on its interval.
    Clear groups have a filled red dot on a thick line, the others an open blue one on a thin line.

    Parameters
    ----------
    groups : frame with label, excess, excess_low, excess_high (newborns), clear (yes-no) and counts (text), in order
        from the top.
    axis : words under the axis.
    counts_heading : words over the counts at the right.
    """
    with house():
        figure, (axes,) = canvas(printer, 1.0 + 0.36 * len(groups))
        for line, row in enumerate(each_row(groups)):
            colour, face, width = (CLEAR, CLEAR, 2.6) if row.clear else (SERIES[0], PAPER, 1.2)
            axes.plot([row.excess_low, row.excess_high], [line, line], color=colour, lw=width)
            axes.plot(row.excess, line, "o", ms=7, color=colour, mfc=face, mew=1.4)
            beside(axes, line, row.counts, gap=0.02)
        beside(axes, -0.75, counts_heading, gap=0.02)
        axes.axvline(0, color=INK, lw=0.9)
        one_line_each(axes, groups["label"], axis, room=(1.1, 0.6))
        axes.spines["left"].set_visible(False)
    return Figure(name, title, alt, figure)


def draw_ratios(
    ratios: pd.DataFrame,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    quiet_words: str = "",
) -> Figure:
    """Draw ratios on a log scale, with a line where both groups do alike.

    A filled blue dot stands at the ratio on its interval, which are also written at the right; an end at 0, or
    without end, is drawn to the edge of the panel. A ratio that is no answer is open, grey and dashed.

    Parameters
    ----------
    ratios : frame with label, ratio, low, high and quiet (yes-no: no answer), in order from the top.
    axis : words under the axis.
    quiet_words : words beside the first that is no answer.
    """
    with house():
        figure, (axes,) = canvas(printer, 1.0 + 0.42 * len(ratios))
        low, high = _span(ratios)
        for line, row in enumerate(each_row(ratios)):
            _ratio(axes, printer, line, row, low, high)
        axes.axvline(1.0, color=INK, lw=0.8)
        quiet = np.flatnonzero(ratios["quiet"].to_numpy(bool))
        if len(quiet) and quiet_words:
            beside(axes, quiet[0] - 0.5, quiet_words, fontsize=7.5, style="italic")
        axes.set_xscale("log")
        axes.set_xlim(low, high)
        axes.xaxis.set_major_locator(FixedLocator([tick for tick in TICKS if low <= tick <= high]))
        axes.xaxis.set_minor_locator(NullLocator())
        axes.xaxis.set_major_formatter(_plain)
        labels = [fill(str(label), LABEL_WIDTH) for label in ratios["label"]]
        one_line_each(axes, labels, axis, room=(0.8, 0.5), fontsize=8.5)
    return Figure(name, title, alt, figure)


def _span(ratios: pd.DataFrame) -> tuple[float, float]:
    """The axis: every ratio with its interval, but no wider than a hundredth to a hundred."""
    low = float(np.nanmin(ratios[["low", "ratio"]].to_numpy(float), initial=0.5))
    high = float(np.nanmax(ratios[["high", "ratio"]].to_numpy(float), initial=2.0))
    return max(low * 0.8, 0.01), min(high * 1.25, 100.0)


def _ratio(axes: Axes, printer: Printer, line: int, row: Any, low: float, high: float) -> None:
    """A ratio on its interval, and both in words."""
    colour, face, width, dash = (QUIET, PAPER, 1.2, "--") if row.quiet else (SERIES[0], SERIES[0], 2, "-")
    ends = [row.low if row.low > 0 else low, row.high if np.isfinite(row.high) else high]
    axes.plot(ends, [line, line], color=colour, lw=width, ls=dash, solid_capstyle="butt")
    axes.plot(row.ratio, line, "o", ms=6, color=colour, mfc=face, mec=colour)
    said = f"{printer.ratio(row.ratio)} ({printer.ratio_range(row.low, row.high)})"
    beside(axes, line, said, colour=colour, fontsize=8.5)


def _plain(value: float, _: float | None = None) -> str:
    return f"{value:g}"


def draw_pairs(
    pairs: pd.DataFrame,
    *,
    printer: Printer,
    names: tuple[str, str],
    name: str,
    title: str,
    alt: str,
    axis: str,
) -> Figure:
    """Draw two shares of the same thing on one line, joined: of how many it was recorded, the lost and the others.

    A red triangle stands at the share of the first (the lost), a blue ring at that of the second (the others).

    Parameters
    ----------
    pairs : frame with label, first and second (shares from 0 to 1), in order from the top.
    names : what the two are, for the legend.
    axis : words under the axis, with the unit; it ends at 100 %.
    """
    looks = ((CLEAR, "v", CLEAR, 6), (SERIES[0], "o", PAPER, 9))
    lowest = 100 * float(pairs[["first", "second"]].min().min())
    with house():
        figure, (axes,) = canvas(printer, 1.1 + 0.26 * len(pairs))
        for line, row in enumerate(each_row(pairs)):
            ends = [100 * row.first, 100 * row.second]
            axes.plot(ends, [line, line], color=QUIET, lw=1.2, zorder=1)
            for share, look in zip(ends, looks, strict=True):
                _one_of_two(axes, share, line, look)
        one_line_each(axes, pairs["label"], axis)
        axes.set_xlim(max(0.0, 10 * (lowest // 10) - 10), 100)
        for words, look in zip(names, looks, strict=True):
            _one_of_two(axes, float("nan"), 0, look, words)
        legend_above(figure, columns=2, labelcolor=INK)
    return Figure(name, title, alt, figure)


def _one_of_two(axes: Axes, x: float, line: int, look: tuple[str, str, str, int], words: str = "") -> None:
    """The hollow circle lies below the filled triangle, so that equal shares show both."""
    colour, marker, inside, size = look
    axes.plot(
        x, line, marker, color=colour, mfc=inside, mew=1.4, ms=size, zorder=4 - size / 9, clip_on=False,
        label=words or None,
    )  # fmt: skip


def draw_dumbbell(
    groups: pd.DataFrame,
    *,
    printer: Printer,
    seasons: tuple[str, str],
    name: str,
    title: str,
    alt: str,
    axis: str,
) -> Figure:
    """Draw the share lost of each group in two seasons on one line: how far it moved, and which way.

    The earlier season is an open dot, the later a filled one, red and on a thick line where the difference is clear,
    else blue; the difference in percentage points is written at the right.

    Parameters
    ----------
    groups : frame with label, share_a, share_b, difference (later less earlier; all from 0 to 1) and clear (yes-no),
        in order from the top.
    seasons : the earlier and the later, for the legend.
    axis : words under the axis, with the unit.
    """
    with house():
        figure, (axes,) = canvas(printer, 1.1 + 0.34 * len(groups))
        for line, row in enumerate(each_row(groups)):
            colour, width = (CLEAR, 2.4) if row.clear else (SERIES[0], 1.2)
            earlier, later = 100 * row.share_a, 100 * row.share_b
            axes.plot([earlier, later], [line, line], color=colour, lw=width, zorder=1)
            axes.plot(earlier, line, "o", color=colour, mfc=PAPER, mew=1.4, ms=7, zorder=2, clip_on=False)
            axes.plot(later, line, "o", color=colour, ms=7, zorder=3, clip_on=False)
            beside(axes, line, printer.points(row.difference), gap=0.02)
        one_line_each(axes, groups["label"], axis, room=(0.6, 0.5))
        axes.set_xlim(left=0)
        handles = [
            axes.plot([], [], "o", color=SERIES[0], mfc=PAPER, mew=1.4, ms=7, label=seasons[0])[0],
            axes.plot([], [], "o", color=SERIES[0], ms=7, label=seasons[1])[0],
        ]
        legend_above(figure, columns=2, handles=handles)
    return Figure(name, title, alt, figure)
