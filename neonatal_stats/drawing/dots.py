"""Dots with their intervals, one row a group, read down the page.

A dot stands at what was counted and the line through it runs from the lower to the upper end of its interval. Ink is
the season under review, grey another, red what the page calls clear; whatever a colour says, filling, thickness or
shape says too, for a grey print. A group too small to say anything has its counts in its row, and no mark.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.ticker import FixedLocator, NullLocator

from neonatal_stats.drawing.colours import CLEAR, INK, PAPER, PAST, QUIET
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.house import SpokenRatios, house
from neonatal_stats.drawing.rows import Row, down_the_page
from neonatal_stats.drawing.svg import said
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Printer

TICKS = (0.01, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 1000)
Average = tuple[float, str]
"""A share, and what it is the share of, in words that name it at its line."""


def draw_rates(
    rates: pd.DataFrame,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    few: str = "",
    average: Average | None = None,
) -> Figure:
    """Draw shares of groups, the first group on top: events of n newborns each.

    A dot in ink stands at the share in percent, on its interval; the counts stand at the right.

    Parameters
    ----------
    rates : ``rates`` frame with label, events, n, share, low, high; shares from 0 to 1. It may have heading (equal
        ones stand together under it), depth (1 for a group that is part of the one above it), quiet (yes-no: too few
        to say, only counted) and told (the share in words, where it is not that of the counts).
    axis : words under the axis, with the unit ("lost within 42 days, % of newborns").
    few : words beside the counts of a quiet group.
    average : a share drawn as a dotted line through the rows (the whole flock), and its name; or None.
    """
    with house():
        panel = down_the_page(
            printer, list(_rate_rows(rates, printer, few)), axis=axis, named=average[1] if average else ""
        )
        for line, row in zip(panel.lines, each_row(rates), strict=True):
            if not getattr(row, "quiet", False):
                ends = [100 * row.low, 100 * row.high]
                dot = _dot(panel.axes, line, 100 * row.share, ends)
                told = getattr(row, "told", "") or printer.share_of(row.events, row.n, row.low, row.high)
                said(dot, f"{row.label}: {told}")
        panel.axes.set_xlim(left=0)
        panel.rules()
        if average:
            panel.average(100 * average[0])
    return Figure(name, title, alt, panel.figure)


def _rate_rows(rates: pd.DataFrame, printer: Printer, few: str) -> Iterable[Row]:
    """A row a group with its counts; the first of a block has the block's heading."""
    before = ""
    for row in each_row(rates):
        heading, quiet = getattr(row, "heading", ""), getattr(row, "quiet", False)
        counts = printer.part_of(row.events, row.n)
        yield Row(
            str(row.label),
            f"{counts}, {few}" if quiet and few else counts,
            depth=getattr(row, "depth", 0),
            heading="" if heading == before else heading,
            drawn=not quiet,
        )
        before = heading


def _dot(
    axes: Axes, line: float, at: float, ends: list[float], *, clear: bool = False, filled: bool = True
) -> Line2D:
    """A dot on its interval: in ink, or red and thick where it is clear."""
    colour, width = (CLEAR, 2.6) if clear else (INK, 1.6)
    axes.plot(ends, [line, line], color=colour, lw=width, solid_capstyle="butt", clip_on=False)
    inside = colour if clear or filled else PAPER
    (dot,) = axes.plot(at, line, "o", color=colour, mfc=inside, mew=1.2, ms=5.5, clip_on=False)
    return dot


def draw_ranked(
    groups: pd.DataFrame,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    counts_heading: str,
    words: tuple[str, str],
) -> Figure:
    """Draw how many newborns more, or fewer, each group lost than the rest's risk would have given.

    A dot stands at the excess, right of the line at 0 where more were lost, left of it where fewer, on its interval.
    Clear groups have a filled red dot on a thick line, the others an open one in ink on a thin line.

    Parameters
    ----------
    groups : frame with label, excess, excess_low, excess_high (newborns), clear (yes-no), depth (1 for a group that is
        part of the one above it), counts (text) and told (the excess in words), in order from the top.
    axis : words under the axis.
    counts_heading : words over the counts at the right.
    words : what filled and open dots are.
    """
    looks = ((_key("o", CLEAR, CLEAR), True), (_key("o", INK, PAPER), False))
    legend = [
        (key, one) for (key, clear), one in zip(looks, words, strict=True) if (groups["clear"] == clear).any()
    ]
    rows = [Row(str(row.label), row.counts, depth=row.depth) for row in each_row(groups)]
    with house():
        panel = down_the_page(printer, rows, axis=axis, legend=legend, right=counts_heading)
        for line, row in zip(panel.lines, each_row(groups), strict=True):
            ends = [row.excess_low, row.excess_high]
            dot = _dot(panel.axes, line, row.excess, ends, clear=row.clear, filled=False)
            said(dot, f"{row.label}: {row.told}")
        panel.rules()
        panel.across([0.0], color=INK, lw=0.9, zorder=1)
    return Figure(name, title, alt, panel.figure)


def _key(marker: str, colour: str, inside: str, size: float = 5.5) -> Line2D:
    """A mark of the legend."""
    return Line2D([], [], ls="", marker=marker, color=colour, mfc=inside, mew=1.2, ms=size)


def draw_ratios(
    ratios: pd.DataFrame,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    few: str = "",
) -> Figure:
    """Draw ratios on a log scale, with a line where both groups do alike.

    A dot in ink stands at the ratio on its interval, which are also written at the right; an end at 0, or without
    end, is drawn to the edge of the panel.

    Parameters
    ----------
    ratios : frame with label, ratio, low, high and quiet (yes-no: too few to say), in order from the top.
    axis : words under the axis.
    few : words in the row of a quiet ratio.
    """
    rows = [
        Row(str(row.label), few if row.quiet else _ratio_said(printer, row), drawn=not row.quiet)
        for row in each_row(ratios)
    ]
    with house():
        panel = down_the_page(printer, rows, axis=axis)
        axes, (low, high) = panel.axes, _span(ratios[~ratios["quiet"].astype(bool)])
        for line, row in zip(panel.lines, each_row(ratios), strict=True):
            if not row.quiet:
                ends = [row.low if row.low > 0 else low, row.high if np.isfinite(row.high) else high]
                said(_dot(axes, line, row.ratio, ends), f"{row.label}: {_ratio_said(printer, row)}")
        axes.set_xscale("log")
        axes.set_xlim(low, high)
        axes.xaxis.set_major_locator(FixedLocator([tick for tick in TICKS if low <= tick <= high]))
        axes.xaxis.set_minor_locator(NullLocator())
        axes.xaxis.set_major_formatter(SpokenRatios(printer))
        panel.rules()
        panel.across([1.0], color=INK, lw=0.9, zorder=1)
    return Figure(name, title, alt, panel.figure)


def _ratio_said(printer: Printer, row: Any) -> str:
    return f"{printer.ratio(row.ratio)} ({printer.ratio_range(row.low, row.high)})"


def _span(ratios: pd.DataFrame) -> tuple[float, float]:
    """The axis: every ratio with its interval, but no wider than a hundredth to a hundred."""
    low = float(np.nanmin(ratios[["low", "ratio"]].to_numpy(float), initial=0.5))
    high = float(np.nanmax(ratios[["high", "ratio"]].to_numpy(float), initial=2.0))
    return max(low * 0.8, 0.01), min(high * 1.25, 100.0)


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
    """Draw two shares of the same thing on one row, joined: of how many it is missing, the lost and the others.

    A filled triangle in ink stands at the share of the first (the lost), a grey ring at that of the second (the
    others); both are counted from 0.

    Parameters
    ----------
    pairs : frame with label, first and second (shares from 0 to 1), counts (text) and told (both in words), in order
        from the top.
    names : what the two are, for the legend.
    axis : words under the axis, with the unit.
    """
    looks = (("v", INK, INK, 5.0), ("o", PAST, PAPER, 8.0))
    legend = [(_key(*look), words) for look, words in zip(looks, names, strict=True)]
    rows = [Row(str(row.label), row.counts) for row in each_row(pairs)]
    with house():
        panel = down_the_page(printer, rows, axis=axis, legend=legend)
        for line, row in zip(panel.lines, each_row(pairs), strict=True):
            ends = [100 * row.first, 100 * row.second]
            panel.axes.plot(ends, [line, line], color=QUIET, lw=1.2, zorder=1, clip_on=False)
            for share, look in zip(ends, looks, strict=True):
                said(_one_of_two(panel.axes, share, line, look), f"{row.label}: {row.told}")
        panel.axes.set_xlim(0, None if pairs[["first", "second"]].to_numpy().max() > 0 else 1)
        panel.rules()
    return Figure(name, title, alt, panel.figure)


def _one_of_two(axes: Axes, x: float, line: float, look: tuple[str, str, str, float]) -> Line2D:
    """The hollow circle lies below the filled triangle, so that equal shares show both."""
    marker, colour, inside, size = look
    (mark,) = axes.plot(
        x, line, marker, color=colour, mfc=inside, mew=1.4, ms=size, zorder=4 - size / 9, clip_on=False
    )
    return mark


def draw_dumbbell(
    groups: pd.DataFrame,
    *,
    printer: Printer,
    seasons: tuple[str, str],
    name: str,
    title: str,
    alt: str,
    axis: str,
    difference: str,
) -> Figure:
    """Draw the share lost of each group in two seasons on one row: how far it moved, and which way.

    The earlier season is an open grey dot, the later a filled one in ink, red and on a thick line where the difference
    is clear; the difference in percentage points stands at the right.

    Parameters
    ----------
    groups : frame with label, share_a, share_b, difference (later less earlier; all from 0 to 1), clear (yes-no) and
        told (both in words), in order from the top.
    seasons : the earlier and the later, for the legend.
    axis : words under the axis, with the unit.
    difference : words over the differences at the right.
    """
    legend = list(zip((_key("o", PAST, PAPER), _key("o", INK, INK)), seasons, strict=True))
    rows = [Row(str(row.label), printer.points(row.difference)) for row in each_row(groups)]
    with house():
        panel = down_the_page(printer, rows, axis=axis, legend=legend, right=difference)
        axes = panel.axes
        for line, row in zip(panel.lines, each_row(groups), strict=True):
            colour, width = (CLEAR, 2.4) if row.clear else (INK, 1.2)
            earlier, later = 100 * row.share_a, 100 * row.share_b
            axes.plot([earlier, later], [line, line], color=colour, lw=width, zorder=1, clip_on=False)
            axes.plot(earlier, line, "o", color=PAST, mfc=PAPER, mew=1.4, ms=6.5, zorder=2, clip_on=False)
            (dot,) = axes.plot(later, line, "o", color=colour, ms=6, zorder=3, clip_on=False)
            said(dot, f"{row.label}: {row.told}")
        axes.set_xlim(left=0)
        panel.rules()
    return Figure(name, title, alt, panel.figure)
