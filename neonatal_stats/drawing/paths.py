"""Paths of an SVG text, no longer than what they show: short commands, and hatching in small tiles.

Matplotlib writes every point in full, and draws an inch of hatching of which a third each way already repeats itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

INCH, TILE = 72, 24  # points; every hatch of one, two, three, four or six strokes repeats itself after 24
REACH = 1.0  # how far a stroke may reach beyond its line
_PATTERN = re.compile(
    rf'(<pattern [^>]*)width="{INCH}" height="{INCH}">'
    rf'<rect x="0" y="0" width="{INCH + 1}" height="{INCH + 1}"([^>]*)><path d="([^"]*)"'
)
_COMMAND = re.compile(r"([MLCQAz])([^MLCQAz]*)")


def shortened(svg: str) -> str:
    """The same drawing with shorter paths."""
    svg = _PATTERN.sub(_tile, svg)
    return re.sub(r' d="([^"]*)"', lambda found: f' d="{"".join(_short(found.group(1)))}"', svg)


def _short(path: str) -> Iterator[str]:
    """The commands of a path: level and upright lines by one number, points that repeat the one before left out.

    A line of no length that follows a move stays, since its round ends are a dot.

    >>> "".join(_short("M 1 2  L 3 2  L 3 2  L 3 5  L 4 6  z "))
    'M1 2H3V5L4 6z'
    """
    at, drawn = ("", ""), False
    for command, numbers in _COMMAND.findall(path):
        words = numbers.split()
        to = (words[-2], words[-1]) if words else at
        if command != "L":
            yield command + " ".join(words)
        elif to == at:
            yield "" if drawn else "h0"
        elif to[1] == at[1]:
            yield f"H{to[0]}"
        else:
            yield f"V{to[1]}" if to[0] == at[0] else f"L{to[0]} {to[1]}"
        at, drawn = to, command != "M"


def _tile(found: re.Match[str]) -> str:
    """A hatch pattern with the strokes that cross its first third each way."""
    head, fill, path = found.groups()
    strokes = [stroke for stroke in re.split(r"(?=M )", path) if stroke.strip()]
    kept = "".join(_round(stroke) for stroke in strokes if _crosses(stroke))
    ground = f'<rect x="0" y="0" width="{TILE + 1}" height="{TILE + 1}"{fill}>'
    return f'{head}width="{TILE}" height="{TILE}">{ground}<path d="{kept}"'


def _numbers(stroke: str) -> tuple[list[float], list[float]]:
    numbers = [float(number) for number in re.findall(r"-?[\d.]+(?:e-?\d+)?", stroke)]
    return numbers[::2], numbers[1::2]


def _crosses(stroke: str) -> bool:
    """Whether any of a stroke lies in the tile: a circle, a level or an upright line by its box, else by its course."""
    x, y = _numbers(stroke)
    near, far = -REACH, TILE + REACH
    if max(x) < near or min(x) > far or max(y) < near or min(y) > far:
        return False
    if "C" in stroke or x[0] == x[-1] or y[0] == y[-1]:
        return True
    rises = (x[-1] > x[0]) == (y[-1] > y[0])  # hatches slope by 45 degrees
    past = y[0] - x[0] if rises else y[0] + x[0]
    low, high = (-far, far) if rises else (2 * near, 2 * far)
    return low <= past <= high


def _round(stroke: str) -> str:
    """A circle of curves as two arcs, turning the way it turned, so that a ring keeps its hole."""
    if "C" not in stroke:
        return stroke
    x, y = _numbers(stroke)
    across, down = (max(x) + min(x)) / 2, (max(y) + min(y)) / 2
    from_middle = [(one - across, other - down) for one, other in zip(x, y, strict=True)]
    turned = sum(a * d - b * c for (a, b), (c, d) in pairwise(from_middle))
    radius = f"{(max(x) - min(x)) / 2:.3g}"
    arc = f"A{radius} {radius} 0 1 {int(turned > 0)}"
    return f"M{min(x):.4g} {down:.4g}{arc} {max(x):.4g} {down:.4g}{arc} {min(x):.4g} {down:.4g}z"
