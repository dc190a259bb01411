"""Results on somebody's own Axes: lines over age, layers of causes, dots with their intervals, ratios.

Each function draws on the Axes that it is given and on nothing else, in the house's colours and dashes and in the
caller's letters, names the axes, and gives the Axes back; title, size and everything else are the caller's. `pictured`
makes the house's own figure of the same drawing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from textwrap import fill
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.ticker import FuncFormatter, MaxNLocator, NullLocator

from neonatal_stats.drawing.colours import CLEAR, INK, PAPER, QUIET, RULE, SERIES, cause_looks
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.house import BAND_ALPHA, DASHES, LETTERS_PT, canvas, house
from neonatal_stats.drawing.svg import said
from neonatal_stats.tables import Printer

MOST_LINES = len(SERIES)
"""So many groups can be told apart in one panel."""
DAYS_FROM_H = 96.0
"""Panels that end later than this count age in days."""
LABEL_LETTERS, TICK_IN = 26, 0.5
"""Letters of a label before it goes on in a second line, and the room of a number under an axis over age."""
PANEL_IN, KEY_IN, ROW_IN, FOOT_IN = 2.3, 0.19, 0.42, 0.75
"""Heights of a panel over age and of a line of its key; of a row of dots and of what is under the rows."""


def own_axes() -> Axes:
    """New Axes of a figure of their own, for a caller who has none."""
    return Canvas(layout="constrained").subplots()


def pictured(
    draw: Callable[[Axes], Axes], *, printer: Printer, height_in: float, name: str, title: str, alt: str
) -> Figure:
    """The house's figure of what ``draw`` draws."""
    with house():
        figure, (panel,) = canvas(printer, height_in)
        draw(panel)
        legend = panel.get_legend()
        if legend is not None:
            handles = [one for one in legend.legend_handles if one is not None]
            labels = [text.get_text().replace("\n", " ") for text in legend.get_texts()]
            legend.remove()
            figure.legend(handles, labels, loc="outside lower left", frameon=False, fontsize=LETTERS_PT)
    return Figure(name, title, alt, figure)


def lines_over_age(
    axes: Axes,
    curves: Sequence[tuple[str, pd.DataFrame]],
    *,
    printer: Printer,
    until_h: float,
    words: tuple[str, str, str],
) -> Axes:
    """Step lines of shares lost against age, each on the band of its interval.

    Parameters
    ----------
    curves : printed name and ``curve`` frame (age_h, share, low, high; shares lost from 0 to 1) of each group.
    until_h : age at which the panel ends.
    words : along the upright axis, and under the axis in hours and in days.
    """
    for place, (label, curve) in enumerate(curves):
        inside = curve[curve["age_h"] <= until_h]
        ages = np.concatenate([[0.0], inside["age_h"].to_numpy(float)])
        share, low, high = (np.append(0.0, inside[name].to_numpy(float)) for name in ("share", "low", "high"))
        look: dict[str, Any] = {"color": SERIES[place % MOST_LINES], "ls": DASHES[place % len(DASHES)]}
        (line,) = axes.step(ages, share, where="post", lw=1.6, label=label, **look)
        told = printer.percent(float(share[-1]))
        said(line, f"{label}: {told}" if label else told)
        axes.fill_between(ages, low, high, step="post", color=look["color"], alpha=BAND_ALPHA, lw=0)
    _over_age(axes, printer, until_h, words)
    if len(curves) > 1:
        _key(axes, *axes.get_legend_handles_labels())
    return axes


def layers_over_age(
    axes: Axes,
    layers: Sequence[tuple[str, str, pd.DataFrame]],
    *,
    causes: Sequence[str],
    printer: Printer,
    until_h: float,
    words: tuple[str, str, str],
) -> Axes:
    """Shares lost to each cause against age, the causes on top of each other, in the colours of `cause_looks`.

    ``layers`` hold the cause's term, its printed name and its ``curve`` frame, from the bottom up, all with the same
    ages; the rest as `lines_over_age`.
    """
    looks = cause_looks(causes)
    base: np.ndarray | None = None
    for cause, label, curve in layers:
        inside = curve[curve["age_h"] <= until_h]
        ages = np.concatenate([[0.0], inside["age_h"].to_numpy(float)])
        share = np.append(0.0, inside["share"].to_numpy(float))
        under = np.zeros_like(share) if base is None else base
        base = under + share
        tint, hatch = looks[cause]
        look: dict[str, Any] = {"facecolor": tint, "hatch": hatch, "edgecolor": PAPER, "lw": 0.5}
        patch = axes.fill_between(ages, under, base, step="post", label=label, **look)
        said(patch, f"{label}: {printer.percent(float(share[-1]))}")
    _over_age(axes, printer, until_h, words)
    handles, labels = axes.get_legend_handles_labels()
    _key(axes, handles[::-1], labels[::-1], beside=True)
    return axes


def _key(axes: Axes, handles: Sequence[Artist], labels: Sequence[str], *, beside: bool = False) -> None:
    """The key where lines of loss leave room, on a ground that what it covers does not show through; or beside it."""
    wrapped = [lettered(one) for one in labels]
    place: dict[str, Any] = {"bbox_to_anchor": (1.0, 1.0)} if beside else {}
    axes.legend(
        handles, wrapped, loc="upper left", framealpha=0.85, edgecolor="none", fontsize="small", **place
    )


def lettered(text: str, letters: int = LABEL_LETTERS) -> str:
    """A label in lines of so many letters; signs that would make mathematics of it stay what they are."""
    return fill(text, letters).replace("$", r"\$")


def _width_in(axes: Axes) -> float:
    """How wide the Axes are now, in inches."""
    return float(axes.bbox.width / axes.figure.dpi)


def _over_age(axes: Axes, printer: Printer, until_h: float, words: tuple[str, str, str]) -> None:
    """An axis of age in hours or days, and one of percent."""
    scale = 24.0 if until_h > DAYS_FROM_H else 1.0
    axes.set_xlim(0, until_h)
    axes.set_ylim(bottom=0)
    steps = [1, 2, 7] if scale > 1 else [1.2, 2.4, 4.8]
    most = int(np.clip(_width_in(axes) / TICK_IN, 2, 7))
    ticks = MaxNLocator(nbins=most, steps=[*steps, 10]).tick_values(0, until_h / scale)
    axes.set_xticks([scale * tick for tick in ticks if tick * scale <= until_h])
    axes.xaxis.set_major_formatter(FuncFormatter(partial(_scaled, printer, 1 / scale)))
    axes.yaxis.set_major_formatter(FuncFormatter(partial(_scaled, printer, 100.0)))
    axes.set_ylabel(lettered(words[0]))
    axes.set_xlabel(lettered(words[2] if scale > 1 else words[1]))


def _scaled(printer: Printer, scale: float, value: float, _: int | None = None) -> str:
    number = round(scale * value, 6)
    return printer.number(number, 0 if number == round(number) else 1)


def dots(
    axes: Axes,
    rows: pd.DataFrame,
    *,
    printer: Printer,
    axis: str,
    few: str,
    scale: float = 100.0,
    null: float | None = None,
    log: bool = False,
) -> Axes:
    """A dot on its interval for each row, the first on top.

    Parameters
    ----------
    rows : label, at, low, high, told (the reading in words) and quiet (yes-no: too few, named and not drawn). It
        may have clear (yes-no: drawn in the house's red) and hollow, a second mark each, an open diamond on an interval
        of its own (hollow_low, hollow_high, hollow_told).
    axis : words under the axis.
    few : words in the row of a quiet one.
    scale : what values are multiplied by: 100 makes percent of shares.
    null : where groups do alike, drawn as an upright line; None where rows are no comparisons.
    log : along a logarithmic scale, for ratios.
    """
    places = np.arange(len(rows), dtype=float)
    for place, row in zip(places, rows.to_dict("records"), strict=True):
        if row["quiet"]:
            axes.annotate(few, (0.02, place), xycoords=("axes fraction", "data"), va="center", color=QUIET)
            continue
        colour = CLEAR if row.get("clear") else INK
        _mark(axes, place, row, ("at", "low", "high"), scale, colour, "o", row["told"])
        if "hollow" in rows and np.isfinite(row["hollow"]):
            parts = ("hollow", "hollow_low", "hollow_high")
            _mark(axes, place + 0.28, row, parts, scale, QUIET, "D", row["hollow_told"])
    axes.set_yticks(places, [lettered(one) for one in rows["label"]])
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0)
    axes.grid(axis="x", color=RULE, lw=0.6)
    axes.set_axisbelow(True)
    if log:
        axes.set_xscale("log")
        axes.xaxis.set_minor_locator(NullLocator())
        axes.set_xticks(_ratio_ticks(axes.get_xlim()))
        axes.xaxis.set_major_formatter(FuncFormatter(partial(_plain, printer)))
    if null is not None:
        axes.axvline(scale * null, color=INK, lw=0.9, zorder=1)
    elif not log:
        axes.set_xlim(left=0)
    axes.set_xlabel(lettered(axis, 2 * LABEL_LETTERS))
    return axes


def _mark(
    axes: Axes,
    place: float,
    row: dict[object, object],
    parts: tuple[str, str, str],
    scale: float,
    colour: str,
    marker: str,
    told: str,
) -> None:
    at, low, high = (scale * float(row[part]) for part in parts)  # type: ignore[arg-type]
    axes.plot([low, high], [place, place], color=colour, lw=1.6, solid_capstyle="butt")
    (dot,) = axes.plot(at, place, marker, color=colour, mfc=colour if marker == "o" else PAPER, ms=5.5)
    said(dot, f"{row['label']}: {told}")


def _ratio_ticks(ends: tuple[float, float]) -> list[float]:
    ticks = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
    return [tick for tick in ticks if ends[0] <= tick <= ends[1]]


def _plain(printer: Printer, value: float, _: int | None = None) -> str:
    return printer.signs(f"{value:g}")
