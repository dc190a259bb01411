"""Points"""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from numpy.typing import NDArray

from neonatal_stats.drawing.figure import CLEAR, INK, PAPER, QUIET, RULE, SERIES, Figure, canvas, house
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Printer


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
    """Draw the smooth share in the middle, the newborns lost above it and the others below.

    Parameters
    ----------
    curve : frame with value, share, low, high; values rising.
    values, lost : the measured quantity of each newborn, and whether it was lost.
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
        middle.fill_between(x, 100 * curve["low"], 100 * curve["high"], color=SERIES[0], alpha=0.16, lw=0)
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
    """One dot a newborn.

    Parameters
    ----------
    target_ml_per_kg : slope of the target line.
    line : the words written at the end of the target line.
    """
    enough = volume_ml >= target_ml_per_kg * weight_kg - 1e-9
    with house():
        figure, (axes,) = canvas(printer, 3.6)
        top = np.array([0.0, float(weight_kg.max()) * 1.05])
        axes.plot(top, target_ml_per_kg * top, color=INK, lw=1.0, ls="--", zorder=1)
        axes.annotate(
            line,
            (1.01, target_ml_per_kg * top[1]),
            xycoords=("axes fraction", "data"),
            va="center",
            fontsize=8.5,
        )
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
    """Draw farms (letter, own, n, standardised, outside) over the line of limits (n, low, high, outer_low, outer_high).

    Parameters
    ----------
    axes_words : under and beside the axes.
    words : what the dashed and the dotted limits are, and the filled mark.
    """
    with house():
        figure, (axes,) = canvas(printer, 4.4)
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


ASIDE = 0.12


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
    """Draw one column a season.

    Parameters
    ----------
    seasons : season, events, n, share, low, high, standardised, standardised_low, standardised_high, chart_low,
        chart_high, outside.
    words : what the dot, the diamond and the dashed limits are.
    """
    with house():
        figure, (axes,) = canvas(printer, 3.9)
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
            f"{row.season}\n{printer.count(row.events)} / {printer.count(row.n)}" for row in each_row(seasons)
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
