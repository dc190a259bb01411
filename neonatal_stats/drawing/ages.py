"""The axis of age and what stands around it: two panels over one age, numbers watched below, names at the ends."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.ticker import FuncFormatter, MaxNLocator

from neonatal_stats.drawing.colours import QUIET, RULE
from neonatal_stats.drawing.figure import canvas
from neonatal_stats.tables import Printer

FIRST_H = 72.0
HOUR_TICKS = (0.0, 12.0, 24.0, 48.0, 72.0)


def split_canvas(
    printer: Printer,
    follow_up_h: float,
    height_in: float,
    age_axes: tuple[str, str],
    marks_h: Sequence[float] = (),
) -> tuple[Canvas, list[Axes], list[list[float]]]:
    """The figure, its one or two panels with ages in hours below, and the tick ages of each panel.

    One panel where the whole time is no longer than the first three days. ``age_axes`` are the words under a
    panel in hours and under one in days.
    """
    short = follow_up_h <= FIRST_H
    if short:
        figure, panels = canvas(printer, height_in)
        ticks = [[tick for tick in HOUR_TICKS if tick < follow_up_h] + [follow_up_h]]
    else:
        figure, panels = canvas(printer, height_in, columns=2, sharey=True, width_ratios=(1, 1.15))
        ticks = [list(HOUR_TICKS), _day_ticks(follow_up_h)]
    for panel, at, days, words in zip(panels, ticks, (False, True), age_axes, strict=False):
        scale = 24.0 if days else 1.0
        panel.set_xlim(0, follow_up_h if days or short else FIRST_H)
        panel.set_xticks(at, [printer.number(tick / scale, 0) for tick in at])
        panel.set_xlabel(words)
        panel.grid(axis="y", color=RULE, lw=0.6)
        panel.set_axisbelow(True)
        panel.yaxis.set_major_locator(MaxNLocator(steps=[1, 2, 5, 10], nbins=6))
        panel.yaxis.set_major_formatter(FuncFormatter(partial(_as_percent, printer)))
        for mark in marks_h:
            if mark < at[-1] and (not days or mark > FIRST_H):
                panel.axvline(mark, color=QUIET, lw=0.7, ls=":", zorder=0)
    return figure, panels, ticks


def _day_ticks(follow_up_h: float) -> list[float]:
    days = follow_up_h / 24
    step = next((step for step in (1, 2, 7, 14, 28) if days / step <= 7), 56)
    return [24.0 * day for day in np.arange(0, days - step * 0.4, step)] + [24.0 * (follow_up_h // 24)]


def numbers_below(
    printer: Printer,
    panels: Sequence[Axes],
    ticks: Sequence[Sequence[float]],
    groups: Sequence[tuple[str, pd.DataFrame, str]],
    heading: str,
) -> None:
    """The number still watched of each group under each tick, and the groups' names at the end of their rows.

    ``groups`` are names (written only where there are several), ``curve`` frames and colours. The second panel
    leaves out the number at birth.
    """
    _below(panels[0], (0, 0), 0, heading, QUIET, "left")
    for line, (name, curve, colour) in enumerate(groups, start=1):
        for panel, at in zip(panels, ticks, strict=True):
            for tick in (tick for tick in at if tick or panel is panels[0]):
                _below(panel, (tick, 0), line, printer.count(watched_at(curve, tick)), colour, "center")
        if len(groups) > 1:
            _below(panels[-1], (panels[-1].get_xlim()[1], 14), line, name, colour, "left")


def _below(panel: Axes, at: tuple[float, float], line: int, text: str, colour: str, side: str) -> None:
    """A text under an age, so many points to its right, on one of the lines below the axis."""
    age_h, right = at
    panel.annotate(
        text,
        (age_h, 0),
        xycoords=("data", "axes fraction"),
        xytext=(right, -44 - 12 * line),
        textcoords="offset points",
        ha=side,
        fontsize=8,
        color=colour,
        annotation_clip=False,
    )


def watched_at(curve: pd.DataFrame, age_h: float) -> float:
    """How many of a ``curve`` were still watched at an age: at risk at the first step at or after it."""
    later = curve.loc[curve["age_h"] >= age_h, "at_risk"]
    return float(later.iloc[0]) if len(later) else 0.0


def steps(curve: pd.DataFrame, column: str, start: float, until_h: float) -> tuple[np.ndarray, np.ndarray]:
    """Ages and heights of a step line from birth, where it stands at `start`.

    It runs to the end of the panel, or to the last age at which anyone was watched.
    """
    watched = curve[curve["at_risk"] > 0]
    inside = watched[watched["age_h"] <= until_h]
    reach_h = min(until_h, float(watched["age_h"].max())) if len(watched) else 0.0
    ages = np.concatenate([[0.0], inside["age_h"].to_numpy(float), [reach_h]])
    heights = np.concatenate([[start], inside[column].to_numpy(float)])
    return ages, np.append(heights, heights[-1])


def _as_percent(printer: Printer, share: float, _: int | None = None) -> str:
    return printer.number(100 * share, 0)


def moved_apart(heights: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Heights at least a gap apart, in the same order and near where they were, between low and high.

    >>> moved_apart([1.0, 1.0], 0.5, 0.0, 2.0)
    [0.75, 1.25]
    """

    def centre(run: list[int]) -> float:
        """Where a run of labels belongs: at their mean height, kept inside."""
        half = gap * (len(run) - 1) / 2
        mean = sum(heights[place] for place in run) / len(run)
        return min(max(mean, low + half), high - half) if high - low > 2 * half else (low + high) / 2

    runs: list[list[int]] = []
    for place in sorted(range(len(heights)), key=lambda place: (heights[place], place)):
        runs.append([place])
        while (
            len(runs) > 1 and centre(runs[-1]) - centre(runs[-2]) < gap * (len(runs[-1]) + len(runs[-2])) / 2
        ):
            runs[-2:] = [runs[-2] + runs[-1]]
    return [where for _, where in sorted(_spread(runs, centre, gap))]


def _spread(
    runs: list[list[int]], centre: Callable[[list[int]], float], gap: float
) -> Iterator[tuple[int, float]]:
    for run in runs:
        first = centre(run) - gap * (len(run) - 1) / 2
        yield from ((place, first + gap * step) for step, place in enumerate(run))


def write_labels(
    axes: Axes, labels: Sequence[str], heights: Sequence[float], colours: Sequence[str], size: float = 8.5
) -> None:
    """Write each label to the right of the axes at its height, a thin line leading to one that was moved."""
    low, high = axes.get_ylim()
    inches = axes.get_window_extent().height / axes.figure.dpi
    gap = (high - low) * (1.35 * size / 72) / inches
    places = moved_apart(heights, gap, low, high)
    leading = any(abs(y - height) > gap / 2 for y, height in zip(places, heights, strict=True))
    for label, y, height, colour in zip(labels, places, heights, colours, strict=True):
        axes.annotate(
            label,
            (1.0, height),
            xycoords=("axes fraction", "data"),
            xytext=(1.06 if leading else 1.015, y),
            textcoords=("axes fraction", "data"),
            va="center",
            color=colour,
            fontsize=size,
            annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": QUIET, "lw": 0.6, "shrinkA": 1, "shrinkB": 0}
            if leading
            else None,
        )
