"""Volume given against birth weight, with the line of the target; full dots reach it, open ones do not."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.style import INK, PAPER, RULE, SERIES, canvas, house


def draw_dose(
    weight_kg: NDArray[np.float64],
    volume_ml: NDArray[np.float64],
    target_ml_per_kg: float,
    *,
    name: str,
    title: str,
    alt: str,
    weight_axis: str,
    volume_axis: str,
    line: str,
) -> Figure:
    """One dot a newborn.

    Parameters
    ----------
    target_ml_per_kg : slope of the target line.
    line : the words written at the end of the target line.
    """
    enough = volume_ml >= target_ml_per_kg * weight_kg - 1e-9
    with house():
        figure, (axes,) = canvas(3.6)
        top = np.array([0.0, float(weight_kg.max()) * 1.05])
        axes.plot(top, target_ml_per_kg * top, color=INK, lw=1.0, ls="--", zorder=1)
        axes.annotate(
            line,
            (1.01, target_ml_per_kg * top[1]),
            xycoords=("axes fraction", "data"),
            va="center",
            fontsize=8.5,
        )
        axes.plot(weight_kg[enough], volume_ml[enough], "o", color=SERIES[0], mec=PAPER, mew=0.4, ms=5)
        axes.plot(weight_kg[~enough], volume_ml[~enough], "o", mfc=PAPER, mec=SERIES[1], mew=1.1, ms=5)
        axes.set_xlim(max(0.0, float(weight_kg.min()) * 0.9), top[1])
        axes.set_ylim(0, max(float(volume_ml.max()), target_ml_per_kg * top[1]) * 1.06)
        axes.grid(axis="y", color=RULE, lw=0.6)
        axes.set_axisbelow(True)
        axes.set_xlabel(weight_axis)
        axes.set_ylabel(volume_axis)
    return Figure(name, title, alt, figure)
