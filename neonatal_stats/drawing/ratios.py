"""Ratios with their intervals on a log scale, one line each; open grey marks for those that are no answer."""

from __future__ import annotations

from textwrap import fill
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, NullLocator

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import INK, PAPER, QUIET, RULE, SERIES, canvas, house
from neonatal_stats.tables import printing

LABEL_WIDTH = 34  # characters after which a label takes another line
TICKS = (0.01, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 1000)


def draw_ratios(
    ratios: pd.DataFrame, *, name: str, title: str, alt: str, axis: str, quiet_words: str = ""
) -> Figure:
    """Draw a frame with label, ratio, low, high and quiet (True: drawn open, grey and dashed).

    Parameters
    ----------
    axis : words under the axis.
    quiet_words : written beside the first quiet line.
    """
    with house():
        figure, (axes,) = canvas(1.0 + 0.42 * len(ratios))
        low, high = _span(ratios)
        for line, row in enumerate(ratios.to_dict("records")):
            _line(axes, line, row, low, high)
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


def _line(axes: Axes, line: int, row: dict[Any, Any], low: float, high: float) -> None:
    colour = QUIET if row["quiet"] else SERIES[0]
    left = row["low"] if row["low"] > 0 else low
    right = row["high"] if np.isfinite(row["high"]) else high
    axes.plot([left, right], [line, line], color=colour, lw=1.2 if row["quiet"] else 2,
              ls="--" if row["quiet"] else "-", solid_capstyle="butt")  # fmt: skip
    axes.plot(row["ratio"], line, "o", ms=6, color=colour, mfc=PAPER if row["quiet"] else colour, mec=colour)
    said = f"{printing.ratio(row['ratio'])} ({printing.ratio_range(row['low'], row['high'])})"
    axes.annotate(
        said, (1.01, line), xycoords=("axes fraction", "data"), va="center", color=colour, fontsize=8.5
    )


def _plain(value: float, _: float | None = None) -> str:
    return f"{value:g}"
