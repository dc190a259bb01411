"""Groups ranked by excess losses: a dot and its interval a line, the clear ones filled, the counts beside."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import CLEAR, INK, QUIET, RULE, SERIES, canvas, house
from neonatal_stats.measures.each_row import each_row


def draw_ranked(
    groups: pd.DataFrame, *, name: str, title: str, alt: str, axis: str, counts_heading: str
) -> Figure:
    """Draw groups with label, excess, excess_low, excess_high, clear (yes-no) and counts (text), in order.

    Clear groups have a filled red dot on a thick line, the others an open one on a thin line, so that a grey
    print tells them apart.
    """
    with house():
        figure, (axes,) = canvas(height_in=1.0 + 0.36 * len(groups))
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
