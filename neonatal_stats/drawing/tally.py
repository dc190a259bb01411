"""Cause by age as a tally: one small square a loss, so that the eye counts newborns and not shades."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.collections import PatchCollection
from matplotlib.patches import Rectangle

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import INK, PAPER, RULE, SERIES, canvas, house
from neonatal_stats.tables import printing

ACROSS = 6  # squares in one row of a cell
DOWN = 5  # rows of squares in one cell


def draw_tally(
    counts: pd.DataFrame,
    *,
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
        figure, (axes,) = canvas(1.15 + 0.46 * len(rows))
        for line, row in enumerate(counts.to_numpy()):
            for place, n in enumerate(row):
                _cell(axes, line, place, int(n), each)
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


def _cell(axes: Axes, line: int, place: int, n: int, each: int) -> None:
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
    axes.annotate(printing.count(n), (end, line), va="center", ha="left", fontsize=9, color=INK)
