"""The house style in which every kind of picture is drawn, and what is drawn as SVG and PNG."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure as Canvas
from matplotlib.image import imread
from matplotlib.ticker import Formatter, ScalarFormatter

from neonatal_stats.drawing.colours import INK, PAPER, QUIET
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
FAMILY = ("DejaVu Sans", "sans-serif")
LETTERS_PT = 8.5  # one size of letters, never under 11 pixels where the figure fills a phone
PNG_DPI = 240

_NO_SOFTWARE = {"Software": None}
_QUICKLY = {"compress_level": 1}
_NO_METADATA = {"Date": None, "Creator": None, "Format": None, "Type": None}

_RC: dict[Any, Any] = {
    "font.family": FAMILY,
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
    "figure.autolayout": False,
    "figure.constrained_layout.use": False,
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


def lay_out(figure: Canvas) -> None:
    """Give the panels the places that the words around them leave, without drawing anything."""
    if (layout := figure.get_layout_engine()) is not None:
        layout.execute(figure)


class SpokenNumbers(ScalarFormatter):
    """Numbers along an axis, with the signs of a printer; of a voice no more, since another process may draw them."""

    def __init__(self, printer: Printer) -> None:
        super().__init__()
        self._printer = Printer(printer.number_words)

    def __call__(self, x: float, pos: int | None = None) -> str:
        if abs(x) >= 1000:
            return self._printer.count(x)
        return self._printer.signs(str(super().__call__(x, pos)))


class SpokenShares(Formatter):
    """Shares along an axis, as percent."""

    def __init__(self, printer: Printer) -> None:
        self._printer = Printer(printer.number_words)

    def __call__(self, x: float, pos: int | None = None) -> str:
        return self._printer.number(100 * x, 0)


class SpokenRatios(SpokenShares):
    """Ratios along an axis."""

    def __call__(self, x: float, pos: int | None = None) -> str:
        return self._printer.signs(f"{x:g}")


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


def as_svg(figure: Canvas) -> str:
    """The figure as SVG text as the library writes it (`svg.finished` is for who looks at it), laid out once: what is
    drawn of it afterwards keeps its places.
    """
    with house():
        usual = figure.canvas
        FigureCanvasSVG(figure)  # words as wide as they are there
        lay_out(figure)
        figure.set_canvas(usual)
        figure.set_layout_engine(None)
        buffer = io.StringIO()
        figure.savefig(buffer, format="svg", metadata=_NO_METADATA)
    return buffer.getvalue()


def as_png(figure: Canvas) -> bytes:
    """The figure, once it is laid out, as PNG bytes."""
    with house():
        buffer = io.BytesIO()
        figure.savefig(buffer, format="png", dpi=PNG_DPI, metadata=_NO_SOFTWARE, pil_kwargs=_QUICKLY)
    return buffer.getvalue()


def put(png: bytes, axes: Axes) -> Axes:
    """A finished picture on somebody's Axes, which lose their frame."""
    axes.imshow(imread(io.BytesIO(png), format="png"), interpolation="antialiased")
    axes.set_axis_off()
    return axes
