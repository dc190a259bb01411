"""Curves over age: how many had been lost, in all, in each group or to each cause, counted up from none at birth.

Every line starts at birth and runs to the end of the panel, or to the last age at which anyone was watched; it is
dotted from where too few are watched. Each group has its own colour and dashes, its name at the end of its line and the
number still watched below each age. A group too small to draw is written below, and sets no scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.patches import Patch

from neonatal_stats.drawing.ages import (
    FINEST,
    Row,
    make_room,
    numbers_below,
    solid_until,
    split_canvas,
    steps,
    thinned,
)
from neonatal_stats.drawing.colours import INK, PAPER, PAST, QUIET, SERIES, cause_looks
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.house import BAND_ALPHA, DASHES, FEW_DASH, house
from neonatal_stats.drawing.lettering import End, write_ends
from neonatal_stats.drawing.svg import said
from neonatal_stats.measures.windows import well_watched
from neonatal_stats.tables import Printer

WHISKER_FROM = 0.1  # share of a panel's width before which whiskers would hide the lines
FEW_ALPHA = 0.45  # of layers that rest on few
ASIDE = 0.011  # half the distance between the whiskers of two groups, as a share of a panel's width


class Look(NamedTuple):
    """How a group is drawn: its line's colour, that of its letters, dashes, width, and whether it has a band."""

    colour: str
    letters: str
    dashes: Any
    width: float
    band: bool


def draw_loss(
    curves: Sequence[tuple[str, pd.DataFrame]],
    *,
    printer: Printer,
    follow_up_h: float,
    marks_h: Sequence[float],
    name: str,
    title: str,
    alt: str,
    axis: str,
    age_axes: tuple[str, str],
    at_risk: str,
    reviewed: str = "",
    too_few: Sequence[tuple[str, str]] = (),
) -> Figure:
    """Draw the share of each group lost by each age: the first three days, then all.

    A step line a group; its interval is a band where there is one group, else whiskers just before the ages marked
    and where the line stops being solid, side by side. Where one group is ``reviewed`` it is thick, in ink and in its
    band; the others are grey, with a whisker at the end only.

    Parameters
    ----------
    curves : printed name and ``curve`` frame (age_h, at_risk, share, low, high) of each group; shares from 0 to 1,
        rising.
    follow_up_h : age at which the panels end.
    marks_h : ages drawn as thin vertical lines (the ends of the windows).
    axis, age_axes : words above the panels, and under the one in hours and the one in days.
    at_risk : heading of the numbers below.
    reviewed : the name of the group that the others are held against, or nothing.
    too_few : name and words of each group too small to draw.
    """
    looks = [_look(place, label, len(curves), reviewed) for place, (label, _) in enumerate(curves)]
    with house():
        figure, panels = split_canvas(
            printer, follow_up_h, 2.75 + 0.17 * (len(curves) + len(too_few)), (axis, *age_axes), marks_h
        )
        panels[0].set_ylim(0, _top([curve for _, curve in curves]))
        for panel in panels:
            for place, ((label, curve), look) in enumerate(zip(curves, looks, strict=True)):
                told = _told(printer, label, curve, [*marks_h, follow_up_h])
                ages, parts = _outline(curve, panel.get_xlim()[1])
                _line(panel, ages, parts, solid_until(curve), look, told)
                at_h = _whiskers_at(panel, ages, solid_until(curve), () if reviewed else marks_h)
                if not look.band:
                    _whiskers(panel, printer, label, ages, parts, at_h, (place, len(curves)), look)
        drawn = zip(curves, looks, strict=True)
        rows = [Row(label, look.letters, curve) for (label, curve), look in drawn]
        rows += [Row(label, QUIET, None, words) for label, words in too_few]
        make_room(figure, panels, [row.name for row in rows], len(rows))
        numbers_below(printer, panels, rows, at_risk)
        write_ends(panels[-1], [_end(panels[-1], row, row.name == reviewed) for row in rows[: len(curves)]])
    return Figure(name, title, alt, figure)


def _look(place: int, label: str, of: int, reviewed: str) -> Look:
    if label == reviewed:
        return Look(INK, INK, "-", 2.4, True)
    if reviewed:
        return Look(PAST, QUIET, DASHES[place % len(DASHES)], 1.4, False)
    colour = SERIES[place % len(SERIES)]
    return Look(colour, colour, DASHES[place % len(DASHES)], 1.7, of == 1)


def _top(curves: Sequence[pd.DataFrame]) -> float:
    """A round twentieth above every line, and above the intervals where lines are solid."""
    highest = 0.0
    for curve in map(well_watched, curves):
        solid = curve[curve["age_h"] <= solid_until(curve)]
        ends = [curve["share"].max(), solid["high"].max() if len(solid) else curve["high"].max()]
        highest = max([highest, *(float(end) for end in ends if np.isfinite(end))])
    return min(1.0, float(np.ceil(20 * highest + 0.2)) / 20)


def _outline(curve: pd.DataFrame, until_h: float) -> tuple[np.ndarray, list[np.ndarray]]:
    """Ages, and the share with both ends of its interval, of a step line to the end of a panel."""
    read = well_watched(curve)
    found = [steps(read, column, 0.0, until_h) for column in ("share", "low", "high")]
    return thinned(found[0][0], [heights for _, heights in found], until_h * FINEST)


def _line(
    panel: Axes, ages: np.ndarray, parts: Sequence[np.ndarray], solid_h: float, look: Look, told: str
) -> None:
    """A step line, dotted from where too few are watched, with its band where it has one."""
    share, low, high = parts
    order = 3 if look.width > 2 else 2
    dashes = ((look.dashes, look.width), (FEW_DASH, 0.75 * look.width))
    for part, (dash, width) in zip(_solid_and_rest(ages, solid_h), dashes, strict=True):
        if part.sum() > 1:
            (line,) = panel.step(
                ages[part], share[part], where="post", color=look.colour, lw=width, ls=dash, zorder=order
            )
            said(line, told)
    if look.band:
        panel.fill_between(ages, low, high, step="post", color=look.colour, alpha=BAND_ALPHA, lw=0)


def _solid_and_rest(ages: np.ndarray, solid_h: float) -> tuple[np.ndarray, np.ndarray]:
    """Which ages belong to the solid part of a line, and which to the rest, which starts where that ends."""
    solid = ages <= solid_h
    rest = ~solid
    rest[np.flatnonzero(solid)[-1:]] = True
    return solid, rest


def _whiskers_at(panel: Axes, ages: np.ndarray, solid_h: float, marks_h: Sequence[float]) -> list[float]:
    """The ages at which intervals are drawn: those marked, and where the line stops or stops being solid."""
    until_h = panel.get_xlim()[1]
    last_h = min(float(ages[-1]), solid_h)
    return [age for age in sorted({*marks_h, last_h}) if WHISKER_FROM * until_h <= age <= last_h]


def _whiskers(
    panel: Axes,
    printer: Printer,
    label: str,
    ages: np.ndarray,
    parts: Sequence[np.ndarray],
    at_h: Sequence[float],
    place_of: tuple[int, int],
    look: Look,
) -> None:
    """Upright intervals just before stated ages, those of several groups side by side."""
    (place, of), until_h = place_of, panel.get_xlim()[1]
    for age in at_h:
        here = np.flatnonzero(ages <= age)[-1]
        share, low, high = (float(part[here]) for part in parts)
        x = age + ASIDE * until_h * (2 * place - 2 * of + 1)
        (whisker,) = panel.plot([x, x], [low, high], color=look.colour, lw=1.1, marker="_", ms=4)
        reading = f"{printer.age(age)} {printer.percent(share)} ({printer.percent_range(low, high)})"
        said(whisker, f"{label}: {reading}")


def _told(printer: Printer, label: str, curve: pd.DataFrame, ages_h: Sequence[float]) -> str:
    """A group's curve read at stated ages to which it was watched, for who points at it."""
    curve = well_watched(curve)
    last_h = float(curve["age_h"].max()) if len(curve) else 0.0
    readings = []
    for age in sorted({min(age, last_h) for age in ages_h}):
        at = curve[curve["age_h"] <= age]
        if len(at):
            row = at.iloc[-1]
            interval = printer.percent_range(float(row["low"]), float(row["high"]))
            readings.append(f"{printer.age(age)} {printer.percent(float(row['share']))} ({interval})")
    return f"{label}: {'; '.join(readings)}"


def _end(panel: Axes, row: Row, bold: bool) -> End:
    """The name of a group at the end of its line."""
    assert row.curve is not None
    ages, (share, _, _) = _outline(row.curve, panel.get_xlim()[1])
    return End(row.name, float(ages[-1]), float(share[-1]), row.colour, bold)


def draw_incidence(
    layers: Sequence[tuple[str, str, pd.DataFrame]],
    *,
    causes: Sequence[str],
    printer: Printer,
    follow_up_h: float,
    marks_h: Sequence[float],
    name: str,
    title: str,
    alt: str,
    axis: str,
    age_axes: tuple[str, str],
    at_risk: str,
) -> Figure:
    """Draw how many had been lost to each cause by each age, the causes on top of each other.

    The height of a layer is the share lost to its cause (cumulative incidence); the dark line over all layers is the
    share lost in all, dotted where few are watched, and what is left above it is still alive. A cause has the same
    colour and hatching in every picture. The key below names the layers as they lie, with their share at the end.

    Parameters
    ----------
    layers : the cause's term, its printed name and its ``curve`` frame, from the bottom up; all frames hold the same
        ages; shares from 0 to 1.
    causes : all causes that the records may hold (`cause_looks`).
    follow_up_h : age at which the panels end.
    marks_h : ages drawn as thin vertical lines (the ends of the windows).
    axis, age_axes : words above the panels, and under the one in hours and the one in days.
    at_risk : heading of the numbers below.
    """
    looks = cause_looks(causes)
    with house():
        figure, panels = split_canvas(
            printer, follow_up_h, 2.75 + 0.165 * len(layers), (axis, *age_axes), marks_h
        )
        total = sum(float(frame["share"].iloc[-1]) for _, _, frame in layers)
        panels[0].set_ylim(0, min(1.0, max(0.05, np.ceil(20 * total * 1.08) / 20)))
        ends = [f"{label} {printer.percent(float(frame['share'].iloc[-1]))}" for _, label, frame in layers]
        for panel in panels:
            _stack(panel, layers, ends, looks)
        key = [_patch(looks[cause], label) for (cause, _, _), label in zip(layers, ends, strict=True)]
        figure.legend(handles=key[::-1], loc="outside lower left", frameon=False, labelspacing=0.3)
        make_room(figure, panels, [], 1)
        numbers_below(printer, panels, [Row("", QUIET, layers[0][2])], at_risk)
    return Figure(name, title, alt, figure)


def _patch(look: tuple[str, str], label: str) -> Patch:
    tint, hatch = look
    return Patch(facecolor=tint, hatch=hatch, edgecolor=PAPER, lw=0, label=label)


def _stack(
    panel: Axes,
    layers: Sequence[tuple[str, str, pd.DataFrame]],
    ends: Sequence[str],
    looks: dict[str, tuple[str, str]],
) -> None:
    """The layers of one panel, pale from where too few are watched, and the line over them."""
    until_h, solid_h = panel.get_xlim()[1], solid_until(layers[0][2])
    found = [steps(well_watched(frame), "share", 0.0, until_h) for _, _, frame in layers]
    edges = np.vstack([np.zeros_like(found[0][0]), np.cumsum([heights for _, heights in found], axis=0)])
    ages, kept = thinned(found[0][0], list(edges), until_h * FINEST)
    for (cause, _, _), told, below, above in zip(layers, ends, kept, kept[1:], strict=False):
        for part, alpha in zip(_solid_and_rest(ages, solid_h), (1.0, FEW_ALPHA), strict=True):
            if part.sum() > 1:
                edge, (low, high) = thinned(ages[part], [below[part], above[part]], until_h * FINEST)
                tint, hatch = looks[cause]
                look: dict[str, Any] = {"facecolor": tint, "hatch": hatch, "edgecolor": PAPER, "lw": 0.5}
                said(panel.fill_between(edge, low, high, step="post", alpha=alpha, **look), told)
    over = Look(INK, INK, "-", 1.2, False)
    _line(panel, ages, (kept[-1], kept[-1], kept[-1]), solid_h, over, "; ".join(ends[::-1]))
