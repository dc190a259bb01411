"""The season week by week: births as bars with the lost part dark, and the share lost with its interval
below.
"""

from __future__ import annotations

import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import CLEAR, INK, PAPER, QUIET, RULE, SERIES, canvas, house
from neonatal_stats.tables import printing

PALE = "#c5d3de"


def draw_weeks(
    weeks: pd.DataFrame,
    *,
    name: str,
    title: str,
    alt: str,
    axes_words: tuple[str, str, str],
    reference: float | None = None,
) -> Figure:
    """Draw a ``rates`` frame by week.

    Parameters
    ----------
    weeks : frame with label (printed under the bars), events, n, share, low, high; one row a week, in order.
    axes_words : words for the count of births, for the share in percent, and for the weeks.
    reference : share of the whole season, a thin line, or None.
    """
    with house():
        figure, (births, shares) = canvas(4.3, rows=2, sharex=True, height_ratios=(1.25, 1))
        _bars(births, weeks)
        births.set_ylabel(axes_words[0])
        _shares(shares, weeks, reference)
        shares.set_ylabel(axes_words[1])
        shares.set_xlabel(axes_words[2])
        every = max(1, -(-len(weeks) // 10))
        shares.set_xticks(range(0, len(weeks), every), [str(label) for label in weeks["label"][::every]])
    return Figure(name, title, alt, figure)


def _bars(axes: Axes, weeks: pd.DataFrame) -> None:
    places = range(len(weeks))
    axes.bar(places, weeks["n"], width=0.8, color=PALE, ec=PAPER)
    axes.bar(places, weeks["events"], width=0.8, color=CLEAR, ec=PAPER, hatch="////")
    for place, (events, n) in enumerate(zip(weeks["events"], weeks["n"], strict=True)):
        if n:
            text = f"{printing.count(events)} / {printing.count(n)}"
            axes.annotate(
                text, (place, n), xytext=(0, 2), textcoords="offset points", ha="center", fontsize=8
            )
    axes.tick_params(axis="x", length=0)
    axes.margins(y=0.15)


def _shares(axes: Axes, weeks: pd.DataFrame, reference: float | None) -> None:
    for place, row in enumerate(weeks.to_dict("records")):
        axes.plot([place, place], [100 * row["low"], 100 * row["high"]], color=SERIES[0], lw=1.6)
        axes.plot(place, 100 * row["share"], "o", color=SERIES[0], ms=5.5, mec=PAPER)
    if reference is not None:
        axes.axhline(100 * reference, color=INK, lw=0.8, ls=":")
    axes.set_ylim(0, None)
    axes.set_xlim(-0.6, len(weeks) - 0.4)
    axes.grid(axis="y", color=RULE, lw=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(axis="x", color=QUIET)
