"""The house style: few colours, told apart also by line and marker, so that a grey print still reads."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.ticker import ScalarFormatter

from neonatal_stats.tables.number_words import spoken

INK = "#22303a"
QUIET = "#6d7a83"
RULE = "#d5dade"
PAPER = "#ffffff"
CLEAR = "#9b2d20"  # what stands out
SERIES = ("#1b4f72", "#b9770e", "#117864", "#7b4b94", "#9b2d20", "#5d6d7e")
DASHES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (1, 1)))
HATCHES = ("", "////", "..", "xxxx", "\\\\\\\\", "++++", "o", "--", "||", "x")

WIDTH_IN = 7.2

_RC: dict[Any, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 9.5,
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.titlesize": 10.5,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "text.color": INK,
    "xtick.color": QUIET,
    "ytick.color": QUIET,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "axes.grid": False,
    "svg.fonttype": "path",
    "svg.hashsalt": "neonatal_stats",
    "hatch.linewidth": 0.5,
}


@contextmanager
def house() -> Iterator[None]:
    """Draw inside this, so that nothing of the style leaks into the caller's session."""
    with mpl.rc_context(_RC):
        yield


def canvas(height_in: float = 3.4, columns: int = 1, rows: int = 1, **grid: Any) -> tuple[Canvas, list[Axes]]:
    """A figure of the house width and its axes, left to right; no pyplot, no global state."""
    figure = Canvas(figsize=(WIDTH_IN, height_in), layout="constrained", facecolor=PAPER)
    panels = list(figure.subplots(rows, columns, squeeze=False, **grid).ravel())
    for panel in panels:
        panel.xaxis.set_major_formatter(SpokenNumbers())
        panel.yaxis.set_major_formatter(SpokenNumbers())
    return figure, panels


class SpokenNumbers(ScalarFormatter):
    """Numbers along an axis, with the decimal sign of the language in which the figure was made."""

    def __init__(self) -> None:
        super().__init__()
        self._decimal = spoken().decimal

    def __call__(self, x: float, pos: int | None = None) -> str:
        return str(super().__call__(x, pos)).replace(".", self._decimal)
