"""Dots"""

from __future__ import annotations

from collections.abc import Hashable
from textwrap import fill
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, NullLocator

from neonatal_stats.drawing.figure import CLEAR, INK, PAPER, QUIET, RULE, SERIES, Figure, canvas, house
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Printer


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
    """Draw a ``rates`` frame, the first group on top.

    Parameters
    ----------
    rates : frame with `by`, events, n, share, low, high.
    axis : the words under the axis, with the unit ("lost within 42 days, % of newborns").
    reference : a share drawn as a thin vertical line (the whole flock), or None.
    """
    with house():
        figure, (axes,) = canvas(printer, 0.9 + 0.42 * len(rates))
        for line, row in enumerate(rates.to_dict("records")):
            axes.plot(
                [100 * row["low"], 100 * row["high"]],
                [line, line],
                color=SERIES[0],
                lw=2,
                solid_capstyle="butt",
            )
            axes.plot(100 * row["share"], line, "o", color=SERIES[0], ms=6, mec="white")
            counts = printer.part_of(row["events"], row["n"])
            axes.annotate(counts, (1.01, line), xycoords=("axes fraction", "data"), va="center", color=QUIET)
        if reference is not None:
            axes.axvline(100 * reference, color=INK, lw=0.8, ls=":")
        axes.set_yticks(range(len(rates)), [str(label) for label in rates[by]])
        axes.set_ylim(len(rates) - 0.5, -0.5)
        axes.set_xlim(left=0)
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(axis)
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
    """Draw a ``rates`` frame in blocks.

    Parameters
    ----------
    rates : frame with heading (equal ones stand together), name, quiet (too few to say: only its counts are
    written), events, n,
        share, low, high.
    axis : the words under the axis, with the unit.
    reference : a share drawn as a thin vertical line (all newborns), or None.
    """
    lines = _lines(rates)
    with house():
        figure, (axes,) = canvas(printer, 0.75 + 0.265 * (max(lines) + 1.5))
        for line, row in zip(lines, rates.to_dict("records"), strict=True):
            _group(axes, printer, line, row)
        if reference is not None:
            axes.axvline(100 * reference, color=INK, lw=0.8, ls=":", zorder=0)
        axes.set_yticks(lines, [str(label) for label in rates["name"]])
        axes.set_ylim(max(lines) + 0.7, -1.5)
        axes.set_xlim(left=0)
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(axis)
        for heading, line in _headings(rates, lines).items():
            axes.annotate(
                heading, (0, line), xycoords=("axes fraction", "data"), xytext=(4, 0), textcoords="offset points",
                va="center", weight="bold", fontsize=9,
            )  # fmt: skip
    return Figure(name, title, alt, figure)


def _lines(rates: pd.DataFrame) -> list[float]:
    """The line of each group, with room for a heading above each block."""
    lines, line, before = [], -1.0, None
    for heading in rates["heading"]:
        line += 1.0 if heading == before else (1.0 if before is None else 2.1)
        lines.append(line)
        before = heading
    return lines


def _headings(rates: pd.DataFrame, lines: list[float]) -> dict[str, float]:
    first: dict[str, float] = {}
    for heading, line in zip(rates["heading"], lines, strict=True):
        first.setdefault(str(heading), line - 0.95)
    return first


def _group(axes: Axes, printer: Printer, line: float, row: dict[Hashable, Any]) -> None:
    """The mark and interval of a group large enough to draw, and the counts of every group."""
    if not row["quiet"]:
        low, share, high = (100 * row[name] for name in ("low", "share", "high"))
        axes.plot([low, high], [line, line], color=SERIES[0], lw=2, solid_capstyle="butt")
        axes.plot(share, line, "o", color=SERIES[0], ms=5.5, mec=PAPER)
    axes.annotate(
        printer.part_of(row["events"], row["n"]),
        (1.01, line),
        xycoords=("axes fraction", "data"),
        va="center",
        color=QUIET,
        fontsize=8.5,
        annotation_clip=False,
    )


def draw_ranked(
    groups: pd.DataFrame, *, printer: Printer, name: str, title: str, alt: str, axis: str, counts_heading: str
) -> Figure:
    """Draw groups with label, excess, excess_low, excess_high, clear (yes-no) and counts (text), in order.

    Clear groups have a filled red dot on a thick line, the others an open one on a thin line, so that a grey
    print tells them apart.
    """
    with house():
        figure, (axes,) = canvas(printer, 1.0 + 0.36 * len(groups))
        for line, row in enumerate(each_row(groups)):
            colour = CLEAR if row.clear else SERIES[0]
            axes.plot(
                [row.excess_low, row.excess_high], [line, line], color=colour, lw=2.6 if row.clear else 1.2
            )
            axes.plot(
                row.excess, line, "o", ms=7, color=colour, mfc=colour if row.clear else "white", mew=1.4
            )
            axes.annotate(
                row.counts, (1.02, line), xycoords=("axes fraction", "data"), va="center", color=QUIET
            )
        axes.annotate(
            counts_heading, (1.02, -0.75), xycoords=("axes fraction", "data"), va="center", color=QUIET
        )
        axes.axvline(0, color=INK, lw=0.9)
        axes.set_yticks(np.arange(len(groups)), list(groups["label"]))
        axes.set_ylim(len(groups) - 0.4, -1.1)
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
        axes.set_xlabel(axis)
    return Figure(name, title, alt, figure)


LABEL_WIDTH = 34  # characters after which a label takes another line
TICKS = (0.01, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 1000)


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
    """Draw a frame with label, ratio, low, high and quiet (True: drawn open, grey and dashed).

    Parameters
    ----------
    axis : words under the axis.
    quiet_words : written beside the first quiet line.
    """
    with house():
        figure, (axes,) = canvas(printer, 1.0 + 0.42 * len(ratios))
        low, high = _span(ratios)
        for line, row in enumerate(ratios.to_dict("records")):
            _line(axes, printer, line, row, low, high)
        axes.axvline(1.0, color=INK, lw=0.8)
        quiet = np.flatnonzero(ratios["quiet"].to_numpy(bool))
        if len(quiet) and quiet_words:
            axes.annotate(quiet_words, (1.01, quiet[0] - 0.5), xycoords=("axes fraction", "data"),
                          va="center", fontsize=7.5, color=QUIET, style="italic")  # fmt: skip
        axes.set_xscale("log")
        axes.set_xlim(low, high)
        axes.xaxis.set_major_locator(FixedLocator([tick for tick in TICKS if low <= tick <= high]))
        axes.xaxis.set_minor_locator(NullLocator())
        axes.xaxis.set_major_formatter(_plain)
        axes.set_yticks(
            range(len(ratios)), [fill(str(label), LABEL_WIDTH) for label in ratios["label"]], fontsize=8.5
        )
        axes.set_ylim(len(ratios) - 0.5, -0.8)
        axes.tick_params(axis="y", length=0)
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.set_xlabel(axis)
    return Figure(name, title, alt, figure)


def _span(ratios: pd.DataFrame) -> tuple[float, float]:
    """The axis: every ratio with its interval, but no wider than a hundredth to a hundred."""
    low = float(np.nanmin(ratios[["low", "ratio"]].to_numpy(float), initial=0.5))
    high = float(np.nanmax(ratios[["high", "ratio"]].to_numpy(float), initial=2.0))
    return max(low * 0.8, 0.01), min(high * 1.25, 100.0)


def _line(axes: Axes, printer: Printer, line: int, row: dict[Any, Any], low: float, high: float) -> None:
    colour = QUIET if row["quiet"] else SERIES[0]
    left = row["low"] if row["low"] > 0 else low
    right = row["high"] if np.isfinite(row["high"]) else high
    axes.plot([left, right], [line, line], color=colour, lw=1.2 if row["quiet"] else 2,
              ls="--" if row["quiet"] else "-", solid_capstyle="butt")  # fmt: skip
    axes.plot(row["ratio"], line, "o", ms=6, color=colour, mfc=PAPER if row["quiet"] else colour, mec=colour)
    said = f"{printer.ratio(row['ratio'])} ({printer.ratio_range(row['low'], row['high'])})"
    axes.annotate(
        said, (1.01, line), xycoords=("axes fraction", "data"), va="center", color=colour, fontsize=8.5
    )


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
    """Draw two shares a line.

    Parameters
    ----------
    pairs : frame with label, first and second (shares), one row a line.
    names : what the two are; written over the first line.
    axis : words under the axis, with the unit.
    """
    looks = ((CLEAR, "v", CLEAR, 6), (SERIES[0], "o", PAPER, 9))
    lowest = 100 * float(pairs[["first", "second"]].min().min())
    with house():
        figure, (axes,) = canvas(printer, 1.1 + 0.26 * len(pairs))
        for line, row in enumerate(pairs.to_dict("records")):
            axes.plot([100 * row["first"], 100 * row["second"]], [line, line], color=QUIET, lw=1.2, zorder=1)
            for share, look in zip((row["first"], row["second"]), looks, strict=True):
                _mark(axes, 100 * share, line, look)
        axes.set_yticks(range(len(pairs)), [str(label) for label in pairs["label"]])
        axes.set_ylim(len(pairs) - 0.5, -0.5)
        axes.set_xlim(max(0.0, 10 * (lowest // 10) - 10), 100)
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(axis)
        for words, look in zip(names, looks, strict=True):
            _mark(axes, float("nan"), 0, look, words)
        figure.legend(loc="outside upper left", ncols=2, frameon=False, fontsize=8.5, labelcolor=INK)
    return Figure(name, title, alt, figure)


def _mark(axes: Axes, x: float, line: int, look: tuple[str, str, str, int], words: str = "") -> None:
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
    """Draw frame with label, share_a, share_b, difference and clear (yes-no), one line a row.

    The later season is a filled dot, red where the difference is clear; the difference stands at the right.
    """
    with house():
        figure, (axes,) = canvas(printer, 1.1 + 0.34 * len(groups))
        for line, row in enumerate(each_row(groups)):
            colour = CLEAR if row.clear else SERIES[0]
            ends = [100 * row.share_a, 100 * row.share_b]
            axes.plot(ends, [line, line], color=colour, lw=2.4 if row.clear else 1.2, zorder=1)
            axes.plot(ends[0], line, "o", color=colour, mfc=PAPER, mew=1.4, ms=7, zorder=2, clip_on=False)
            axes.plot(ends[1], line, "o", color=colour, ms=7, zorder=3, clip_on=False)
            axes.annotate(
                printer.points(row.difference),
                (1.02, line),
                xycoords=("axes fraction", "data"),
                va="center",
                color=QUIET,
            )
        axes.set_yticks(range(len(groups)), list(groups["label"]))
        axes.set_ylim(len(groups) - 0.5, -0.6)
        axes.set_xlim(left=0)
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(axis)
        handles = [
            axes.plot([], [], "o", color=SERIES[0], mfc=PAPER, mew=1.4, ms=7, label=seasons[0])[0],
            axes.plot([], [], "o", color=SERIES[0], ms=7, label=seasons[1])[0],
        ]
        figure.legend(handles=handles, loc="outside upper left", ncols=2, frameon=False, fontsize=8.5)
    return Figure(name, title, alt, figure)
