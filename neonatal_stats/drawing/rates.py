"""Shares of groups as dots with their intervals, one line a group, the counts written beside them."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import INK, QUIET, RULE, SERIES, canvas, house
from neonatal_stats.tables import printing


def draw_rates(
    rates: pd.DataFrame,
    by: str,
    *,
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
        figure, (axes,) = canvas(height_in=0.9 + 0.42 * len(rates))
        for line, row in enumerate(rates.to_dict("records")):
            axes.plot(
                [100 * row["low"], 100 * row["high"]],
                [line, line],
                color=SERIES[0],
                lw=2,
                solid_capstyle="butt",
            )
            axes.plot(100 * row["share"], line, "o", color=SERIES[0], ms=6, mec="white")
            counts = printing.part_of(row["events"], row["n"])
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
