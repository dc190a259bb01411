"""The season on the calendar: week by week births, losses and their share; day by day deaths, place under place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from neonatal_stats.drawing.colours import CLEAR, INK, PAPER, QUIET, RULE
from neonatal_stats.drawing.dots import Average
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.house import BAND_ALPHA, canvas, house
from neonatal_stats.drawing.lettering import ACROSS_PT, key_above, wide, words_below, wrapped
from neonatal_stats.drawing.marks import Rose
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


PANEL_IN, AROUND_IN = 0.95, 1.0
APART_PT = 8.0
EXPECTED: dict[str, Any] = {"color": INK, "lw": 1.1, "ls": (0, (1, 1.3))}
OTHERS: dict[str, Any] = {"color": RULE, "ec": QUIET, "lw": 0.4}


def draw_days(
    panels: Sequence[tuple[str, pd.DataFrame]],
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    look: tuple[str, str],
    words: tuple[str, str, str],
    rose: Rose | None,
) -> Figure:
    """Draw deaths by day, one panel a place on one scale, above each other.

    A bar is as high as the deaths of its days: in its own colour and hatch those that the picture is about, pale ones
    of other causes on top. The dotted steps are what was to be expected of the former. A line stands at the day from
    which they rose, in a band for its interval.

    Parameters
    ----------
    panels : printed name and frame with label (of the day, or of the first of its days), events, others and expected,
        one row a bar, in order; all of one length.
    look : colour and hatch of what the picture is about.
    axis : words under the days.
    words : what the bars, the pale bars and the dotted steps are, for the legend; of "" there is none.
    """
    high = max(float((frame["events"] + frame["others"]).max()) for _, frame in panels)
    with house():
        figure, axes = canvas(printer, AROUND_IN + PANEL_IN * len(panels), rows=len(panels), sharex=True)
        for place, (panel, (label, frame)) in enumerate(zip(axes, panels, strict=True)):
            panel.set_title(label, loc="left", fontweight="normal", color=INK, pad=4)
            _bars(panel, printer, label, frame, look)
            panel.set_ylim(0, max(1.0, 1.08 * high))
            panel.yaxis.set_major_locator(MaxNLocator(nbins=3, integer=True))
            panel.grid(axis="y", color=RULE, lw=0.6)
            panel.set_axisbelow(True)
            if rose is not None and rose.panel in (None, place):
                _rise(panel, rose)
        _dates(axes[-1], [str(label) for label in panels[0][1]["label"]])
        words_below(axes[-1], axis)
        key_above(figure, list(_key(look, words, rose)))
    return Figure(name, title, alt, figure)


def _bars(axes: Axes, printer: Printer, place: str, frame: pd.DataFrame, look: tuple[str, str]) -> None:
    """The bars that stand above zero, and the steps of what was to be expected."""
    colour, hatch = look
    events, others = (frame[one].to_numpy(float) for one in ("events", "others"))
    for at, (label, own, other, usual) in enumerate(
        zip(frame["label"], events, others, frame["expected"], strict=True)
    ):
        told = f"{place}, {label}: {printer.count(own)} ({printer.number(usual)})"
        if own:
            bar = axes.bar(at, own, width=0.9, color=colour, hatch=hatch, ec=PAPER, lw=0.3)[0]
            said(bar, told)
        if other:
            said(axes.bar(at, other, width=0.9, bottom=own, **OTHERS)[0], f"{told} + {printer.count(other)}")
    edges = np.append(np.arange(len(frame)) - 0.5, len(frame) - 0.5)
    usual = frame["expected"].to_numpy(float)
    axes.step(edges, np.append(usual, usual[-1:]), where="post", **EXPECTED)
    axes.set_xlim(-1, len(frame))


def _rise(axes: Axes, rose: Rose) -> None:
    axes.axvspan(rose.low - 0.5, rose.high + 0.5, color=CLEAR, alpha=BAND_ALPHA, lw=0, zorder=0)
    said(axes.axvline(rose.at - 0.5, color=CLEAR, lw=1.2), rose.words)


def _dates(axes: Axes, labels: Sequence[str]) -> None:
    """As many dates as can stand beside each other."""
    every = max(1, int(np.ceil((max(map(wide, labels)) + APART_PT) * len(labels) / ACROSS_PT)))
    places = range(0, len(labels), every)
    axes.set_xticks(list(places), [labels[place] for place in places])


def _key(look: tuple[str, str], words: tuple[str, str, str], rose: Rose | None) -> list[Any]:
    own, others, expected = words
    found: list[Any] = [Patch(fc=look[0], hatch=look[1], ec=PAPER, lw=0.3, label=own)]
    if others:
        found.append(Patch(fc=RULE, ec=QUIET, lw=0.4, label=others))
    found.append(Line2D([], [], label=expected, **EXPECTED))
    if rose is not None:
        found.append(Line2D([], [], color=CLEAR, lw=1.2, label=rose.words))
    return found
