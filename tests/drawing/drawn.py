"""What a figure shows, read off its artists: marks, lines, bars, bands and words, with their places and colours.

Colours are read as the words a reader of the page would use, so that a test says "red" and not a number.
"""

from __future__ import annotations

import colorsys
from typing import Any, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.colors import to_rgb
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path
from matplotlib.text import Annotation

from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.house import FEW_DASH

HUES = ((20, "red"), (60, "ochre"), (180, "green"), (230, "blue"), (300, "purple"), (361, "red"))


class Mark(NamedTuple):
    """A dot, square, diamond or triangle."""

    x: float
    y: float
    colour: str
    filled: bool
    shape: str


class Line(NamedTuple):
    """A line through points, in the order in which it was drawn."""

    x: list[float]
    y: list[float]
    colour: str
    dashed: bool
    wide: float


class Bar(NamedTuple):
    """A bar: where it starts and ends along each axis."""

    left: float
    right: float
    low: float
    high: float
    colour: str
    hatch: str

    @property
    def middle(self) -> float:
        """The line of a bar that lies."""
        return (self.low + self.high) / 2


def colour(of: Any) -> str:
    """The colour in one word."""
    hue, light, strong = colorsys.rgb_to_hls(*to_rgb(of))
    if light > 0.97:
        return "white"
    if light < 0.2:
        return "ink"
    if strong < 0.2:
        return "grey"
    if light > 0.75:
        return "pale"
    return next(word for end, word in HUES if 360 * hue < end)


def marks(axes: Axes) -> list[Mark]:
    """Every mark that stands somewhere, in the order drawn; what only the legend shows is left out."""
    found = []
    for line in axes.lines:
        shape = line.get_marker()
        if shape in ("None", None, "", "_"):
            continue
        edge = line.get_markeredgecolor()
        face = line.get_markerfacecolor()
        filled = colour(face) != "white"
        for x, y in _points(line):
            found.append(Mark(x, y, colour(face if filled else edge), filled, str(shape)))
    return found


def dots(axes: Axes) -> list[tuple[list[tuple[float, float]], str]]:
    """Round marks that are one line of the drawing together: where they stand, and their colour; in the order drawn."""
    found = []
    for patch in axes.patches:
        if type(patch) is PathPatch:
            assert patch.get_capstyle() == "round"
            assert not patch.get_fill()
            where = [(float(x), float(y)) for x, y in np.asarray(patch.get_path().vertices)[::2]]
            found.append((where, colour(patch.get_edgecolor())))
    return found


def above(axes: Axes) -> str:
    """The words above a panel, which say what its upright axis measures."""
    return axes.get_title(loc="left")


def lines(axes: Axes) -> list[Line]:
    """Every line with a length, in the order drawn; those across the whole panel, or beside every row, are left out
    (see `across` and `beside_rows`).
    """
    return [
        Line(*map(list, zip(*_points(line), strict=True)), *_stroke(line))
        for line in axes.lines
        if line.get_linestyle() != "None"
        and len(_points(line)) > 1
        and line.get_transform() == axes.transData
        and not _broken(line)
    ]


def beside_rows(axes: Axes) -> list[tuple[str, bool, dict[float, list[tuple[float, float]]]]]:
    """Upright lines drawn beside the rows alone: colour, whether dashed, and the heights they span at each place."""
    found = []
    for line in filter(_broken, axes.lines):
        points = _points(line)
        spans: dict[float, list[tuple[float, float]]] = {}
        for (x, top), (_, foot) in zip(points[::2], points[1::2], strict=True):
            spans.setdefault(x, []).append((top, foot))
        shade, dashed, _ = _stroke(line)
        found.append((shade, dashed, spans))
    return found


def _broken(line: Line2D) -> bool:
    return bool(
        np.isnan(np.asarray(line.get_xdata(), float)).any()
        or np.isnan(np.asarray(line.get_ydata(), float)).any()
    )


def across(axes: Axes) -> tuple[list[float], list[float]]:
    """Where lines run across the whole panel: the ages or shares of those upright, the heights of those level."""
    straight = [line for line in axes.lines if line.get_transform() != axes.transData]
    upright = [line for line in straight if line.get_transform() == axes.get_xaxis_transform(which="grid")]
    level = [line for line in straight if line not in upright]
    return [_points(line)[0][0] for line in upright], [_points(line)[0][1] for line in level]


def bars(axes: Axes) -> list[Bar]:
    """Every bar, in the order drawn."""
    return [
        Bar(
            *_ends(patch.get_x(), patch.get_width()),
            *_ends(patch.get_y(), patch.get_height()),
            colour(patch.get_facecolor()),
            patch.get_hatch() or "",
        )
        for patch in axes.patches
        if isinstance(patch, Rectangle)
    ]


def bands(axes: Axes) -> list[PolyCollection]:
    """The filled areas, in the order drawn."""
    return [area for area in axes.collections if isinstance(area, PolyCollection)]


def reach(band: PolyCollection, x: float) -> tuple[float, float]:
    """From which height to which a filled area reaches at a place between its corners."""
    (path,) = band.get_paths()
    corners = np.asarray(path.vertices)
    starts, ends = corners[:-1], corners[1:]
    crossing = (starts[:, 0] - x) * (ends[:, 0] - x) < 0
    part = (x - starts[crossing, 0]) / (ends[crossing, 0] - starts[crossing, 0])
    heights = starts[crossing, 1] + part * (ends[crossing, 1] - starts[crossing, 1])
    return float(heights.min()), float(heights.max())


def height_at(line: Line2D, x: float) -> float:
    """The height of a line at a place; a step line keeps its height until the next step."""
    xs, ys = np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)
    if line.get_drawstyle() == "steps-post":
        return float(ys[np.flatnonzero(xs <= x)[-1]])
    return float(np.interp(x, xs, ys))


def step_lines(axes: Axes) -> list[Line2D]:
    """The step lines, in the order drawn; where one is dotted from an age on, both its parts."""
    return [line for line in axes.lines if line.get_drawstyle() == "steps-post"]


def solid(of: Line2D) -> bool:
    """Whether a line is drawn solid or dashed, and not in the dots of one that rests on few."""
    return of.get_linestyle() != ":" and _dashes(of) != FEW_DASH


def _dashes(of: Line2D) -> Any:
    return of._unscaled_dash_pattern and (
        of._unscaled_dash_pattern[0],
        tuple(of._unscaled_dash_pattern[1] or ()),
    )  # type: ignore[attr-defined]


def texts(axes: Axes) -> dict[str, tuple[float, float]]:
    """The words written into or beside a panel, with the place they belong to."""
    return {text.get_text(): tuple(getattr(text, "xy", text.get_position())) for text in axes.texts}


def words_at(axes: Axes) -> list[tuple[str, float, float]]:
    """The same as a list, where the same words may stand twice."""
    return [(text.get_text(), *getattr(text, "xy", text.get_position())) for text in axes.texts]


class Words(NamedTuple):
    """Words of a row: the line that they belong to, how far they are indented, and whether they are bold."""

    words: str
    line: float
    indent: float
    bold: bool


def row_words(axes: Axes, side: int = 0) -> list[Words]:
    """The words at the left (or with 1 at the right) of rows, in the order written; lines of a label are joined."""
    return [
        Words(text.get_text().replace("\n", " "), text.xy[1], text.xyann[0], text.get_weight() == "bold")
        for text in axes.texts
        if isinstance(text, Annotation) and text.xycoords == ("axes fraction", "data") and text.xy[0] == side
    ]


def top_down(axes: Axes) -> list[str]:
    """The labels of the rows, as they are read down the page; each must stand at a line of its own."""
    labels = [(axes.transData.transform((0, at.line))[1], at.words) for at in row_words(axes) if not at.bold]
    assert len({place for place, _ in labels}) == len(labels)
    return [words for _, words in sorted(labels, reverse=True)]


def line_of(axes: Axes, words: str) -> float:
    """The line at which a label stands."""
    (line,) = [at.line for at in row_words(axes) if at.words == words and not at.bold]
    return line


def counted_marks(axes: Axes) -> list[tuple[int, str, bool, tuple[float, float, float, float]]]:
    """Marks that are counted, a row of them after the other: how many, colour, whether filled, and left, right, top and
    foot.
    """
    found = []
    for patch in axes.patches:
        if isinstance(patch, PathPatch):
            path = patch.get_path()
            inside, edge = colour(patch.get_facecolor()), colour(patch.get_edgecolor())
            (left, top), (right, foot) = path.vertices.min(axis=0), path.vertices.max(axis=0)
            n = int((np.asarray(path.codes) == Path.MOVETO).sum())
            found.append(
                (n, edge if inside == "white" else inside, inside != "white", (left, right, top, foot))
            )
    return found


def legend(figure: Figure) -> list[tuple[str, str, bool, str]]:
    """What the legend says: words, colour, whether the mark is filled, and its shape or hatching."""
    (box,) = figure.canvas.legends
    said = []
    for handle, words in zip(box.legend_handles, box.get_texts(), strict=True):
        if isinstance(handle, Line2D):
            shape = str(handle.get_marker())
            face = handle.get_markerfacecolor()
            shape = "line" if shape == "None" else shape
            filled = shape != "line" and colour(face) != "white"
            shade = handle.get_color()
        else:
            shape, shade, filled = handle.get_hatch() or "", handle.get_facecolor(), True  # type: ignore[union-attr]
        said.append((words.get_text(), colour(shade), filled, shape))
    return said


def _points(line: Line2D) -> list[tuple[float, float]]:
    points = zip(np.ravel(line.get_xdata()), np.ravel(line.get_ydata()), strict=True)
    return [(float(x), float(y)) for x, y in points if np.isfinite(x) and np.isfinite(y)]


def _stroke(line: Line2D) -> tuple[str, bool, float]:
    return colour(line.get_color()), line.get_linestyle() != "-", line.get_linewidth()


def _ends(start: float, length: float) -> tuple[float, float]:
    return min(start, start + length), max(start, start + length)
