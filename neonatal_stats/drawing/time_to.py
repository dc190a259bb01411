"""Time to a milestone: cumulative incidence by group, the trade's marks as reference lines, numbers
waiting below.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import DASHES, INK, PAPER, QUIET, SERIES, canvas, house
from neonatal_stats.tables import printing

BAND_ALPHA = 0.16


def draw_time_to(
    curves: Mapping[str, pd.DataFrame],
    *,
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
    """Draw ``curve`` frames (age_h, at_risk, share, low, high), one line each, labelled at its end.

    Parameters
    ----------
    curves : printed name of each line and its frame.
    marks_h : ages drawn as thin vertical lines.
    axis, age_axis : the words beside and under the axes, with units.
    waiting : the heading of the numbers under the axis ("waiting").
    reference : words and published shares by age, drawn as small quiet diamonds; None draws nothing.
    """
    with house():
        figure, (axes,) = canvas(height_in=3.5 + 0.17 * len(curves))
        ends = [_line(axes, frame, at, horizon_h) for at, frame in enumerate(curves.values())]
        for (label, _), y, at in zip(curves.items(), _apart(ends), range(len(curves)), strict=True):
            axes.annotate(
                label,
                (1.01, y),
                xycoords=("axes fraction", "data"),
                va="center",
                color=SERIES[at % len(SERIES)],
                fontsize=8.5,
            )
        for mark in marks_h:
            if mark <= horizon_h:
                axes.axvline(mark, color=QUIET, lw=0.7, ls=":", zorder=0)
                axes.annotate(
                    printing.age(mark),
                    (mark, 1.01),
                    xycoords=("data", "axes fraction"),
                    ha="center",
                    va="bottom",
                    fontsize=7.5,
                    color=QUIET,
                )
        if reference is not None:
            _reference(axes, *reference, horizon_h)
        _frame(axes, horizon_h, axis)
        _waiting(axes, curves, horizon_h, waiting, age_axis)
    return Figure(name, title, alt, figure)


def _line(axes: Axes, frame: pd.DataFrame, at: int, horizon_h: float) -> float:
    shown = frame[frame["age_h"] <= horizon_h]
    age = np.append(shown["age_h"].to_numpy(float), horizon_h)
    share, low, high = (100 * np.append(x, x[-1:]) for x in shown[["share", "low", "high"]].to_numpy(float).T)
    colour = SERIES[at % len(SERIES)]
    axes.fill_between(age, low, high, step="post", color=colour, alpha=BAND_ALPHA, lw=0)
    axes.step(age, share, where="post", color=colour, lw=1.7, ls=DASHES[at % len(DASHES)])
    return float(share[-1])


def _reference(axes: Axes, words: str, shares: Mapping[float, float], horizon_h: float) -> None:
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
    axes: Axes, curves: Mapping[str, pd.DataFrame], horizon_h: float, heading: str, age_axis: str
) -> None:
    """How many are still waiting and watched at each tick, a row a line, under the axis."""
    rows = []
    ticks = [tick for tick in axes.get_xticks() if tick <= horizon_h]
    for frame in curves.values():
        ages, risk = frame["age_h"].to_numpy(float), frame["at_risk"].to_numpy(float)
        at = np.searchsorted(ages, ticks, side="left")
        rows.append([risk[place] if place < len(ages) else 0.0 for place in at])
    axes.annotate(age_axis, (0.5, -34), xycoords=("axes fraction", "axes points"), ha="center", color=INK)
    axes.annotate(
        heading, (0, -46), xycoords=("axes fraction", "axes points"), ha="right", fontsize=7.5, color=QUIET
    )
    for line, row in enumerate(rows):
        for tick, waiting in zip(ticks, row, strict=True):
            axes.annotate(
                printing.count(waiting),
                (tick, -57 - 11 * line),
                xycoords=("data", "axes points"),
                ha="center",
                fontsize=7.5,
                color=SERIES[line % len(SERIES)],
            )
