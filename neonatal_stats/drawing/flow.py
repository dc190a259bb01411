"""The flow from dams expected to newborns alive at the end, drawn as a staircase: each step is what is still
there.

A step's bar is as long as its count; what went since the step before stands hatched (lost) or dotted (left
alive, or lost at an unknown age) at the bar's end, so that every newborn can be seen to be somewhere.
"""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import CLEAR, INK, PAPER, QUIET, SERIES, canvas, house
from neonatal_stats.tables import printing

DAMS = "#5d6d7e"
ROOM_FOR_NUMBER = 0.08


def draw_flow(
    dams: pd.DataFrame,
    newborns: pd.DataFrame,
    *,
    headings: tuple[str, str],
    name: str,
    title: str,
    alt: str,
) -> Figure:
    """Draw the flow of dams, if there is one, above the flow of newborns.

    Parameters
    ----------
    dams, newborns : frames with label, n, lost, left, age_unknown and went (words for what went at this
    step). headings : printed over each part.
    """
    parts = [(dams, headings[0], DAMS), (newborns, headings[1], SERIES[0])]
    parts = [part for part in parts if len(part[0])]
    with house():
        rows = [len(frame) + 0.6 for frame, _, _ in parts]
        figure, panels = canvas(0.42 * sum(rows) + 0.5, rows=len(parts), height_ratios=rows)
        for panel, (frame, heading, colour) in zip(panels, parts, strict=True):
            _steps(panel, frame, colour)
            panel.set_title(heading)
    return Figure(name, title, alt, figure)


def _steps(panel: Axes, frame: pd.DataFrame, colour: str) -> None:
    largest = max(float(frame["n"].max()), 1.0)
    for line, row in enumerate(frame.to_dict("records")):
        panel.barh(line, row["n"], height=0.66, color=colour, ec=PAPER)
        _number(panel, line, float(row["n"]), largest, colour)
        end = _gone(panel, line, float(row["n"]), [row["lost"], row["left"], row["age_unknown"]])
        if row["went"]:
            panel.annotate(
                str(row["went"]),
                (end, line),
                xytext=(5 if end > row["n"] or row["n"] >= ROOM_FOR_NUMBER * largest else 30, 0),
                textcoords="offset points",
                va="center",
                fontsize=8.5,
                annotation_clip=False,
            )
    panel.set_yticks(range(len(frame)), [str(label) for label in frame["label"]])
    panel.set_ylim(len(frame) - 0.5, -0.5)
    panel.set_xlim(0, largest)
    panel.set_xticks([])
    panel.tick_params(axis="y", length=0)
    for side in ("bottom", "left"):
        panel.spines[side].set_visible(False)


def _number(panel: Axes, line: int, n: float, largest: float, colour: str) -> None:
    inside = n >= ROOM_FOR_NUMBER * largest
    panel.annotate(
        printing.count(n),
        (0 if inside else n, line),
        xytext=(5, 0),
        textcoords="offset points",
        va="center",
        color=PAPER if inside else colour,
        weight="bold",
    )


def _gone(panel: Axes, line: int, start: float, counts: Sequence[float]) -> float:
    """The parts that went since the step before; returns where they end."""
    looks = ((CLEAR, "////"), (QUIET, "...."), (INK, "xxxx"))
    for count, (edge, hatch) in zip(counts, looks, strict=True):
        if count > 0:
            panel.barh(line, count, left=start, height=0.66, color=PAPER, ec=edge, hatch=hatch, lw=0.8)
            start += count
    return start
