"""Milestones as stacked bars: met, not met, died before it was due, not observed, told apart in grey
print.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import CLEAR, INK, PAPER, QUIET, RULE, SERIES, canvas, house
from neonatal_stats.tables import printing

_LOOKS = ((SERIES[0], "", PAPER), (SERIES[1], "", PAPER), (CLEAR, "xxxx", PAPER), (RULE, "", INK))
_BAR: dict[str, Any] = {"height": 0.62, "ec": PAPER, "lw": 0.8, "zorder": 2}
_ROOM = 0.045  # share of the bar under which a count no longer fits inside it


def draw_milestones(
    states: pd.DataFrame, parts: Sequence[tuple[str, str]], *, name: str, title: str, alt: str, axis: str
) -> Figure:
    """One bar a milestone, all newborns born alive in each.

    Parameters
    ----------
    states : frame with ``label`` and one column of counts per part.
    parts : the columns and their printed names, in order.
    axis : the words under the axis, with the unit.
    """
    with house():
        figure, (axes,) = canvas(height_in=1.25 + 0.42 * len(states))
        left = pd.Series(0.0, index=states.index)
        for place, ((column, label), look) in enumerate(zip(parts, _LOOKS, strict=True)):
            axes.barh(
                range(len(states)),
                states[column],
                left=left,
                color=look[0],
                hatch=look[1],
                label=label,
                **_BAR,
            )
            _counts(axes, states[column], left, look, below=place % 2 == 1)
            left = left + states[column]
        axes.set_yticks(range(len(states)), [str(label) for label in states["label"]])
        axes.set_ylim(len(states) - 0.5, -0.5)
        axes.set_xlim(0, max(float(left.max()), 1.0))
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(axis)
        figure.legend(
            loc="outside upper left", ncols=len(parts), frameon=False, fontsize=8.5, handlelength=1.2
        )
    return Figure(name, title, alt, figure)


def _counts(
    axes: Axes, counts: pd.Series, left: pd.Series, look: tuple[str, str, str], *, below: bool
) -> None:
    """Counts inside their part; where they do not fit, above it or below it in turn, so that neighbours stay
    apart.
    """
    colour, hatch, ink = look
    whole = float((left + counts).max()) or 1.0
    box = {"boxstyle": "round,pad=0.15", "fc": colour, "ec": "none"} if hatch else None
    for line, (count, start) in enumerate(zip(counts, left, strict=True)):
        inside = count / whole >= _ROOM
        height = line if inside else line + (0.43 if below else -0.43)
        if count:
            axes.annotate(
                printing.count(count),
                (start + count / 2, height),
                ha="center",
                va="center",
                color=ink if inside else QUIET,
                fontsize=8.5 if inside else 7.5,
                zorder=3,
                bbox=box if inside else None,
            )
