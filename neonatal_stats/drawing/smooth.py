"""A share against a measured quantity: the smooth line with its interval, and every newborn as a mark."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from numpy.typing import NDArray

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import CLEAR, PAPER, QUIET, RULE, SERIES, canvas, house


def draw_smooth(
    curve: pd.DataFrame,
    values: NDArray[np.float64],
    lost: NDArray[np.bool_],
    *,
    name: str,
    title: str,
    alt: str,
    axis: str,
    share_axis: str,
    marks: tuple[str, str],
) -> Figure:
    """Draw the smooth share in the middle, the newborns lost above it and the others below.

    Parameters
    ----------
    curve : frame with value, share, low, high; values rising.
    values, lost : the measured quantity of each newborn, and whether it was lost.
    axis, share_axis : words under and beside the axes, with units.
    marks : words for the row of the lost and the row of the others.
    """
    with house():
        figure, (above, middle, below) = canvas(4.3, rows=3, sharex=True, height_ratios=(0.5, 2.6, 0.9))
        _newborns(above, values[lost], CLEAR, "v")
        _newborns(below, values[~lost], SERIES[0], "o")
        above.set_ylabel(marks[0], rotation=0, ha="right", va="center", fontsize=8.5)
        below.set_ylabel(marks[1], rotation=0, ha="right", va="center", fontsize=8.5)
        x = curve["value"].to_numpy(float)
        middle.fill_between(x, 100 * curve["low"], 100 * curve["high"], color=SERIES[0], alpha=0.16, lw=0)
        middle.plot(x, 100 * curve["share"], color=SERIES[0], lw=1.9)
        middle.set_ylim(0, min(100.0, 1.05 * 100 * float(curve["high"].max())))
        middle.set_ylabel(share_axis)
        middle.grid(axis="y", color=RULE, lw=0.6)
        below.set_xlabel(axis)
        for strip in (above, middle):
            strip.tick_params(axis="x", length=0, labelbottom=False)
    return Figure(name, title, alt, figure)


def _newborns(axes: Axes, values: NDArray[np.float64], colour: str, marker: str) -> None:
    """One mark a newborn, those of the same value stacked."""
    order = np.argsort(values, kind="stable")
    height, last, level = np.zeros(len(values)), None, 0
    for place in order:
        level = level + 1 if values[place] == last else 0
        height[place], last = level, values[place]
    axes.plot(values, height, marker, color=colour, mec=PAPER, mew=0.3, ms=3.2)
    axes.set_ylim(-1, max(6.0, float(height.max(initial=0)) + 1))
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.tick_params(axis="x", color=QUIET)
