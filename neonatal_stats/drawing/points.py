"""Newborns over a plane: each at its two numbers, with the line it is held against.

Red is what was lost; blue all else. A shape or a filling says the same, for a grey print. Up to `MOST_MARKS` newborns
each has its mark, all of one kind one line of the drawing; of more, the picture shows how many, or where their middle
lies.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from numpy.typing import NDArray

from neonatal_stats.drawing.colours import CLEAR, INK, OCHRE, PAPER, QUIET, RULE, SERIES, STEEL
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.house import BAND_ALPHA, FEW_DASH, canvas, house, lay_out
from neonatal_stats.drawing.lettering import End, key_above, words_above, words_below, write_ends
from neonatal_stats.drawing.svg import said
from neonatal_stats.measures.windows import FEWEST_WATCHED
from neonatal_stats.tables import Printer

MOST_MARKS = 1500
BINS = 40
PARTS = 10  # of more than `MOST_MARKS` newborns, ordered by the level axis, so many parts are shown by their middles
WITHOUT_FEW = (
    0.99  # of so many newborns, the share that a scale must hold where they are not drawn one by one
)
READINGS = 5  # at which a curve is read for who points at it
STRIP_PT = 46.0  # the height of a strip of marks
MARK_PT = 3.2

Numbers = NDArray[np.float64]


def draw_smooth(
    curve: pd.DataFrame,
    values: Numbers,
    lost: NDArray[np.bool_],
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    axis: str,
    share_axis: str,
    marks: tuple[str, str],
) -> Figure:
    """Draw the share lost against a measured quantity, and every newborn it was counted from.

    In the middle the smooth share in percent, a blue line in its interval, dotted beyond the tenth newborn from either
    end; above it the newborns lost, a red triangle each, below it the others, a blue dot each, those of the same value
    stacked. Of more than `MOST_MARKS` the strips are histograms.

    Parameters
    ----------
    curve : frame with value, share, low, high; values rising, shares from 0 to 1.
    values, lost : the measured quantity of each newborn, and whether it was lost; equally long.
    axis, share_axis : words under and above the axes, with units.
    marks : words for the strip of the lost and the strip of the others.
    """
    with house():
        figure, panels = canvas(printer, 4.1, rows=3, sharex=True, height_ratios=(0.6, 2.2, 1))
        strips = (
            (panels[0], values[lost], CLEAR, "v", marks[0]),
            (panels[2], values[~lost], SERIES[0], "o", marks[1]),
        )
        for strip, those, colour, marker, words in strips:
            words_above(strip, f"{words}: {printer.count(len(those))}")
            if len(values) > MOST_MARKS:
                _histogram(strip, printer, those, _edges(values), colour)
            else:
                _newborns(strip, those, colour, marker)
        _smooth(panels[1], printer, curve, values)
        words_above(panels[1], share_axis)
        words_below(panels[2], axis)
        for strip in panels[:2]:
            strip.tick_params(axis="x", length=0, labelbottom=False)
    return Figure(name, title, alt, figure)


def _smooth(axes: Axes, printer: Printer, curve: pd.DataFrame, values: Numbers) -> None:
    """The smooth share in percent in its interval, counted up from none."""
    share, low, high = (100 * curve[column].to_numpy(float) for column in ("share", "low", "high"))
    x = curve["value"].to_numpy(float)
    solid = _smoothly(axes, printer, x, (share, low, high), values)
    highest = max(float(share.max()), float((high[solid] if solid.any() else high).max()))
    axes.set_ylim(0, min(100.0, 1.05 * highest))
    axes.grid(axis="y", color=RULE, lw=0.6)
    axes.set_axisbelow(True)


def _smoothly(
    axes: Axes, printer: Printer, x: Numbers, line: tuple[Numbers, Numbers, Numbers], values: Numbers
) -> NDArray[np.bool_]:
    """A line in its interval, dotted where fewer than ten of the values lie further out; returns where it is solid."""
    middle, low, high = line
    solid = np.zeros(len(x), dtype=bool)
    if len(values) >= 2 * FEWEST_WATCHED:
        ordered = np.sort(values)
        solid = (x >= ordered[FEWEST_WATCHED - 1]) & (x <= ordered[-FEWEST_WATCHED])
    axes.fill_between(x, low, high, color=SERIES[0], alpha=BAND_ALPHA, lw=0)
    first, last = (int(np.flatnonzero(solid)[end]) for end in (0, -1)) if solid.any() else (0, 0)
    for part in (slice(0, first + 1), slice(last, None)):
        axes.plot(x[part], middle[part], color=SERIES[0], lw=1.5, ls=FEW_DASH)
    axes.plot(x[solid], middle[solid], color=SERIES[0], lw=2)
    for drawn in axes.lines[-3:]:
        said(drawn, _read(printer, x, line))
    return solid


def _read(printer: Printer, x: Numbers, line: tuple[Numbers, Numbers, Numbers]) -> str:
    """A curve read at five places, for who points at it: where, how high, between what."""
    places = np.unique(np.linspace(0, len(x) - 1, READINGS).round().astype(int))
    number = printer.number
    return "; ".join(
        f"{number(x[at])}: {number(middle)} ({printer.span(number(low), number(high))})"
        for at, middle, low, high in ((at, *(part[at] for part in line)) for at in places)
    )


def _newborns(axes: Axes, values: Numbers, colour: str, marker: str) -> None:
    """One mark a newborn, those of the same value stacked, no larger than leaves them apart."""
    order = np.argsort(values, kind="stable")
    height, last, level = np.zeros(len(values)), None, 0
    for place in order:
        level = level + 1 if values[place] == last else 0
        height[place], last = level, values[place]
    top = max(6.0, float(height.max(initial=0)) + 1)
    if marker == "o":
        dots(axes, values, height, colour, min(MARK_PT, 0.95 * STRIP_PT / (top + 1)))
    else:
        axes.plot(values, height, marker, color=colour, mec=PAPER, mew=0.3, ms=MARK_PT)
    axes.set_ylim(-1, top)
    _bare(axes)


def _edges(values: Numbers) -> Numbers:
    """The edges of about `BINS` steps, each as wide as a whole number of the smallest steps that were written down."""
    different = np.unique(values)
    finest = float(np.diff(different).min()) if len(different) > 1 else 1.0
    width = finest * max(1.0, float(np.ceil(np.ptp(values) / BINS / finest - 1e-6)))
    low = float(values.min()) - finest / 2
    steps = int(np.floor((float(values.max()) - low) / width)) + 1
    return np.asarray(low + width * np.arange(steps + 1), dtype=np.float64)


def _histogram(axes: Axes, printer: Printer, values: Numbers, edges: Numbers, colour: str) -> None:
    """How many newborns have about the same value; the largest number at the left."""
    counts, _ = np.histogram(values, bins=edges)
    axes.stairs(counts, edges, fill=True, color=colour)
    axes.set_ylim(0, max(1.0, 1.05 * float(counts.max())))
    _bare(axes)
    axes.set_yticks([float(counts.max())], [printer.count(float(counts.max()))])


def _bare(axes: Axes) -> None:
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.tick_params(axis="x", color=QUIET)


def dots(axes: Axes, x: Numbers, y: Numbers, colour: str, size: float, words: str = "", **style: Any) -> None:
    """Round marks so many points wide, all in one line of the drawing: a stroke of no length with round ends each.

    ``words`` are what a reader sees who points at any of them.
    """
    place = np.column_stack([x, y])
    hair = np.array([1e-5 * max(float(np.ptp(x)), 1e-3) if len(x) else 0.0, 0.0])
    vertices = np.stack([place, place + hair], axis=1).reshape(-1, 2)
    path = Path(vertices, np.tile([Path.MOVETO, Path.LINETO], len(place)))
    path.should_simplify = False
    look: dict[str, Any] = {"fill": False, "ec": colour, "lw": size, "capstyle": "round", "snap": False}
    if len(place):
        patch = axes.add_patch(PathPatch(path, **look, **style))
        if words:
            said(patch, words)


def draw_dose(
    weight_kg: Numbers,
    volume_ml: Numbers,
    target_ml_per_kg: float,
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    weight_axis: str,
    volume_axis: str,
    line: str,
    reached: tuple[str, str],
    middles: str,
) -> Figure:
    """Draw the colostrum each newborn was given against its birth weight: who had enough for its size.

    One dot a newborn, filled blue where the volume reaches the target for its weight, open ochre where it does not;
    the dashed line is the target. Of more than `MOST_MARKS`, ordered by weight, each tenth stands at its medians, its
    line reaching over the middle half of its volumes.

    Parameters
    ----------
    weight_kg, volume_ml : one a newborn; equally long.
    target_ml_per_kg : slope of the target line.
    weight_axis, volume_axis : words under and above the axes, with units.
    line : words for the target line.
    reached : words for those that reach it and those that do not.
    middles : words for the dots of tenths.
    """
    enough = volume_ml >= target_ml_per_kg * weight_kg - 1e-9
    with house():
        figure, (axes,) = canvas(printer, 3.5)
        top = np.array([0.0, float(weight_kg.max()) * 1.05])
        (target,) = axes.plot(top, target_ml_per_kg * top, color=INK, lw=1.0, ls="--", zorder=1, label=line)
        lightest, highest = float(weight_kg.min()) * 0.9, float(volume_ml.max())
        if len(weight_kg) > MOST_MARKS:
            handles = [target, _middles(axes, weight_kg, volume_ml, middles)]
            highest = float(np.quantile(volume_ml, WITHOUT_FEW))
        else:
            handles = [target, *_reached(axes, printer, weight_kg, volume_ml, enough, reached)]
        axes.set_xlim(max(0.0, lightest), top[1])
        axes.set_ylim(0, max(highest, target_ml_per_kg * top[1]) * 1.06)
        axes.grid(axis="y", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        words_below(axes, weight_axis)
        words_above(axes, volume_axis)
        key_above(figure, handles)
    return Figure(name, title, alt, figure)


def _reached(
    axes: Axes,
    printer: Printer,
    weight_kg: Numbers,
    volume_ml: Numbers,
    enough: NDArray[np.bool_],
    reached: tuple[str, str],
) -> list[Any]:
    """Filled dots for enough, rings for too little; what the legend shows of them."""
    told = [
        f"{words}: {printer.count(n)}"
        for words, n in zip(reached, (enough.sum(), (~enough).sum()), strict=True)
    ]
    dots(axes, weight_kg[~enough], volume_ml[~enough], OCHRE, 5.2, told[1], zorder=2)
    dots(axes, weight_kg[~enough], volume_ml[~enough], PAPER, 3.0, told[1], zorder=2.1)
    dots(axes, weight_kg[enough], volume_ml[enough], SERIES[0], 4.4, told[0], zorder=2.2)
    looks = ((SERIES[0], SERIES[0]), (OCHRE, PAPER))
    return [
        axes.plot([], [], "o", color=colour, mfc=face, ms=4.6, mew=1.1, label=words)[0]
        for (colour, face), words in zip(looks, reached, strict=True)
    ]


def _middles(axes: Axes, x: Numbers, y: Numbers, words: str) -> Any:
    """Each tenth of the newborns, in order of `x`, at its medians, with the middle half of its `y`."""
    for part in np.array_split(np.argsort(x, kind="stable"), PARTS):
        low, middle, high = np.quantile(y[part], [0.25, 0.5, 0.75])
        place = float(np.median(x[part]))
        axes.plot([place, place], [low, high], color=STEEL, lw=1.6)
        (mark,) = axes.plot(place, middle, "o", color=STEEL, ms=5)
    mark.set_label(words)
    return mark


def draw_response(
    curve: pd.DataFrame,
    points: pd.DataFrame,
    cuts: Sequence[tuple[float, str]],
    *,
    printer: Printer,
    name: str,
    title: str,
    alt: str,
    fed_axis: str,
    value_axis: str,
    middles: str,
) -> Figure:
    """Draw a serum result against the age at the first feed: how it falls with waiting.

    One grey dot a newborn, of more than `MOST_MARKS` one each tenth as in `draw_dose`; the blue line is the smooth mean
    in its interval, dotted beyond the tenth newborn from either end; dotted lines across are the cut points between
    classes, named at the right.

    Parameters
    ----------
    curve : frame with fed_h (hours, rising), value, low, high.
    points : frame with fed_h and value, one row a newborn.
    cuts : the cut points, in the unit of the value, and their words.
    fed_axis, value_axis : words under and above the axes, with units.
    middles : words for the dots of tenths.
    """
    fed, value = points["fed_h"].to_numpy(float), points["value"].to_numpy(float)
    right, highest = float(fed.max()), float(value.max())
    with house():
        figure, (axes,) = canvas(printer, 3.0)
        if len(points) > MOST_MARKS:
            key_above(figure, [_middles(axes, fed, value, middles)])
            right, highest = (float(np.quantile(values, WITHOUT_FEW)) for values in (fed, value))
        else:
            dots(axes, fed, value, STEEL, 4.0, zorder=1.5)
        mean, low, high = (curve[column].to_numpy(float) for column in ("value", "low", "high"))
        _smoothly(axes, printer, curve["fed_h"].to_numpy(float), (mean, low, high), fed)
        axes.set_xlim(0, right * 1.03)
        axes.set_ylim(0, max([highest, *(cut for cut, _ in cuts)]) * 1.06)
        words_below(axes, fed_axis)
        words_above(axes, value_axis)
        for cut, _ in cuts:
            axes.axhline(cut, color=QUIET, lw=0.7, ls=":")
        lay_out(figure)
        write_ends(axes, [End(words, axes.get_xlim()[1], cut, QUIET) for cut, words in cuts])
    return Figure(name, title, alt, figure)
