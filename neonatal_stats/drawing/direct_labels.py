"""Labels written at the end of their lines instead of in a legend, moved apart where they would overlap."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes

from neonatal_stats.drawing.style import QUIET


def moved_apart(heights: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Heights at least a gap apart, in the same order and near where they were, between low and high.

    >>> moved_apart([1.0, 1.0], 0.5, 0.0, 2.0)
    [0.75, 1.25]
    """
    order = sorted(range(len(heights)), key=lambda place: (heights[place], place))
    placed: list[list[float]] = []  # runs of labels: [centre, how many]
    runs: list[list[int]] = []
    for place in order:
        placed.append([heights[place], 1.0])
        runs.append([place])
        while len(placed) > 1 and _touch(placed[-2], placed[-1], gap):
            (below, n), (above, m) = placed[-2], placed.pop()
            placed[-1] = [(below * n + above * m) / (n + m), n + m]
            runs[-2:] = [runs[-2] + runs[-1]]
    out = [0.0] * len(heights)
    for (centre, n), run in zip(placed, runs, strict=True):
        half = gap * (n - 1) / 2
        centre = min(max(centre, low + half), high - half) if high - low > 2 * half else (low + high) / 2
        for step, place in enumerate(run):
            out[place] = centre - half + gap * step
    return out


def _touch(below: list[float], above: list[float], gap: float) -> bool:
    return above[0] - below[0] < gap * (below[1] + above[1]) / 2


def write_labels(
    axes: Axes, labels: Sequence[str], heights: Sequence[float], colours: Sequence[str], size: float = 8.5
) -> None:
    """Write each label to the right of the axes at its height, a thin line leading to one that was moved."""
    low, high = axes.get_ylim()
    inches = axes.get_window_extent().height / axes.figure.dpi
    gap = (high - low) * (1.35 * size / 72) / inches
    places = moved_apart(heights, gap, low, high)
    leading = any(abs(y - height) > gap / 2 for y, height in zip(places, heights, strict=True))
    for label, y, height, colour in zip(labels, places, heights, colours, strict=True):
        axes.annotate(
            label,
            (1.0, height),
            xycoords=("axes fraction", "data"),
            xytext=(1.06 if leading else 1.015, y),
            textcoords=("axes fraction", "data"),
            va="center",
            color=colour,
            fontsize=size,
            annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": QUIET, "lw": 0.6, "shrinkA": 1, "shrinkB": 0}
            if leading
            else None,
        )
