"""How far letters and marks stand apart from what lies under them, read from the SVG text of a picture.

Grid lines (the colour `RULE`), translucent bands and layers, and what is the paper's own colour are no marks. What the
paper's colour sets apart from its neighbours, as an outline, as a wider line below or as the filling of a ring, is held
against the paper.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple
from xml.etree import ElementTree as ET

from matplotlib.path import Path

from neonatal_stats.drawing.colours import DARK, PAPER, RULE, contrast
from neonatal_stats.drawing.lettering import width_pt
from neonatal_stats.drawing.svg import SVG

LETTERS, MARKS = 4.5, 3.0
BLACK = "#000000"


AROUND = ((0.0, 0.0), (0.6, 0.0), (-0.6, 0.0), (0.0, 0.6), (0.0, -0.6))
"""A place lies on a shape where its surroundings do: an axis along the foot of a bar is not drawn on the bar."""


class Pale(NamedTuple):
    """Letters or a mark too near in colour to what lies under them."""

    what: str
    colour: str
    ground: str
    ratio: float
    words: str


@dataclass
class Reading:
    """An SVG text read in the order in which it is painted."""

    dark: bool
    patterns: dict[str, str]
    grounds: list[tuple[Path, str]] = field(default_factory=list)
    halos: set[str] = field(default_factory=set)

    def shown(self, colour: str) -> str:
        return DARK.get(colour, colour) if self.dark else colour

    def under(self, x: float, y: float) -> str:
        """The colour last painted at a place."""
        places = [(x + aside, y + down) for aside, down in AROUND]
        return next(
            (colour for shape, colour in reversed(self.grounds) if shape.contains_points(places).all()), PAPER
        )

    def ratio(self, colour: str, ground: str) -> float:
        return contrast(self.shown(colour), self.shown(ground))


def too_pale(svg: str, *, dark: bool) -> list[Pale]:
    """What does not stand apart, letters by 4.5 and marks by 3 (as `drawing.colours` has it from the guidelines)."""
    root = ET.fromstring(svg)
    found = []
    reading = Reading(dark, _patterns(root))
    for node, style in _painted(root, {}):
        if node.tag == f"{{{SVG}}}text":
            found += _letters(reading, node, style)
        else:
            found += _mark(reading, node, style)
    return found


def _patterns(root: ET.Element) -> dict[str, str]:
    """The ground of each hatching, by its name."""
    grounds = {}
    for pattern in root.iter(f"{{{SVG}}}pattern"):
        rectangle = pattern.find(f"{{{SVG}}}rect")
        assert rectangle is not None
        grounds[f"url(#{pattern.get('id')})"] = rectangle.get("fill", BLACK)
    return grounds


def _painted(node: ET.Element, inherited: dict[str, str]) -> Iterator[tuple[ET.Element, dict[str, str]]]:
    """Every text and shape with its style, in order; not what is only kept for use."""
    style = inherited | _style(node)
    for child in node:
        tag = child.tag.removeprefix(f"{{{SVG}}}")
        if tag in ("text", "path", "use", "rect"):
            yield child, style | _style(child)
        elif tag in ("g", "svg"):
            yield from _painted(child, style)


def _style(node: ET.Element) -> dict[str, str]:
    parts = (part.split(":", 1) for part in node.get("style", "").split(";") if ":" in part)
    style = {name.strip(): value.strip() for name, value in parts}
    return {name: node.get(name, "") for name in ("fill", "stroke") if node.get(name)} | style


def _letters(reading: Reading, node: ET.Element, style: dict[str, str]) -> Iterator[Pale]:
    words, colour = "".join(node.itertext()), style.get("fill", BLACK)
    if not words.strip():
        return
    ground = PAPER
    if not re.search("rotate", node.get("transform", "")):
        x, y = float(node.get("x", 0)), float(node.get("y", 0))
        shift = {"middle": 0.0, "end": -0.5}.get(style.get("text-anchor", "start"), 0.5)
        ground = reading.under(x + shift * width_pt(words), y - 3)
    ratio = reading.ratio(colour, ground)
    if ratio < LETTERS:
        yield Pale("letters", colour, ground, round(ratio, 2), words)


def _mark(reading: Reading, node: ET.Element, style: dict[str, str]) -> Iterator[Pale]:
    points = _points(node)
    fill, stroke = style.get("fill", BLACK), style.get("stroke", "none")
    painted = reading.patterns.get(fill, fill)
    clear = any(float(style.get(name, 1)) < 1 for name in ("opacity", "fill-opacity"))
    colours = {one for one in (painted, stroke) if one not in ("none", PAPER, RULE)}
    if colours and points and not clear:
        apart = PAPER in (stroke, painted) or node.get("d", "") in reading.halos
        ground = PAPER if apart else reading.under(*_somewhere(points, line=fill == "none"))
        ratio, colour = max((reading.ratio(one, ground), one) for one in colours)
        if ratio < MARKS and ground != colour:
            title = node.find(f"{{{SVG}}}title")
            yield Pale("mark", colour, ground, round(ratio, 2), str(title.text) if title is not None else "")
    if stroke == PAPER and fill == "none":
        reading.halos.add(node.get("d", ""))
    if painted != "none" and not clear and len(points) > 2:
        reading.grounds.append((Path(points), painted))


def _somewhere(points: list[tuple[float, float]], *, line: bool) -> tuple[float, float]:
    """A place on a line, or in the middle of what is filled."""
    if line:
        return points[len(points) // 2]
    x, y = zip(*points, strict=True)
    return (min(x) + max(x)) / 2, (min(y) + max(y)) / 2


def _points(node: ET.Element) -> list[tuple[float, float]]:
    """The places through which a shape runs; where a kept one is used, its place."""
    if node.tag == f"{{{SVG}}}path":
        return _way(node.get("d", ""))
    x, y, wide, high = (float(node.get(name, 0)) for name in ("x", "y", "width", "height"))
    return [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)] if wide else [(x, y)]


def _way(path: str) -> list[tuple[float, float]]:
    """The places of a path, command by command."""
    found = [(0.0, 0.0)]
    for command, numbers in re.findall(r"([MLHVhCQAz])([^MLHVhCQAz]*)", path):
        values = [float(number) for number in numbers.split()]
        if command in "MLCQ":
            found += zip(values[::2], values[1::2], strict=True)
        elif command == "A":
            found.append((values[-2], values[-1]))
        elif command == "H":
            found.append((values[0], found[-1][1]))
        elif command == "V":
            found.append((found[-1][0], values[0]))
    return found[1:]
