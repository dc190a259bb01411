"""The finished figure, and the house style in which every kind of picture is drawn."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.ticker import ScalarFormatter
from numpy.typing import NDArray

from neonatal_stats.drawing.colours import INK, PAPER, QUIET, RULE, by_variable
from neonatal_stats.drawing.svg import finished
from neonatal_stats.tables import Printer

DASHES = (
    "-",
    (0, (5, 1.5)),
    (0, (5, 1.2, 1.2, 1.2)),
    (0, (2.4, 1.2)),
    (0, (8, 1.5)),
    (0, (6, 1, 1.2, 1, 1.2, 1)),
)
FEW_DASH = (0, (1, 1.6))  # of lines that rest on few; no group has it

BAND_ALPHA = 0.16  # of the band between the ends of an interval

WIDTH_IN = 3.5  # the width of a phone: one drawing serves phone, desk and print
LETTERS_PT = 8.5  # one size of letters, never under 11 pixels where the figure fills a phone
PNG_DPI = 240

_NO_SOFTWARE = {"Software": None}
_QUICKLY = {"compress_level": 1}
_NO_METADATA = {"Date": None, "Creator": None, "Format": None, "Type": None}

_RC: dict[Any, Any] = {
    "font.family": ["DejaVu Sans", "sans-serif"],
    "font.size": LETTERS_PT,
    "xtick.labelsize": LETTERS_PT,
    "ytick.labelsize": LETTERS_PT,
    "axes.labelsize": LETTERS_PT,
    "legend.fontsize": LETTERS_PT,
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.titlesize": LETTERS_PT,
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
    "svg.fonttype": "none",
    "svg.hashsalt": "neonatal_stats",
    "hatch.linewidth": 0.5,
}


@contextmanager
def house() -> Iterator[None]:
    """Draw inside this, so that nothing of the style leaks into the caller's session."""
    with mpl.rc_context(_RC):
        yield


def canvas(
    printer: Printer, height_in: float, *, columns: int = 1, rows: int = 1, **grid: Any
) -> tuple[Canvas, list[Axes]]:
    """A figure of the house width and its axes, left to right; no pyplot, no global state."""
    figure = Canvas(figsize=(WIDTH_IN, height_in), layout="constrained", facecolor=PAPER)
    panels = list(figure.subplots(rows, columns, squeeze=False, **grid).ravel())
    for panel in panels:
        panel.xaxis.set_major_formatter(SpokenNumbers(printer))
        panel.yaxis.set_major_formatter(SpokenNumbers(printer))
    return figure, panels


class SpokenNumbers(ScalarFormatter):
    """Numbers along an axis, with the decimal sign of a printer."""

    def __init__(self, printer: Printer) -> None:
        super().__init__()
        self._decimal = printer.number_words.decimal

    def __call__(self, x: float, pos: int | None = None) -> str:
        return str(super().__call__(x, pos)).replace(".", self._decimal)


def one_line_each(
    axes: Axes,
    labels: Iterable[Any],
    axis: str,
    *,
    lines: Sequence[float] | NDArray[np.float64] | None = None,
    room: tuple[float, float] = (0.5, 0.5),
    grid: bool = True,
    **style: Any,
) -> None:
    """Lines read down the page, the first on top, each with its label at the left.

    Parameters
    ----------
    axis : words under the axis, with the unit.
    lines : where the lines stand, falling down the page; 0, 1, 2, ... if None.
    room : space above the first and below the last line.
    grid : whether thin upright rules lead the eye to the axis.
    style : of the labels.
    """
    names = [str(label) for label in labels]
    places = list(range(len(names))) if lines is None else list(lines)
    axes.set_yticks(places, names, **style)
    axes.set_ylim(max(places, default=-1) + room[1], -room[0])
    axes.tick_params(axis="y", length=0)
    axes.set_xlabel(axis)
    if grid:
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)


def beside(
    axes: Axes, line: float, words: str, *, gap: float = 0.01, colour: str = QUIET, **style: Any
) -> None:
    """Words at the right of the panel, on a line; the gap is a share of the panel's width."""
    axes.annotate(
        words, (1 + gap, line), xycoords=("axes fraction", "data"), va="center", color=colour, **style
    )


def legend_above(figure: Canvas, *, columns: int, **more: Any) -> None:
    """The legend over the panels, in one row."""
    figure.legend(loc="outside upper left", ncols=columns, frameon=False, fontsize=8.5, **more)


@dataclass(frozen=True, eq=False)
class Figure:
    """One figure of a chapter; ``alt`` says in words what it shows, with its main numbers."""

    name: str
    title: str
    alt: str
    canvas: Canvas

    def svg(self) -> str:
        """The figure as SVG text: the same bytes on every run, ids prefixed so that many fit in one page."""
        return self._svg

    def inline(self) -> str:
        """The figure as SVG text for a page that names the house's colours as variables of its style."""
        return by_variable(self._svg)

    @cached_property
    def _svg(self) -> str:
        with house():
            buffer = io.StringIO()
            self.canvas.savefig(buffer, format="svg", metadata=_NO_METADATA)
        self.canvas.set_layout_engine("none")  # laid out once: the PNG keeps the places of the SVG
        return finished(buffer.getvalue(), self.name)

    def png(self) -> bytes:
        """The figure as PNG bytes, laid out as in the SVG."""
        return self._png

    @cached_property
    def _png(self) -> bytes:
        self.svg()
        with house():
            buffer = io.BytesIO()
            self.canvas.savefig(buffer, format="png", dpi=PNG_DPI, metadata=_NO_SOFTWARE, pil_kwargs=_QUICKLY)
        return buffer.getvalue()

    def keep(self, svg: str, png: bytes) -> None:
        """Keep what another process drew of this figure."""
        self.__dict__.update(_svg=svg, _png=png)

    def _repr_svg_(self) -> str:
        return self.svg()
