"""Loss season by season: crude with its interval, on the common mix, and the limits of the chart."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import CLEAR, INK, PAPER, QUIET, RULE, SERIES, canvas, house
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import printing

ASIDE = 0.12


def draw_p_chart(
    seasons: pd.DataFrame,
    centre: float,
    *,
    name: str,
    title: str,
    alt: str,
    axis: str,
    words: tuple[str, str, str],
) -> Figure:
    """Draw one column a season.

    Parameters
    ----------
    seasons : season, events, n, share, low, high, standardised, standardised_low, standardised_high, chart_low,
        chart_high, outside.
    words : what the dot, the diamond and the dashed limits are.
    """
    with house():
        figure, (axes,) = canvas(3.9)
        for place, row in enumerate(each_row(seasons)):
            edge = [place - 0.45, place + 0.45]
            axes.fill_between(edge, 100 * row.chart_low, 100 * row.chart_high, color=RULE, alpha=0.55, lw=0)
            for limit in (row.chart_low, row.chart_high):
                axes.plot(edge, [100 * limit] * 2, color=QUIET, lw=1, ls="--")
            colour = CLEAR if row.outside else SERIES[0]
            _mark(axes, place - ASIDE, (row.low, row.share, row.high), colour, "o", filled=True)
            common = (row.standardised_low, row.standardised, row.standardised_high)
            if np.isfinite(common).all():
                _mark(axes, place + ASIDE, common, SERIES[1], "D", filled=False)
        axes.axhline(100 * centre, color=INK, lw=0.8, ls=":")
        names = [
            f"{row.season}\n{printing.count(row.events)} / {printing.count(row.n)}"
            for row in each_row(seasons)
        ]
        axes.set_xticks(range(len(seasons)), names)
        axes.set_xlim(-0.6, len(seasons) - 0.4)
        axes.set_ylim(bottom=0)
        axes.set_ylabel(axis)
        handles = [
            axes.plot([], [], "o", color=SERIES[0], ms=7, label=words[0])[0],
            axes.plot([], [], "D", color=SERIES[1], mfc=PAPER, ms=6, label=words[1])[0],
            axes.plot([], [], color=QUIET, ls="--", lw=1, label=words[2])[0],
        ]
        figure.legend(handles=handles, loc="outside upper left", ncols=3, frameon=False, fontsize=8.5)
    return Figure(name, title, alt, figure)


def _mark(
    axes: object, x: float, values: tuple[float, float, float], colour: str, marker: str, *, filled: bool
) -> None:
    low, share, high = (100 * value for value in values)
    axes.plot([x, x], [low, high], color=colour, lw=1.8)  # type: ignore[attr-defined]
    face = colour if filled else PAPER
    axes.plot(x, share, marker, color=colour, mfc=face, mec=colour, ms=6.5, mew=1.4)  # type: ignore[attr-defined]
