"""Deaths on the calendar, place under place: bars by day, what was to be expected, and the day on which they rose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from neonatal_stats.drawing.colours import CLEAR, INK, PAPER, QUIET, RULE
from neonatal_stats.drawing.figure import BAND_ALPHA, Figure, canvas, house
from neonatal_stats.drawing.lettering import ACROSS_PT, key_above, words_below
from neonatal_stats.drawing.letters import wide
from neonatal_stats.drawing.svg import said
from neonatal_stats.tables import Printer

PANEL_IN, AROUND_IN = 0.95, 1.0
APART_PT = 8.0
EXPECTED: dict[str, Any] = {"color": INK, "lw": 1.1, "ls": (0, (1, 1.3))}
OTHERS: dict[str, Any] = {"color": RULE, "ec": QUIET, "lw": 0.4}


@dataclass(frozen=True)
class Rose:
    """The day from which deaths rose, with its interval, as positions along the axis; in which panel, None for all."""

    at: float
    low: float
    high: float
    panel: int | None
    words: str


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
