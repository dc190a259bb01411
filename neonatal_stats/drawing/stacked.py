"""Cumulative incidence of every cause, stacked: what is left above is the share still alive."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.direct_labels import write_labels
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.split_age import numbers_below, split_canvas, steps
from neonatal_stats.drawing.style import HATCHES, INK, PAPER, QUIET, house

TINTS = (
    "#1b4f72",
    "#b9770e",
    "#7b4b94",
    "#117864",
    "#9b2d20",
    "#5d6d7e",
    "#8fb3cc",
    "#d9b36c",
    "#b7a3c6",
    "#c9ced2",
)


def draw_stacked(
    layers: Sequence[tuple[str, pd.DataFrame]],
    *,
    follow_up_h: float,
    marks_h: Sequence[float],
    name: str,
    title: str,
    alt: str,
    axis: str,
    age_axes: tuple[str, str],
    at_risk: str,
) -> Figure:
    """Draw the incidence of each cause on top of the one before, the largest at the bottom.

    Parameters
    ----------
    layers : printed name and ``curve`` frame of each cause, from the bottom up; all frames hold the same
    ages.
    """
    with house():
        figure, panels, ticks = split_canvas(follow_up_h, 4.4, age_axes, marks_h)
        for panel in panels:
            _stack(panel, [frame for _, frame in layers], panel.get_xlim()[1])
        numbers_below(panels, ticks, [("", layers[0][1], QUIET)], at_risk)
        ends = [float(frame["share"].iloc[-1]) for _, frame in layers]
        total = sum(ends)
        panels[0].set_ylim(0, min(1.0, max(0.05, np.ceil(20 * total * 1.08) / 20)))
        panels[0].set_ylabel(axis)
        figure.draw_without_rendering()
        middles = [float(below + end / 2) for below, end in zip(np.cumsum([0.0, *ends]), ends, strict=False)]
        write_labels(panels[-1], [label for label, _ in layers], middles, [INK] * len(layers), size=8)
    return Figure(name, title, alt, figure)


def _stack(panel: Axes, frames: Sequence[pd.DataFrame], until_h: float) -> None:
    ages, below = steps(frames[0].assign(none=0.0), "none", 0.0, until_h)
    for place, frame in enumerate(frames):
        _, share = steps(frame, "share", 0.0, until_h)
        panel.fill_between(
            ages,
            below,
            below + share,
            step="post",
            facecolor=TINTS[place % len(TINTS)],
            hatch=HATCHES[place % len(HATCHES)],
            edgecolor=PAPER,
            lw=0.6,
        )
        below = below + share
    panel.step(ages, below, where="post", color=INK, lw=1.2)
