"""Two shares of the same thing side by side, joined by a line: recorded of the lost against the others."""

from __future__ import annotations

import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import CLEAR, INK, PAPER, QUIET, RULE, SERIES, canvas, house


def draw_pairs(
    pairs: pd.DataFrame, *, names: tuple[str, str], name: str, title: str, alt: str, axis: str
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
        figure, (axes,) = canvas(1.1 + 0.26 * len(pairs))
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
