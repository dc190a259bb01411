"""How much room words take, so that they are broken before they are cut.

Measured in the letters in which the house draws; where a reader's machine lacks them, those that it puts in their
place are as a rule narrower.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

from neonatal_stats.drawing.house import FAMILY, LETTERS_PT

LINE_PT = 10.0  # from one line of words to the next
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
