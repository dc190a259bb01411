"""Two shares of the same thing side by side, joined by a line: recorded of the lost against the others."""

from __future__ import annotations

import pandas as pd

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
    looks = ((CLEAR, "v"), (SERIES[0], "o"))
    with house():
        figure, (axes,) = canvas(1.1 + 0.26 * len(pairs))
        for line, row in enumerate(pairs.to_dict("records")):
            axes.plot([100 * row["first"], 100 * row["second"]], [line, line], color=QUIET, lw=1.2, zorder=1)
            for share, (colour, marker) in zip((row["first"], row["second"]), looks, strict=True):
                axes.plot(100 * share, line, marker, color=colour, mec=PAPER, ms=7, zorder=2, clip_on=False)
        axes.set_yticks(range(len(pairs)), [str(label) for label in pairs["label"]])
        axes.set_ylim(len(pairs) - 0.5, -0.5)
        axes.set_xlim(0, 100)
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(axis)
        handles = [
            axes.plot([], [], marker, ls="", color=colour, ms=7, label=words)[0]
            for words, (colour, marker) in zip(names, looks, strict=True)
        ]
        figure.legend(
            handles=handles, loc="outside upper left", ncols=2, frameon=False, fontsize=8.5, labelcolor=INK
        )
    return Figure(name, title, alt, figure)
