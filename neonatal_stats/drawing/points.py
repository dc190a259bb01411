"""Points over a plane: each newborn, farm or season at its two numbers, with the line it is held against.

Red is what stands out, or was lost; blue all else. A shape or a filling says the same, for a grey print.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from numpy.typing import NDArray

from neonatal_stats.drawing.colours import CLEAR, INK, PAPER, QUIET, RULE, SERIES
from neonatal_stats.drawing.figure import BAND_ALPHA, Figure, beside, canvas, house, legend_above
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Printer

ASIDE = 0.12  # how far the two marks of a season stand from its middle


def draw_smooth(
    curve: pd.DataFrame,
    values: NDArray[np.float64],
    lost: NDArray[np.bool_],
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    share_axis: str,
    marks: tuple[str, str],
) -> Figure:
    """Draw the share lost against a measured quantity, and every newborn it was counted from.

    In the middle the smooth share in percent, a blue line in its interval; above it the newborns lost, a red triangle
    each, below it the others, a blue dot each, those of the same value stacked.

    Parameters
    ----------
    curve : frame with value, share, low, high; values rising, shares from 0 to 1.
    values, lost : the measured quantity of each newborn, and whether it was lost; equally long.
    axis, share_axis : words under and beside the axes, with units.
    marks : words for the row of the lost and the row of the others.
    """
    with house():
        figure, (above, middle, below) = canvas(
            printer, 4.3, rows=3, sharex=True, height_ratios=(0.5, 2.6, 0.9)
        )
        _newborns(above, values[lost], CLEAR, "v")
        _newborns(below, values[~lost], SERIES[0], "o")
        above.set_ylabel(marks[0], rotation=0, ha="right", va="center", fontsize=8.5)
        below.set_ylabel(marks[1], rotation=0, ha="right", va="center", fontsize=8.5)
        x = curve["value"].to_numpy(float)
        middle.fill_between(
            x, 100 * curve["low"], 100 * curve["high"], color=SERIES[0], alpha=BAND_ALPHA, lw=0
        )
        middle.plot(x, 100 * curve["share"], color=SERIES[0], lw=1.9)
        middle.set_ylim(0, min(100.0, 1.05 * 100 * float(curve["high"].max())))
        middle.set_ylabel(share_axis)
        middle.grid(axis="y", color=RULE, lw=0.6)
        below.set_xlabel(axis)
        for strip in (above, middle):
            strip.tick_params(axis="x", length=0, labelbottom=False)
    return Figure(name, title, alt, figure)


def _newborns(axes: Axes, values: NDArray[np.float64], colour: str, marker: str) -> None:
    """One mark a newborn, those of the same value stacked."""
    order = np.argsort(values, kind="stable")
    height, last, level = np.zeros(len(values)), None, 0
    for place in order:
        level = level + 1 if values[place] == last else 0
        height[place], last = level, values[place]
    axes.plot(values, height, marker, color=colour, mec=PAPER, mew=0.3, ms=3.2)
    axes.set_ylim(-1, max(6.0, float(height.max(initial=0)) + 1))
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.tick_params(axis="x", color=QUIET)


def draw_dose(
    weight_kg: NDArray[np.float64],
    volume_ml: NDArray[np.float64],
    target_ml_per_kg: float,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    weight_axis: str,
    volume_axis: str,
    line: str,
) -> Figure:
    """Draw the colostrum each newborn was given against its birth weight: who had enough for its size.

    One dot a newborn, filled blue where the volume reaches the target for its weight, open ochre where it does not;
    the dashed line is the target.

    Parameters
    ----------
    weight_kg, volume_ml : one a newborn; equally long.
    target_ml_per_kg : slope of the target line.
    weight_axis, volume_axis : words under and beside the axes, with units.
    line : words at the end of the target line.
    """
    enough = volume_ml >= target_ml_per_kg * weight_kg - 1e-9
    with house():
        figure, (axes,) = canvas(printer, 3.6)
        top = np.array([0.0, float(weight_kg.max()) * 1.05])
        axes.plot(top, target_ml_per_kg * top, color=INK, lw=1.0, ls="--", zorder=1)
        beside(axes, target_ml_per_kg * top[1], line, colour=INK, fontsize=8.5)
        axes.plot(weight_kg[enough], volume_ml[enough], "o", color=SERIES[0], mec=PAPER, mew=0.4, ms=5)
        axes.plot(weight_kg[~enough], volume_ml[~enough], "o", mfc=PAPER, mec=SERIES[1], mew=1.1, ms=5)
        axes.set_xlim(max(0.0, float(weight_kg.min()) * 0.9), top[1])
        axes.set_ylim(0, max(float(volume_ml.max()), target_ml_per_kg * top[1]) * 1.06)
        axes.grid(axis="y", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.set_xlabel(weight_axis)
        axes.set_ylabel(volume_axis)
    return Figure(name, title, alt, figure)


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
    words: tuple[str, str, str],
) -> Figure:
    """Draw farms by size and loss against limits that are the wider the fewer newborns a farm has.

    A farm stands at its number of newborns and its standardised share lost in percent, named by its letter: red
    outside the outer limits, else blue; an open ring, one's own farm a filled square. The line across is the share
    all farms have together.

    Parameters
    ----------
    farms : frame with letter, own, n, standardised and outside (yes-no); shares from 0 to 1.
    line : the limits, a frame with n (rising), low, high (dashed), outer_low, outer_high (dotted).
    centre : the share in the middle of the funnel.
    axes_words : words under and beside the axes, with units.
    words : what the dashed and the dotted limits are, and the filled square, for the legend.
    """
    with house():
        figure, (axes,) = canvas(printer, 4.4)
        axes.axhline(100 * centre, color=INK, lw=0.8)
        for low, high, dash in (("low", "high", "--"), ("outer_low", "outer_high", ":")):
            for limit in (low, high):
                axes.plot(line["n"], 100 * line[limit], color=QUIET, lw=1.1, ls=dash)
        for row in each_row(farms):
            at = (row.n, 100 * row.standardised)
            colour = CLEAR if row.outside else SERIES[0]
            shape, face = ("s", colour) if row.own else ("o", PAPER)
            weight = "bold" if row.own or row.outside else "normal"
            axes.plot(*at, shape, color=colour, mfc=face, ms=8, mew=1.5)
            axes.annotate(
                row.letter,
                at,
                (7, 0),
                textcoords="offset points",
                va="center",
                color=colour,
                fontweight=weight,
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
        legend_above(figure, columns=3, handles=handles)
    return Figure(name, title, alt, figure)


def draw_p_chart(
    seasons: pd.DataFrame,
    centre: float,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    words: tuple[str, str, str],
) -> Figure:
    """Draw the loss of each season against the limits within which chance alone would keep it.

    In each season's column, left, a filled dot at the share lost in percent on its interval, red where it lies
    outside the limits, else blue; right, an open ochre diamond at the share it would have been with the common mix,
    where that is known. The grey field between dashed lines are the limits for a season of its size; the dotted line
    across is the share of all seasons. Counts stand under the season.

    Parameters
    ----------
    seasons : frame with season, events, n, share, low, high, standardised, standardised_low, standardised_high (may be
        missing), chart_low, chart_high (missing where there are no limits) and outside (yes-no), in order; shares from
        0 to 1.
    centre : the share of all seasons.
    axis : words beside the axis, with the unit.
    words : what the dot, the diamond and the dashed limits are, for the legend.
    """
    with house():
        figure, (axes,) = canvas(printer, 3.9)
        for place, row in enumerate(each_row(seasons)):
            if np.isfinite(row.chart_low):
                edge = [place - 0.45, place + 0.45]
                axes.fill_between(
                    edge, 100 * row.chart_low, 100 * row.chart_high, color=RULE, alpha=0.55, lw=0
                )
                for limit in (row.chart_low, row.chart_high):
                    axes.plot(edge, [100 * limit] * 2, color=QUIET, lw=1, ls="--")
            colour = CLEAR if row.outside else SERIES[0]
            _on_interval(axes, place - ASIDE, (row.low, row.share, row.high), colour, colour, "o")
            common = (row.standardised_low, row.standardised, row.standardised_high)
            if np.isfinite(common).all():
                _on_interval(axes, place + ASIDE, common, SERIES[1], PAPER, "D")
        axes.axhline(100 * centre, color=INK, lw=0.8, ls=":")
        names = [
            f"{row.season}\n{printer.count(row.events)} / {printer.count(row.n)}" for row in each_row(seasons)
        ]
        axes.set_xticks(range(len(seasons)), names)
        axes.set_xlim(-0.6, len(seasons) - 0.4)
        axes.set_ylim(bottom=0)
        axes.set_ylabel(axis)
        handles = [
            axes.plot([], [], "o", color=SERIES[0], ms=7, label=words[0])[0],
            axes.plot([], [], "D", color=SERIES[1], mfc=PAPER, ms=6, label=words[1])[0],
        ]
        if seasons["chart_low"].notna().any():
            handles.append(axes.plot([], [], color=QUIET, ls="--", lw=1, label=words[2])[0])
        legend_above(figure, columns=len(handles), handles=handles)
    return Figure(name, title, alt, figure)


def _on_interval(
    axes: Axes, x: float, values: tuple[float, float, float], colour: str, face: str, marker: str
) -> None:
    """A share in percent on its upright interval (low, share, high)."""
    low, share, high = (100 * value for value in values)
    axes.plot([x, x], [low, high], color=colour, lw=1.8)
    axes.plot(x, share, marker, color=colour, mfc=face, mec=colour, ms=6.5, mew=1.4)


def draw_response(
    curve: pd.DataFrame,
    points: pd.DataFrame,
    cuts: Sequence[float],
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    fed_axis: str,
    value_axis: str,
) -> Figure:
    """Draw a serum result against the age at the first feed: how it falls with waiting.

    One grey dot a newborn; the blue line is the smooth mean in its interval; dotted lines across are the cut points
    between classes, written at the right.

    Parameters
    ----------
    curve : frame with fed_h (hours, rising), value, low, high.
    points : frame with fed_h and value, one row a newborn.
    cuts : the cut points, in the unit of the value.
    fed_axis, value_axis : words under and beside the axes, with units.
    """
    with house():
        figure, (axes,) = canvas(printer, 3.5)
        age = curve["fed_h"].to_numpy(float)
        axes.fill_between(age, curve["low"], curve["high"], color=SERIES[0], alpha=BAND_ALPHA, lw=0)
        axes.plot(age, curve["value"], color=SERIES[0], lw=1.9)
        axes.plot(points["fed_h"], points["value"], "o", color=SERIES[5], mec=PAPER, mew=0.4, ms=4, alpha=0.8)
        for cut in cuts:
            axes.axhline(cut, color=QUIET, lw=0.7, ls=":")
            beside(axes, cut, printer.number(cut), fontsize=7.5)
        axes.set_xlim(0, float(points["fed_h"].max()) * 1.03)
        axes.set_ylim(0, float(np.nanmax([points["value"].max(), *cuts])) * 1.06)
        axes.set_xlabel(fed_axis)
        axes.set_ylabel(value_axis)
    return Figure(name, title, alt, figure)
