"""Curves over age: how many were still alive, were lost to each cause, or had been fed by each age.

Every line starts at birth and runs to the end of the panel, or to the last age at which anyone was watched; each
group has its own colour and dashes, its name at the end of its line and the number still watched below each age.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.ages import numbers_below, split_canvas, steps, watched_at, write_labels
from neonatal_stats.drawing.colours import INK, PAPER, QUIET, SERIES
from neonatal_stats.drawing.figure import BAND_ALPHA, DASHES, HATCHES, Figure, beside, canvas, house
from neonatal_stats.tables import Printer

WHISKER_FROM = 0.1  # share of a panel's width before which whiskers would hide the lines
TINTS = (
    "#1b4f72", "#b9770e", "#7b4b94", "#117864", "#9b2d20", "#5d6d7e", "#8fb3cc", "#d9b36c", "#b7a3c6", "#c9ced2",
)  # fmt: skip


def draw_survival(
    curves: Sequence[tuple[str, pd.DataFrame]],
    *,
    printer: Printer,
    follow_up_h: float,
    marks_h: Sequence[float],
    name: str,
    title: str,
    alt: str,
    axis: str,
    axis_cut: str,
    age_axes: tuple[str, str],
    at_risk: str,
    start: float = 1.0,
) -> Figure:
    """Draw the share of each group still alive (or already lost) at each age: the first three days, then all.

    A step line a group; its interval is a band where there is one group, else whiskers just before the ages marked
    and at the end, side by side.

    Parameters
    ----------
    curves : printed name and ``curve`` frame (age_h, at_risk, share, low, high) of each group; shares from 0 to 1.
    follow_up_h : age at which the panels end.
    marks_h : ages drawn as thin vertical lines (the ends of the windows).
    axis, age_axes : words beside the panels, and under the one in hours and the one in days.
    axis_cut : words beside the panels where the axis does not start at 0.
    at_risk : heading of the numbers below.
    start : share at birth: 1 for survival, 0 for loss.
    """
    with house():
        height = 3.9 + 0.17 * len(curves)
        figure, panels, ticks = split_canvas(printer, follow_up_h, height, age_axes, marks_h)
        colours = [SERIES[place % len(SERIES)] for place in range(len(curves))]
        for panel in panels:
            for place, (_, curve) in enumerate(curves):
                _line(panel, curve, place, len(curves), panel.get_xlim()[1], start, marks_h)
        below = [(label, curve, colour) for (label, curve), colour in zip(curves, colours, strict=True)]
        numbers_below(printer, panels, ticks, below, at_risk)
        panels[0].set_ylim(*_limits([curve for _, curve in curves], start))
        panels[0].set_ylabel(axis if panels[0].get_ylim()[0] == 0 else axis_cut)
        figure.draw_without_rendering()
        ends = [float(curve["share"].iloc[-1]) if len(curve) else start for _, curve in curves]
        write_labels(panels[-1], [label for label, _ in curves], ends, colours)
    return Figure(name, title, alt, figure)


def _line(
    panel: Axes, curve: pd.DataFrame, place: int, of: int, until_h: float, start: float, at_h: Sequence[float]
) -> None:
    """A step line; its interval as a band where it stands alone, else as whiskers just before stated ages."""
    colour = SERIES[place % len(SERIES)]
    ages, share = steps(curve, "share", start, until_h)
    _, low = steps(curve, "low", start, until_h)
    _, high = steps(curve, "high", start, until_h)
    panel.step(ages, share, where="post", color=colour, lw=1.8, ls=DASHES[place % len(DASHES)])
    if of == 1:
        panel.fill_between(ages, low, high, step="post", color=colour, alpha=BAND_ALPHA, lw=0)
        return
    dodge = until_h * 0.008
    last_h = float(ages[-1])
    for age in (age for age in (*at_h, last_h) if WHISKER_FROM * until_h <= age <= last_h):
        here = np.flatnonzero(ages <= age)[-1]
        x = age + dodge * (2 * place - 2 * of + 1)
        panel.plot([x, x], [low[here], high[here]], color=colour, lw=1.1, marker="_", ms=4)


def _limits(curves: Sequence[pd.DataFrame], start: float) -> tuple[float, float]:
    """From a round tenth below the lowest interval up to 1 for survival; from 0 to a tenth above for loss."""
    if start == 0:
        highest = max((curve[["share", "high"]].max().max() for curve in curves), default=0.0)
        return 0.0, min(1.0, float(np.ceil(10 * highest + 0.2)) / 10)
    lowest = min((curve[["share", "low"]].min().min() for curve in curves), default=1.0)
    return max(0.0, float(np.floor(10 * lowest - 0.2)) / 10), 1.0


def draw_stacked(
    layers: Sequence[tuple[str, pd.DataFrame]],
    *,
    printer: Printer,
    follow_up_h: float,
    marks_h: Sequence[float],
    name: str,
    title: str,
    alt: str,
    axis: str,
    age_axes: tuple[str, str],
    at_risk: str,
) -> Figure:
    """Draw how many had been lost to each cause by each age, the causes on top of each other.

    The height of a layer is the share lost to its cause (cumulative incidence); the dark line over all layers is the
    share lost in all, and what is left above it is still alive. Each layer has its own tint and hatching, and its
    name at its middle at the end.

    Parameters
    ----------
    layers : printed name and ``curve`` frame of each cause, from the bottom up; all frames hold the same ages; shares
        from 0 to 1.
    follow_up_h : age at which the panels end.
    marks_h : ages drawn as thin vertical lines (the ends of the windows).
    axis, age_axes : words beside the panels, and under the one in hours and the one in days.
    at_risk : heading of the numbers below.
    """
    with house():
        figure, panels, ticks = split_canvas(printer, follow_up_h, 4.4, age_axes, marks_h)
        for panel in panels:
            _stack(panel, [frame for _, frame in layers], panel.get_xlim()[1])
        numbers_below(printer, panels, ticks, [("", layers[0][1], QUIET)], at_risk)
        ends = [float(frame["share"].iloc[-1]) for _, frame in layers]
        total = sum(ends)
        panels[0].set_ylim(0, min(1.0, max(0.05, np.ceil(20 * total * 1.08) / 20)))
        panels[0].set_ylabel(axis)
        figure.draw_without_rendering()
        middles = [float(below + end / 2) for below, end in zip(np.cumsum([0.0, *ends]), ends, strict=False)]
        write_labels(panels[-1], [label for label, _ in layers], middles, [INK] * len(layers), size=8)
    return Figure(name, title, alt, figure)


def _stack(panel: Axes, frames: Sequence[pd.DataFrame], until_h: float) -> None:
    """The layers of one panel, and the line over them."""
    ages, below = steps(frames[0].assign(none=0.0), "none", 0.0, until_h)
    for place, frame in enumerate(frames):
        _, share = steps(frame, "share", 0.0, until_h)
        tint, hatch = TINTS[place % len(TINTS)], HATCHES[place % len(HATCHES)]
        look: dict[str, Any] = {"facecolor": tint, "hatch": hatch, "edgecolor": PAPER, "lw": 0.6}
        panel.fill_between(ages, below, below + share, step="post", **look)
        below = below + share
    panel.step(ages, below, where="post", color=INK, lw=1.2)


def draw_time_to(
    curves: Mapping[str, pd.DataFrame],
    *,
    printer: Printer,
    horizon_h: float,
    marks_h: Sequence[float],
    name: str,
    title: str,
    alt: str,
    axis: str,
    age_axis: str,
    waiting: str,
    reference: tuple[str, Mapping[float, float]] | None = None,
) -> Figure:
    """Draw the share of each group in percent to which it had happened (standing, the first feed) by each age.

    A step line a group in its interval; below each age how many were still waiting and watched. Published shares are
    open grey diamonds.

    Parameters
    ----------
    curves : printed name and ``curve`` frame (age_h, at_risk, share, low, high) of each group; shares from 0 to 1.
    horizon_h : age at which the panel ends.
    marks_h : ages drawn as thin vertical lines, written above them.
    axis, age_axis : words beside and under the axes, with units.
    waiting : heading of the numbers under the axis ("waiting").
    reference : words and published shares by age, or None.
    """
    with house():
        figure, (axes,) = canvas(printer, 3.5 + 0.17 * len(curves))
        ends = [_rising_line(axes, frame, at, horizon_h) for at, frame in enumerate(curves.values())]
        for (label, _), y, at in zip(curves.items(), _apart(ends), range(len(curves)), strict=True):
            beside(axes, y, label, colour=SERIES[at % len(SERIES)], fontsize=8.5)
        for mark in (mark for mark in marks_h if mark <= horizon_h):
            axes.axvline(mark, color=QUIET, lw=0.7, ls=":", zorder=0)
            axes.annotate(
                printer.age(mark), (mark, 1.01), xycoords=("data", "axes fraction"), ha="center", va="bottom",
                fontsize=7.5, color=QUIET,
            )  # fmt: skip
        if reference is not None:
            _reference(axes, *reference, horizon_h)
        _frame(axes, horizon_h, axis)
        _waiting(axes, printer, curves, horizon_h, waiting, age_axis)
    return Figure(name, title, alt, figure)


def _rising_line(axes: Axes, frame: pd.DataFrame, at: int, horizon_h: float) -> float:
    """A step line in its interval up to the horizon; returns the percentage at which it ends."""
    shown = frame[frame["age_h"] <= horizon_h]
    age = np.append(shown["age_h"].to_numpy(float), horizon_h)
    share, low, high = (100 * np.append(x, x[-1:]) for x in shown[["share", "low", "high"]].to_numpy(float).T)
    colour = SERIES[at % len(SERIES)]
    axes.fill_between(age, low, high, step="post", color=colour, alpha=BAND_ALPHA, lw=0)
    axes.step(age, share, where="post", color=colour, lw=1.7, ls=DASHES[at % len(DASHES)])
    return float(share[-1])


def _reference(axes: Axes, words: str, shares: Mapping[float, float], horizon_h: float) -> None:
    """Published shares, their words beside the first."""
    ages = [age for age in shares if age <= horizon_h]
    heights = [100 * shares[age] for age in ages]
    axes.plot(ages, heights, "D", color=QUIET, mfc=PAPER, ms=5, ls=":", lw=0.9, clip_on=False, zorder=3)
    axes.annotate(
        words, (ages[0], heights[0]), xytext=(7, -1), textcoords="offset points", fontsize=7.5, color=QUIET
    )


def _apart(ends: Sequence[float], gap: float = 6.5) -> list[float]:
    """Label heights, moved up from below until none touches another, then down under the top."""
    order = np.argsort(ends, kind="stable")
    heights = np.array(ends, dtype=float)
    for lower, upper in pairwise(order):
        heights[upper] = max(heights[upper], heights[lower] + gap)
    return [float(height) for height in heights - max(0.0, heights.max(initial=0.0) - 100.0)]


def _frame(axes: Axes, horizon_h: float, axis: str) -> None:
    axes.set_xlim(0, horizon_h)
    axes.set_ylim(0, 100)
    axes.set_ylabel(axis)
    step = next(size for size in (0.5, 1, 2, 4, 6, 12, 24) if horizon_h / size <= 8 or size == 24)
    axes.set_xticks(np.arange(0, horizon_h + step / 2, step))


def _waiting(
    axes: Axes,
    printer: Printer,
    curves: Mapping[str, pd.DataFrame],
    horizon_h: float,
    heading: str,
    age_axis: str,
) -> None:
    """How many are still waiting and watched at each tick, a row a line, under the axis."""
    ticks = [tick for tick in axes.get_xticks() if tick <= horizon_h]
    axes.annotate(age_axis, (0.5, -34), xycoords=("axes fraction", "axes points"), ha="center", color=INK)
    axes.annotate(
        heading, (0, -46), xycoords=("axes fraction", "axes points"), ha="right", fontsize=7.5, color=QUIET
    )
    for line, frame in enumerate(curves.values()):
        colour = SERIES[line % len(SERIES)]
        for tick in ticks:
            axes.annotate(
                printer.count(watched_at(frame, tick)), (tick, -57 - 11 * line), xycoords=("data", "axes points"),
                ha="center", fontsize=7.5, color=colour,
            )  # fmt: skip
