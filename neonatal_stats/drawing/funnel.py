"""Farms against the limits of a funnel: letters for names, one's own farm filled."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import CLEAR, INK, PAPER, QUIET, SERIES, canvas, house
from neonatal_stats.measures.each_row import each_row


def draw_funnel(
    farms: pd.DataFrame,
    line: pd.DataFrame,
    centre: float,
    *,
    name: str,
    title: str,
    alt: str,
    axes_words: tuple[str, str],
    words: tuple[str, str, str],
) -> Figure:
    """Draw farms (letter, own, n, standardised, outside) over the line of limits (n, low, high, outer_low, outer_high).

    Parameters
    ----------
    axes_words : under and beside the axes.
    words : what the dashed and the dotted limits are, and the filled mark.
    """
    with house():
        figure, (axes,) = canvas(4.4)
        axes.axhline(100 * centre, color=INK, lw=0.8)
        for low, high, dash in (("low", "high", "--"), ("outer_low", "outer_high", ":")):
            for limit in (low, high):
                axes.plot(line["n"], 100 * line[limit], color=QUIET, lw=1.1, ls=dash)
        for row in each_row(farms):
            colour = CLEAR if row.outside else SERIES[0]
            face = colour if row.own else PAPER
            axes.plot(
                row.n, 100 * row.standardised, "s" if row.own else "o", color=colour, mfc=face, ms=8, mew=1.5
            )
            axes.annotate(
                row.letter,
                (row.n, 100 * row.standardised),
                (7, 0),
                textcoords="offset points",
                va="center",
                color=colour,
                fontweight="bold" if row.own or row.outside else "normal",
            )
        axes.set_xlim(left=0)
        axes.set_ylim(bottom=0)
        axes.margins(x=0.06)
        axes.set_xlabel(axes_words[0])
        axes.set_ylabel(axes_words[1])
        handles = [
            axes.plot([], [], color=QUIET, ls="--", label=words[0])[0],
            axes.plot([], [], color=QUIET, ls=":", label=words[1])[0],
        ]
        if farms["own"].any():
            handles.append(axes.plot([], [], "s", color=SERIES[0], ms=8, label=words[2])[0])
        figure.legend(handles=handles, loc="outside upper left", ncols=3, frameon=False, fontsize=8.5)
    return Figure(name, title, alt, figure)
