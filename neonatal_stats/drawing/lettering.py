"""Words where a narrow picture has room for them: measured, broken into lines, above an axis, at the ends of lines.

Measured in the letters in which the house draws, so that words are broken before they are cut; where a reader's machine
lacks them, those that it puts in their place are as a rule narrower.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cache
from typing import Any, NamedTuple

from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path
from matplotlib.transforms import ScaledTranslation, blended_transform_factory

from neonatal_stats.drawing.colours import INK, QUIET
from neonatal_stats.drawing.house import FAMILY, LETTERS_PT, WIDTH_IN, legend_above

ACROSS_PT = (
    72 * WIDTH_IN - 34
)  # what the words of an axis may take: the picture without the numbers at its left
KEY_MARK_PT, KEY_GAP_PT = 20.0, 10.0  # beside the words of a key: its mark, and the gap to the next column
NAME_PT = 62.0  # what a name beside the picture may take before it goes on in another line
LINE_PT = 10.0  # from one line of words to the next
END_LINE_PT = 1.3 * LETTERS_PT  # the same at the ends of lines
ORPHAN = 3  # letters that do not stand alone on a last line
LEAST_LEFT = 3  # letters of a word that is cut up


@cache
def wide(words: str, bold: bool = False) -> float:
    """How many points a line of words takes."""
    letters = FontProperties(family=FAMILY, size=LETTERS_PT, weight="bold" if bold else "normal")
    return float(text_to_path.get_text_width_height_descent(words, letters, False)[0])


def wrapped(words: str, room: float, bold: bool = False) -> list[str]:
    """The words in as many lines as they need, none wider than the room; a word that is wider is cut up.

    Parameters
    ----------
    room : points.
    """
    lines = [""]
    for word in (piece for whole in words.split(" ") for piece in _pieces(whole, room, bold)):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and wide(longer, bold) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return _no_orphan(lines, room, bold)


def _no_orphan(lines: list[str], room: float, bold: bool) -> list[str]:
    """The lines, a lone short word at the end, such as a number, taken to the word before it."""
    alone = len(lines[-1]) <= ORPHAN and "\u00a0" not in lines[-1]
    if len(lines) < 2 or not alone or " " not in lines[-2]:
        return lines
    before, word = lines[-2].rsplit(" ", 1)
    last = f"{word} {lines[-1]}"
    return [*lines[:-2], before, last] if wide(last, bold) <= room else lines


def _pieces(word: str, room: float, bold: bool) -> Iterator[str]:
    """The word, or parts of it that each fit the room."""
    while len(word) > 1 and wide(word, bold) > room:
        most = range(max(len(word) - LEAST_LEFT, 1), 0, -1)
        fits = next((n for n in most if wide(f"{word[:n]}-", bold) <= room), 1)
        yield f"{word[:fits]}-"
        word = word[fits:]
    yield word


def width_pt(words: str) -> float:
    """How wide words are, in points; of several lines the widest.

    >>> width_pt("iii\\nmmm") == width_pt("mmm") > width_pt("iii")
    True
    """
    return max(wide(line) for line in words.split("\n"))


def in_lines(words: str, most_pt: float) -> str:
    """Words in lines no wider than so many points, or than their longest word, which is not cut up.

    >>> in_lines("four or more", 40.0)
    'four or\\nmore'
    """
    return "\n".join(wrapped(words, max([most_pt, *map(wide, words.split(" "))])))


def words_above(axes: Axes, words: str) -> None:
    """What the upright axis measures, written level above its upper end, where it takes no width."""
    axes.set_title(in_lines(words, ACROSS_PT), loc="left", fontweight="normal", color=INK, pad=7)


def words_below(axes: Axes, words: str) -> None:
    """What the level axis measures, below it from its left end, where the longest words have room."""
    axes.set_xlabel(in_lines(words, ACROSS_PT), loc="left")


def key_above(figure: Canvas, handles: Sequence[Any]) -> None:
    """What marks and lines are, above the panels, in as many columns as have room."""
    widest = max(width_pt(str(handle.get_label())) for handle in handles) + KEY_MARK_PT
    columns = max(1, int((72 * WIDTH_IN - 6 + KEY_GAP_PT) // (widest + KEY_GAP_PT)))
    legend_above(
        figure, columns=columns, handles=handles, handlelength=1.6, handletextpad=0.6, labelspacing=0.35,
        columnspacing=KEY_GAP_PT / LETTERS_PT, borderaxespad=0.2,
    )  # fmt: skip


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


class End(NamedTuple):
    """Where a line ends, and what is written there."""

    words: str
    x: float
    height: float
    colour: str
    bold: bool = False


def write_ends(axes: Axes, ends: Sequence[End]) -> None:
    """Write the name of each line right of the panel at its height; a hair leads to one that had to be moved.

    The picture must have been laid out once, so that heights are known in points.
    """
    if not ends:
        return
    low, high = axes.get_ylim()
    a_point = (high - low) / (axes.get_window_extent().height * 72 / axes.figure.dpi)
    names = [in_lines(end.words, NAME_PT) for end in ends]
    gap = a_point * END_LINE_PT * max(1 + name.count("\n") for name in names)
    places = moved_apart([end.height for end in ends], gap, low, high)
    moved = [abs(y - end.height) > gap / 3 for y, end in zip(places, ends, strict=True)]
    aside = ScaledTranslation((13 if any(moved) else 4) / 72, 0, axes.figure.dpi_scale_trans)
    right = blended_transform_factory(axes.transAxes, axes.transData) + aside
    hair = {"arrowstyle": "-", "color": QUIET, "lw": 0.6, "shrinkA": 1, "shrinkB": 1, "relpos": (0, 0.5)}
    for end, name, y, led in zip(ends, names, places, moved, strict=True):
        short = led or end.x < axes.get_xlim()[1]
        axes.annotate(
            name,
            (end.x, end.height),
            xytext=(1, y),
            textcoords=right,
            va="center",
            color=end.colour,
            fontweight="bold" if end.bold else "normal",
            annotation_clip=False,
            arrowprops=hair if short else None,
        )
