"""The season week by week, read across the page: births, how many of them were lost, and the share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.colours import INK, PAPER, QUIET, RULE
from neonatal_stats.drawing.dots import Average
from neonatal_stats.drawing.figure import Figure, canvas, house
from neonatal_stats.drawing.letters import wide, wrapped
from neonatal_stats.drawing.svg import said
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Printer

ACROSS = 215.0  # points of a panel beside the numbers of its scale, at the least
APART = 4.0
KEY = 24.0  # of a dotted line beside its name, and of the gap before it


def draw_weeks(
    weeks: pd.DataFrame,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axes_words: tuple[str, str, str, str],
    few: str = "",
    average: Average | None = None,
) -> Figure:
    """Draw the season week by week: how many were born, how many of them were lost, and the share lost below.

    A pale bar is as high as the births of its week, the dark hatched part at its foot as high as those of them that
    were lost; the births stand above it and the lost below where there is room. In the panel below a dot stands at the
    share lost in percent, on its interval; a week too small to say has words there, and no mark.

    Parameters
    ----------
    weeks : ``rates`` frame with label (printed under the bars), quiet (yes-no: too few to say), events, n, share, low,
        high; one row a week, in order; shares from 0 to 1.
    axes_words : words over the births, under the lost, over the share in percent, and under the weeks.
    few : words in the place of a quiet week.
    average : share of the whole season, a dotted line, and its name; or None.
    """
    born, lost, share, week = axes_words
    with house():
        figure, (births, shares) = canvas(printer, 3.9, rows=2, height_ratios=(1.2, 1))
        beside = KEY + wide(average[1]) if average else 0.0
        for panel, words, room in ((births, born, ACROSS), (shares, share, ACROSS - beside)):
            panel.set_title("\n".join(wrapped(words, room)), weight="normal")
            panel.set_xlim(-0.6, len(weeks) - 0.4)
            panel.tick_params(axis="x", length=0)
            panel.grid(axis="y", color=RULE, lw=0.6)
            panel.set_axisbelow(True)
        _births(births, printer, weeks, lost)
        _shares(shares, printer, weeks, few)
        if average:
            _average(shares, average)
        shares.set_xlabel(week)
        every = _every([str(label) for label in weeks["label"]])
        shares.set_xticks(range(0, len(weeks), every), [str(label) for label in weeks["label"][::every]])
    return Figure(name, title, alt, figure)


def _every(labels: Sequence[str]) -> int:
    """Every how many labels can be written without touching."""
    return max(1, int(np.ceil((max(map(wide, labels), default=0.0) + APART) * len(labels) / ACROSS)))


def _births(axes: Axes, printer: Printer, weeks: pd.DataFrame, lost: str) -> None:
    """Births with the lost at their foot, and both as numbers where all of them fit."""
    places = range(len(weeks))
    for place, row in enumerate(each_row(weeks)):
        told = f"{row.label}: {printer.part_of(row.events, row.n)}"
        said(axes.bar(place, row.n, width=0.8, color=RULE, ec=QUIET, lw=0.6)[0], told)
        said(axes.bar(place, row.events, width=0.8, color=INK, ec=PAPER, lw=0.6, hatch="////")[0], told)
    born, gone = ([printer.count(n) for n in weeks[name]] for name in ("n", "events"))
    fit = _every(born) == _every(gone) == 1
    if fit:
        for place, (words, n) in enumerate(zip(born, weeks["n"], strict=True)):
            axes.annotate(words, (place, n), xytext=(0, 2), textcoords="offset points", ha="center")
    axes.set_xticks(places if fit else [], gone if fit else [])
    axes.set_xlabel(lost)
    axes.margins(y=0.12)


def _shares(axes: Axes, printer: Printer, weeks: pd.DataFrame, few: str) -> None:
    """A dot on its interval, or words in the place of a week too small to say."""
    beside = _every(["l"] * len(weeks)) == 1
    for place, row in enumerate(each_row(weeks)):
        if not row.quiet:
            ends = [100 * row.low, 100 * row.high]
            axes.plot([place, place], ends, color=INK, lw=1.6, solid_capstyle="butt")
            (dot,) = axes.plot(place, 100 * row.share, "o", color=INK, ms=5.5)
            said(dot, f"{row.label}: {printer.share_of(row.events, row.n, row.low, row.high)}")
        elif row.n and beside:
            axes.annotate(
                few, (place, 0), xytext=(0, 3), textcoords="offset points", rotation=90, ha="center", color=QUIET,
                bbox={"boxstyle": "square,pad=0", "fc": PAPER, "ec": "none"},
            )  # fmt: skip
    axes.set_ylim(0, None)


def _average(axes: Axes, average: Average) -> None:
    """A dotted line across, named above the panel at the right, where no dot can stand."""
    dotted: dict[str, Any] = {"color": INK, "lw": 1.0, "ls": (0, (1, 1.5))}
    axes.axhline(100 * average[0], zorder=0.8, **dotted)
    words = axes.annotate(
        average[1], (1, 1), xycoords="axes fraction", xytext=(0, 6), textcoords="offset points", ha="right"
    )
    axes.annotate(
        "", (0, 0.5), xycoords=words, xytext=(-16, 0), textcoords="offset points",
        arrowprops={"arrowstyle": "-", "shrinkA": 0, "shrinkB": 3, **dotted},
    )  # fmt: skip
