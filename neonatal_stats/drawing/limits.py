"""Farms and seasons against the limits within which chance alone would keep them.

Red is what lies outside; a filled mark is one's own farm or the season under review, for a grey print too.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.colours import CLEAR, INK, PAPER, PAST, QUIET, RULE, SERIES
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.house import canvas, house, lay_out
from neonatal_stats.drawing.lettering import End, key_above, width_pt, words_above, words_below, write_ends
from neonatal_stats.drawing.points import dots
from neonatal_stats.drawing.svg import said
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Printer

ASIDE = 0.2  # how far the two marks of a season stand from its middle
MOST_RINGS = 300  # farms within the limits that have a ring, and a value to hover over, each
MOST_NAMED = 12  # farms outside the inner limits that are named; of more, those outside the outer ones
PANEL_PT = 190.0  # about the width of the panel


def draw_funnel(
    farms: pd.DataFrame,
    line: pd.DataFrame,
    centre: float,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axes_words: tuple[str, str],
    words: tuple[str, str, str, str],
) -> Figure:
    """Draw farms by size and loss against limits that are the wider the fewer newborns a farm has.

    A farm stands at its number of newborns and its standardised share lost in percent: an open ring, one's own farm a
    filled square; red where it is clearly outside, else blue. Those outside the inner limits (of more than
    `MOST_NAMED` those outside the outer ones) and one's own are named by letter. The line across is the share all farms
    have together. Limits and line are named at their right ends. Of more than `MOST_RINGS` farms within the limits each
    is a small dot.

    Parameters
    ----------
    farms : frame with letter, own, events, n, standardised, funnel_low, funnel_high, outer_low, outer_high and outside
        (yes-no); shares from 0 to 1.
    line : the limits, a frame with n (rising), low, high (dashed), outer_low, outer_high (dotted).
    centre : the share in the middle of the funnel.
    axes_words : words under and above the axes, with units.
    words : what the dashed and the dotted limits are, the filled square and the line across.
    """
    beyond = ~farms["standardised"].between(farms["funnel_low"], farms["funnel_high"])
    if beyond.sum() > MOST_NAMED:
        beyond = ~farms["standardised"].between(farms["outer_low"], farms["outer_high"])
    named = farms["own"] | farms["outside"] | beyond
    with house():
        figure, (axes,) = canvas(printer, 3.6)
        axes.axhline(100 * centre, color=INK, lw=0.8)
        for low, high, dash in (("low", "high", "--"), ("outer_low", "outer_high", ":")):
            for limit in (low, high):
                axes.plot(line["n"], 100 * line[limit], color=QUIET, lw=1.1, ls=dash)
        many = (~named).sum() > MOST_RINGS
        if many:
            plain = farms.loc[~named, ["n", "standardised"]].to_numpy(float)
            dots(axes, plain[:, 0], 100 * plain[:, 1], SERIES[0], 2.4)
        for row in each_row((farms[named] if many else farms).assign(named=named)):
            _farm(axes, printer, row, float(farms["n"].max()), words[2])
        axes.set_xlim(0, 1.06 * float(farms["n"].max()))
        axes.set_ylim(bottom=0)
        words_below(axes, axes_words[0])
        words_above(axes, axes_words[1])
        lay_out(figure)
        last, right = line.iloc[-1], axes.get_xlim()[1]
        ends = ((words[0], last["high"]), (words[1], last["outer_high"]), (words[3], centre))
        write_ends(axes, [End(what, right, 100 * float(height), QUIET) for what, height in ends])
    return Figure(name, title, alt, figure)


def _farm(axes: Axes, printer: Printer, row: Any, largest: float, own: str) -> None:
    """One farm, and its letter where it is named: at the right, or at the left where the right has no room."""
    at = (row.n, 100 * row.standardised)
    colour = CLEAR if row.outside else SERIES[0]
    shape, face = ("s", colour) if row.own else ("o", PAPER)
    (mark,) = axes.plot(*at, shape, color=colour, mfc=face, ms=6.5, mew=1.4, zorder=3 if row.named else 2)
    said(mark, f"{row.letter}: {printer.percent(row.standardised)} ({printer.part_of(row.events, row.n)})")
    if not row.named:
        return
    room = PANEL_PT * (1 - row.n / largest)
    letter = f"{row.letter}, {own}" if row.own else row.letter
    left = width_pt(letter) > room
    axes.annotate(
        letter, at, (-7 if left else 7, 0), textcoords="offset points", ha="right" if left else "left", va="center",
        color=colour, fontweight="bold" if row.own or row.outside else "normal", zorder=4,
        bbox={"boxstyle": "square,pad=0.1", "fc": PAPER, "ec": "none"},
    )  # fmt: skip


def draw_p_chart(
    seasons: pd.DataFrame,
    centre: float,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    words: tuple[str, str, str, str],
    reviewed: str,
) -> Figure:
    """Draw the loss of each season against the limits within which chance alone would keep it.

    In each season's column, left, a filled dot at the share lost in percent on its interval; right, an open diamond at
    the share it would have been with the common mix, where that is known. The season under review is in ink and thick,
    the others grey; red is what lies outside the limits. The grey field between dashed lines are the limits for a
    season of its size; the dotted line across is the share of all seasons. Counts stand under each season that has
    room for them, the last one always.

    Parameters
    ----------
    seasons : frame with season, events, n, share, low, high, standardised, standardised_low, standardised_high (may be
        missing), chart_low, chart_high (missing where there are no limits) and outside (yes-no), in order; shares from
        0 to 1.
    centre : the share of all seasons.
    axis : words above the axis, with the unit.
    words : what the dot, the diamond and the dashed limits are, for the legend, and the line across.
    reviewed : the season under review.
    """
    with house():
        figure, (axes,) = canvas(printer, 3.3)
        for place, row in enumerate(each_row(seasons)):
            _season(axes, printer, place, row, str(row.season) == reviewed)
        axes.axhline(100 * centre, color=QUIET, lw=0.9, ls=":", zorder=1)
        names = [
            f"{row.season}\n{printer.count(row.events)} / {printer.count(row.n)}" for row in each_row(seasons)
        ]
        every = int(np.ceil((max(map(width_pt, names)) + 6) * len(seasons) / PANEL_PT))
        shown = range((len(seasons) - 1) % every, len(seasons), every)
        axes.set_xticks(shown, [names[place] for place in shown])
        axes.set_xlim(-0.6, len(seasons) - 0.4)
        highest = np.nanmax(seasons[["high", "standardised_high", "chart_high"]].to_numpy(float), initial=0.0)
        axes.set_ylim(0, min(100.0, 112 * highest) or 1.0)
        words_above(axes, axis)
        _what_marks_are(figure, axes, words, seasons)
        lay_out(figure)
        write_ends(axes, [End(words[3], axes.get_xlim()[1], 100 * centre, QUIET)])
    return Figure(name, title, alt, figure)


def _season(axes: Axes, printer: Printer, place: int, row: Any, reviewed: bool) -> None:
    """One season: its limits, its share as it was and on the common mix."""
    if np.isfinite(row.chart_low):
        edge = [place - 0.45, place + 0.45]
        axes.fill_between(edge, 100 * row.chart_low, 100 * row.chart_high, color=RULE, alpha=0.55, lw=0)
        for limit in (row.chart_low, row.chart_high):
            axes.plot(edge, [100 * limit] * 2, color=QUIET, lw=1, ls="--")
    colour = CLEAR if row.outside else INK if reviewed else PAST
    was = (row.low, row.share, row.high)
    words = f"{row.season}: {printer.share_of(row.events, row.n, row.low, row.high)}"
    _on_interval(axes, place - ASIDE, was, (colour, colour, "o"), reviewed, words)
    if row.outside:
        axes.annotate(
            str(row.season),
            (place, 100 * row.high),
            (0, 3),
            textcoords="offset points",
            ha="center",
            color=colour,
        )
    common = (row.standardised_low, row.standardised, row.standardised_high)
    if np.isfinite(common).all():
        low, share, high = common
        words = f"{row.season}: {printer.percent(share)} ({printer.percent_range(low, high)})"
        _on_interval(axes, place + ASIDE, common, (INK if reviewed else PAST, PAPER, "D"), reviewed, words)


def _on_interval(
    axes: Axes,
    x: float,
    values: tuple[float, float, float],
    look: tuple[str, str, str],
    thick: bool,
    words: str,
) -> None:
    """A share in percent on its upright interval (low, share, high)."""
    low, share, high = (100 * value for value in values)
    colour, face, marker = look
    axes.plot([x, x], [low, high], color=colour, lw=2.4 if thick else 1.3)
    size = {"o": 6.0, "D": 4.6}[marker] + thick
    (mark,) = axes.plot(x, share, marker, color=colour, mfc=face, mec=colour, ms=size, mew=1.3)
    said(mark, words)


def _what_marks_are(figure: Any, axes: Axes, words: Sequence[str], seasons: pd.DataFrame) -> None:
    """The legend: the dot, the diamond where any season has one, the limits where there are any."""
    handles = [axes.plot([], [], "o", color=INK, ms=6, label=words[0])[0]]
    if seasons["standardised"].notna().any():
        handles.append(axes.plot([], [], "D", color=INK, mfc=PAPER, ms=5, label=words[1])[0])
    if seasons["chart_low"].notna().any():
        handles.append(axes.plot([], [], color=QUIET, ls="--", lw=1, label=words[2])[0])
    key_above(figure, handles)
