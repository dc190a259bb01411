"""The words of a finished picture and the boxes that they take, read off its SVG as a browser would set them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple
from xml.etree import ElementTree as ET

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

from neonatal_stats.drawing.svg import SVG

ASCENT, DESCENT = 0.76, 0.24  # of the size: the tallest and the deepest letters of DejaVu Sans
TOUCH = 0.6  # points by which two boxes may meet


class Box(NamedTuple):
    """Some words, the box around them and the size of their letters, in points of the drawing."""

    words: str
    left: float
    top: float
    right: float
    bottom: float
    size: float


@lru_cache(maxsize=1)
def boxes(svg: str) -> tuple[Box, ...]:
    """Every text of the drawing; whoever asks one thing after the other of a drawing has it measured once."""
    root = ET.fromstring(svg)
    return tuple(box for node in root.iter(f"{{{SVG}}}text") for box in _box(node, root.get("style", "")))


def _box(node: ET.Element, common: str) -> Iterator[Box]:
    words = "".join(node.itertext())
    style = f"{common}; {node.get('style', '')}"
    sizes = re.findall(r"([\d.]+)px", style)
    size, bold = float(sizes[-1]), bool(re.search(r"font-weight: (bold|[6-9]00)|font: (bold|[6-9]00)", style))
    letters = FontProperties(family="DejaVu Sans", size=size, weight="bold" if bold else "normal")
    wide = text_to_path.get_text_width_height_descent(words, letters, False)[0]
    transform = node.get("transform", "")
    moved = re.search(r"translate\(([-\d.]+)[ ,]+([-\d.]+)\)", transform)
    x, y = (float(one) for one in (moved.groups() if moved else (node.get("x", "0"), node.get("y", "0"))))
    anchor = re.search(r"text-anchor: (\w+)", style)
    before = {"middle": wide / 2, "end": wide}.get(anchor.group(1) if anchor else "start", 0.0)
    turned = re.search(r"rotate\(-?90", transform)
    if words.strip() and turned:
        yield Box(words, x - ASCENT * size, y - wide + before, x + DESCENT * size, y + before, size)
    elif words.strip():
        yield Box(words, x - before, y - ASCENT * size, x - before + wide, y + DESCENT * size, size)


def cut(svg: str) -> list[Box]:
    """The words that reach beyond the drawing."""
    _, _, wide, high = (float(one) for one in ET.fromstring(svg).get("viewBox", "").split())
    return [
        box
        for box in boxes(svg)
        if box.left < -TOUCH or box.top < -TOUCH or box.right > wide + TOUCH or box.bottom > high + TOUCH
    ]


def overlapping(svg: str) -> list[tuple[str, str]]:
    """Every two words that are written over each other."""
    return [
        (one.words, other.words)
        for one, other in combinations(boxes(svg), 2)
        if min(one.right, other.right) - max(one.left, other.left) > TOUCH
        and min(one.bottom, other.bottom) - max(one.top, other.top) > 0.3 * min(one.size, other.size)
    ]


def hovered(svg: str) -> list[str]:
    """What a reader sees who points at one mark after the other."""
    return [node.text or "" for node in ET.fromstring(svg).iter(f"{{{SVG}}}title")]
