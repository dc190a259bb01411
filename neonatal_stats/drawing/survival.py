"""Survival of groups against age: step lines with their intervals, and the numbers still watched below."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.direct_labels import write_labels
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.split_age import numbers_below, split_canvas, steps
from neonatal_stats.drawing.style import DASHES, SERIES, house

BAND_ALPHA = 0.16
WHISKER_FROM = 0.1  # share of a panel's width before which whiskers would hide the lines


def draw_survival(
    curves: Sequence[tuple[str, pd.DataFrame]],
    *,
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
    """Draw ``curve`` frames, one a group, with printed names in order.

    Parameters
    ----------
    curves : printed name and frame (age_h, at_risk, share, low, high) of each group.
    marks_h : ages drawn as thin vertical lines (the ends of the windows).
    axis, age_axes : words beside the panels, and under the one in hours and the one in days.
    axis_cut : words beside the panels where the axis does not start at 0.
    at_risk : heading of the numbers below.
    start : share at birth: 1 for survival, 0 for loss.
    """
    with house():
        height = 3.9 + 0.17 * len(curves)
        figure, panels, ticks = split_canvas(follow_up_h, height, age_axes, marks_h)
        colours = [SERIES[place % len(SERIES)] for place in range(len(curves))]
        for panel in panels:
            for place, (_, curve) in enumerate(curves):
                _line(panel, curve, place, len(curves), panel.get_xlim()[1], start, marks_h)
        below = [(label, curve, colour) for (label, curve), colour in zip(curves, colours, strict=True)]
        numbers_below(panels, ticks, below, at_risk)
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
