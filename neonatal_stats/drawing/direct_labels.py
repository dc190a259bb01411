"""Labels written at the end of their lines instead of in a legend, moved apart where they would overlap."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from matplotlib.axes import Axes

from neonatal_stats.drawing.style import QUIET


def moved_apart(heights: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Heights at least a gap apart, in the same order and near where they were, between low and high.

    >>> moved_apart([1.0, 1.0], 0.5, 0.0, 2.0)
    [0.75, 1.25]
    """

    def centre(run: list[int]) -> float:
        """Where a run of labels belongs: at their mean height, kept inside."""
        half = gap * (len(run) - 1) / 2
        mean = sum(heights[place] for place in run) / len(run)
        return min(max(mean, low + half), high - half) if high - low > 2 * half else (low + high) / 2

    runs: list[list[int]] = []
    for place in sorted(range(len(heights)), key=lambda place: (heights[place], place)):
        runs.append([place])
        while (
            len(runs) > 1 and centre(runs[-1]) - centre(runs[-2]) < gap * (len(runs[-1]) + len(runs[-2])) / 2
        ):
            runs[-2:] = [runs[-2] + runs[-1]]
    return [where for _, where in sorted(_spread(runs, centre, gap))]


def _spread(
    runs: list[list[int]], centre: Callable[[list[int]], float], gap: float
) -> Iterator[tuple[int, float]]:
    for run in runs:
        first = centre(run) - gap * (len(run) - 1) / 2
        yield from ((place, first + gap * step) for step, place in enumerate(run))


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
