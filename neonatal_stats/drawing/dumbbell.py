"""Two seasons on one line a group: the earlier share open, the later filled, an arrow's length between them."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import CLEAR, PAPER, QUIET, RULE, SERIES, canvas, house
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import printing


def draw_dumbbell(
    groups: pd.DataFrame, *, seasons: tuple[str, str], name: str, title: str, alt: str, axis: str
) -> Figure:
    """Draw frame with label, share_a, share_b, difference and clear (yes-no), one line a row.

    The later season is a filled dot, red where the difference is clear; the difference stands at the right.
    """
    with house():
        figure, (axes,) = canvas(1.1 + 0.34 * len(groups))
        for line, row in enumerate(each_row(groups)):
            colour = CLEAR if row.clear else SERIES[0]
            ends = [100 * row.share_a, 100 * row.share_b]
            axes.plot(ends, [line, line], color=colour, lw=2.4 if row.clear else 1.2, zorder=1)
            axes.plot(ends[0], line, "o", color=colour, mfc=PAPER, mew=1.4, ms=7, zorder=2, clip_on=False)
            axes.plot(ends[1], line, "o", color=colour, ms=7, zorder=3, clip_on=False)
            axes.annotate(
                printing.points(row.difference),
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
