"""A change split into parts: per kind of birth a plain bar for the mix and a hatched one for the rate."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import INK, PAPER, RULE, SERIES, canvas, house
from neonatal_stats.tables import printing

HEIGHT = 0.36


def draw_terms(
    terms: pd.DataFrame, *, name: str, title: str, alt: str, axis: str, words: tuple[str, str]
) -> Figure:
    """Draw frame with label, mix_term, rate_term (shares), one line a row; the last is the sum, set apart.

    Parameters
    ----------
    words : what the plain and the hatched bars are.
    """
    with house():
        figure, (axes,) = canvas(1.2 + 0.42 * len(terms))
        lines = np.arange(len(terms), dtype=float)
        lines[-1] += 0.35
        for side, column, colour, hatch, word in (
            (-HEIGHT / 2, "mix_term", SERIES[1], "", words[0]),
            (HEIGHT / 2, "rate_term", SERIES[0], "////", words[1]),
        ):
            values = 100 * terms[column].to_numpy(float)
            axes.barh(
                lines + side, values, HEIGHT, color=colour, hatch=hatch, edgecolor=PAPER, lw=0.4, label=word
            )
            for line, value in zip(lines, values, strict=True):
                where = "left" if value >= 0 else "right"
                gap = 3 if value >= 0 else -3
                axes.annotate(
                    printing.points(value / 100),
                    (value, line + side),
                    (gap, 0),
                    textcoords="offset points",
                    ha=where,
                    va="center",
                    fontsize=8,
                )
        axes.axvline(0, color=INK, lw=0.9)
        axes.axhline(lines[-1] - 0.68, color=RULE, lw=0.8)
        axes.set_yticks(lines, list(terms["label"]))
        axes.set_ylim(lines[-1] + 0.6, -0.6)
        axes.margins(x=0.12)
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
        axes.set_xlabel(axis)
        figure.legend(loc="outside upper left", ncols=2, frameon=False, fontsize=8.5)
    return Figure(name, title, alt, figure)
