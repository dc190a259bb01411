"""The axis of age and what stands on it: two panels over one age, step lines no finer than the eye, numbers watched."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.text import Annotation
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from neonatal_stats.drawing.colours import INK, QUIET, RULE
from neonatal_stats.drawing.house import SpokenShares, canvas, lay_out
from neonatal_stats.drawing.lettering import NAME_PT, in_lines, width_pt, words_above, words_below
from neonatal_stats.measures.windows import fewest_drawn
from neonatal_stats.tables import Printer

FIRST_H = 72.0
HOUR_TICKS = (0.0, 24.0, 48.0, 72.0)
FINEST = 1 / 400  # of a panel's width: about a quarter of a point, a third of a pixel on a phone
BELOW_PT, ROW_PT = 36.0, 12.0  # from the axis down to the heading of the numbers, and from row to row


def split_canvas(
    printer: Printer,
    follow_up_h: float,
    height_in: float,
    words: tuple[str, str, str],
    marks_h: Sequence[float],
) -> tuple[Canvas, list[Axes]]:
    """The figure and its one or two panels: the first three days in hours, then all in days; shares upwards.

    One panel where the whole time is no longer than the first three days. ``words`` are those above the panels, under
    the one in hours and under the one in days.
    """
    short = follow_up_h <= FIRST_H
    if short:
        figure, panels = canvas(printer, height_in)
        ticks = [[tick for tick in HOUR_TICKS if tick < follow_up_h] + [follow_up_h]]
    else:
        figure, panels = canvas(printer, height_in, columns=2, sharey=True, width_ratios=(1, 1.15))
        ticks = [list(HOUR_TICKS), _day_ticks(follow_up_h)]
    words_above(panels[0], words[0])
    for panel, at, days in zip(panels, ticks, (False, True), strict=False):
        scale = 24.0 if days else 1.0
        panel.set_xlim(0, follow_up_h if days or short else FIRST_H)
        panel.set_xticks(at, [printer.number(tick / scale, 0) for tick in at])
        words_below(panel, words[2] if days else words[1])
        panel.grid(axis="y", color=RULE, lw=0.6)
        panel.set_axisbelow(True)
        panel.yaxis.set_major_locator(MaxNLocator(steps=[1, 2, 5, 10], nbins=6))
        panel.yaxis.set_major_formatter(SpokenShares(printer))
        for mark in marks_h:
            if mark < at[-1] and (not days or mark > FIRST_H):
                panel.axvline(mark, color=QUIET, lw=0.7, ls=":", zorder=0)
    return figure, panels


def _day_ticks(follow_up_h: float) -> list[float]:
    days = follow_up_h / 24
    step = next((step for step in (1, 2, 7, 14, 28) if days / step <= 4), 56)
    return [24.0 * day for day in np.arange(0, days - step * 0.4, step)] + [24.0 * (follow_up_h // 24)]


class Row(NamedTuple):
    """A row of numbers under an axis: a group's name and colour, and its curve or, where it has none, words."""

    name: str
    colour: str
    curve: pd.DataFrame | None
    words: str = ""


def numbers_below(printer: Printer, panels: Sequence[Axes], rows: Sequence[Row], heading: str) -> None:
    """The number still watched of each group under the ticks, as many as have room, and the names of the groups.

    Names stand at the right end of their rows, where there are several. The second panel leaves out the number at
    birth. The picture must have been laid out once.
    """
    widest = max((_widest(printer, row.curve) for row in rows if row.curve is not None), default=0.0)
    down = _first_row(panels[0])
    _below(panels[0], (0, 0), -down, heading, QUIET, "left")
    for row in rows:
        down += ROW_PT
        if row.curve is None:
            _below(panels[0], (0, 0), -down, row.words, row.colour, "left").set_in_layout(False)
        else:
            for panel in panels:
                for tick in _with_room(panel, widest + 5, first=panel is panels[0]):
                    text = printer.count(watched_at(row.curve, tick))
                    _below(panel, (tick, 0), -down, text, row.colour, "center")
        if len(rows) > 1:
            name = in_lines(row.name, NAME_PT)
            _below(panels[-1], (panels[-1].get_xlim()[1], 5 + widest / 2), -down, name, row.colour, "left")
            down += ROW_PT * name.count("\n")


def make_room(figure: Canvas, panels: Sequence[Axes], names: Sequence[str], rows: int) -> None:
    """Lay the picture out once, with room for names at the right and for rows of numbers below."""
    names = [in_lines(name, NAME_PT) for name in names]
    right = panels[-1].get_xlim()[1]
    down = _first_row(panels[0])
    beside = _below(panels[-1], (right, 13), -down, max(names, key=width_pt, default=""), INK, "left")
    under = _below(panels[0], (0, 0), -down - rows * ROW_PT, "0", INK, "left")
    lay_out(figure)
    for text in (beside, under):
        text.remove()


def _first_row(panel: Axes) -> float:
    """How far under the axis the numbers begin, below the words under it."""
    return BELOW_PT + ROW_PT * panel.get_xlabel().count("\n")


def _widest(printer: Printer, curve: pd.DataFrame) -> float:
    return width_pt(printer.count(float(curve["at_risk"].max())) if len(curve) else "0")


def _with_room(panel: Axes, each_pt: float, *, first: bool) -> list[float]:
    """The ticks under which numbers so wide do not touch: the last, and where wanted the first, always."""
    low, high = panel.get_xlim()
    points = panel.get_window_extent().width * 72 / panel.figure.dpi
    apart = each_pt * (high - low) / points
    ticks = [float(tick) for tick in panel.get_xticks() if low <= tick <= high]
    kept = [*(ticks[:1] if first else ()), ticks[-1]]
    for tick in ticks[1:-1]:
        if all(abs(tick - other) >= apart for other in kept):
            kept.append(tick)
    return sorted(set(kept))


def _below(
    panel: Axes, at: tuple[float, float], down: float, text: str, colour: str, side: str
) -> Annotation:
    """A text so many points under the axis at an age, and so many to its right."""
    age_h, right = at
    return panel.annotate(
        text,
        (age_h, 0),
        xycoords=("data", "axes fraction"),
        xytext=(right, down),
        textcoords="offset points",
        ha=side,
        va="top",
        linespacing=1.25,
        color=colour,
        annotation_clip=False,
    )


def watched_at(curve: pd.DataFrame, age_h: float) -> float:
    """How many of a ``curve`` were still watched at an age: at risk at the first step at or after it."""
    later = curve.loc[curve["age_h"] >= age_h, "at_risk"]
    return float(later.iloc[0]) if len(later) else 0.0


def solid_until(curve: pd.DataFrame) -> float:
    """The last age at which enough of a ``curve`` are watched to draw it solid (`fewest_drawn`); 0 where never."""
    if curve.empty:
        return 0.0
    enough = curve["at_risk"] >= fewest_drawn(float(curve["at_risk"].max()))
    return float(curve.loc[enough, "age_h"].max()) if enough.any() else 0.0


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


def thinned(
    ages: NDArray[np.float64], heights: Sequence[NDArray[np.float64]], finest: float
) -> tuple[NDArray[np.float64], list[NDArray[np.float64]]]:
    """The same step lines without steps that nobody sees: closer than `finest` to the next, or of no height.

    The first and the last age stay; of steps too close to each other the last one counts.

    >>> thinned(np.array([0.0, 1, 2, 2.1, 5]), [np.array([0.0, 0, 3, 4, 4])], 0.5)
    (array([0. , 2.1, 5. ]), [array([0., 4., 4.])])
    """
    rows = np.vstack(heights)
    cell = np.floor(ages / finest)
    kept = np.append(cell[1:] != cell[:-1], True)
    kept[0] = True
    at = np.flatnonzero(kept)
    before, after = rows[:, at[:-1]], rows[:, at[1:]]
    same = ((before == after) | (np.isnan(before) & np.isnan(after))).all(axis=0)
    at = at[np.concatenate([[True], ~same])]
    at = at if at[-1] == len(ages) - 1 else np.append(at, len(ages) - 1)
    return ages[at], [row[at] for row in rows]
