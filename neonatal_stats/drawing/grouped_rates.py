"""Shares of groups under headings: one line a group, its interval, and the counts written beside it."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import INK, PAPER, QUIET, RULE, SERIES, canvas, house
from neonatal_stats.tables import printing


def draw_grouped_rates(
    rates: pd.DataFrame, *, name: str, title: str, alt: str, axis: str, reference: float | None = None
) -> Figure:
    """Draw a ``rates`` frame in blocks.

    Parameters
    ----------
    rates : frame with heading (equal ones stand together), name, quiet (too few to say: only its counts are
    written), events, n,
        share, low, high.
    axis : the words under the axis, with the unit.
    reference : a share drawn as a thin vertical line (all newborns), or None.
    """
    lines = _lines(rates)
    with house():
        figure, (axes,) = canvas(0.75 + 0.265 * (max(lines) + 1.5))
        for line, row in zip(lines, rates.to_dict("records"), strict=True):
            _group(axes, line, row)
        if reference is not None:
            axes.axvline(100 * reference, color=INK, lw=0.8, ls=":", zorder=0)
        axes.set_yticks(lines, [str(label) for label in rates["name"]])
        axes.set_ylim(max(lines) + 0.7, -1.5)
        axes.set_xlim(left=0)
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(axis)
        for heading, line in _headings(rates, lines).items():
            axes.annotate(
                heading, (0, line), xycoords=("axes fraction", "data"), xytext=(4, 0), textcoords="offset points",
                va="center", weight="bold", fontsize=9,
            )  # fmt: skip
    return Figure(name, title, alt, figure)


def _lines(rates: pd.DataFrame) -> list[float]:
    """The line of each group, with room for a heading above each block."""
    lines, line, before = [], -1.0, None
    for heading in rates["heading"]:
        line += 1.0 if heading == before else (1.0 if before is None else 2.1)
        lines.append(line)
        before = heading
    return lines


def _headings(rates: pd.DataFrame, lines: list[float]) -> dict[str, float]:
    first: dict[str, float] = {}
    for heading, line in zip(rates["heading"], lines, strict=True):
        first.setdefault(str(heading), line - 0.95)
    return first


def _group(axes: Axes, line: float, row: dict[Hashable, Any]) -> None:
    """The mark and interval of a group large enough to draw, and the counts of every group."""
    if not row["quiet"]:
        low, share, high = (100 * row[name] for name in ("low", "share", "high"))
        axes.plot([low, high], [line, line], color=SERIES[0], lw=2, solid_capstyle="butt")
        axes.plot(share, line, "o", color=SERIES[0], ms=5.5, mec=PAPER)
    axes.annotate(
        printing.part_of(row["events"], row["n"]),
        (1.01, line),
        xycoords=("axes fraction", "data"),
        va="center",
        color=QUIET,
        fontsize=8.5,
        annotation_clip=False,
    )
