"""Passive transfer: classes as dots with goals beside them, and a serum result against age at first feed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import INK, PAPER, QUIET, RULE, SERIES, canvas, house
from neonatal_stats.tables import printing


def draw_classes(shares: pd.DataFrame, *, name: str, title: str, alt: str, axis: str, goal: str) -> Figure:
    """Draw classes, best on top: bar, interval, counts, and a diamond at the goal where there is one.

    Parameters
    ----------
    shares : frame with label, events, n, share, low, high, target.
    goal : the words beside the first diamond.
    """
    with house():
        figure, (axes,) = canvas(height_in=0.95 + 0.44 * len(shares))
        for line, row in enumerate(shares.to_dict("records")):
            axes.barh(line, 100 * row["share"], height=0.56, color=SERIES[0], alpha=0.85)
            axes.plot([100 * row["low"], 100 * row["high"]], [line, line], color=INK, lw=1.3)
            counts = printing.counts(row["events"], row["n"])
            axes.annotate(counts, (1.01, line), xycoords=("axes fraction", "data"), va="center", color=QUIET)
            if pd.notna(row["target"]):
                axes.plot(100 * row["target"], line, "D", mfc=PAPER, mec=SERIES[1], mew=1.4, ms=7, zorder=4)
        aimed = np.flatnonzero(shares["target"].notna().to_numpy())
        if len(aimed):
            at = (100 * float(shares["target"].iloc[aimed[0]]), float(aimed[0]))
            axes.annotate(goal, at, xytext=(6, 9), textcoords="offset points", fontsize=7.5, color=SERIES[1])
        axes.set_yticks(range(len(shares)), [str(label) for label in shares["label"]])
        axes.set_ylim(len(shares) - 0.5, -0.7)
        axes.set_xlim(0, 100)
        axes.grid(axis="x", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(axis)
    return Figure(name, title, alt, figure)


def draw_response(
    curve: pd.DataFrame,
    points: pd.DataFrame,
    cuts: Sequence[float],
    *,
    name: str,
    title: str,
    alt: str,
    fed_axis: str,
    value_axis: str,
) -> Figure:
    """Draw a serum result against age at first feed: every newborn, the smooth mean and its interval, the
    cut points.

    Parameters
    ----------
    curve : frame with fed_h, value, low, high; points : frame with fed_h, value.
    cuts : values drawn as dotted lines.
    """
    with house():
        figure, (axes,) = canvas(3.5)
        age = curve["fed_h"].to_numpy(float)
        axes.fill_between(age, curve["low"], curve["high"], color=SERIES[0], alpha=0.16, lw=0)
        axes.plot(age, curve["value"], color=SERIES[0], lw=1.9)
        axes.plot(points["fed_h"], points["value"], "o", color=SERIES[5], mec=PAPER, mew=0.4, ms=4, alpha=0.8)
        for cut in cuts:
            axes.axhline(cut, color=QUIET, lw=0.7, ls=":")
            axes.annotate(printing.number(cut), (1.01, cut), xycoords=("axes fraction", "data"), va="center",
                          fontsize=7.5, color=QUIET)  # fmt: skip
        axes.set_xlim(0, float(points["fed_h"].max()) * 1.03)
        axes.set_ylim(0, float(np.nanmax([points["value"].max(), *cuts])) * 1.06)
        axes.set_xlabel(fed_axis)
        axes.set_ylabel(value_axis)
    return Figure(name, title, alt, figure)
