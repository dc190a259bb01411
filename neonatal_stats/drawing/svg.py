"""The SVG text of a picture: letters as text, values to hover over, no more nodes than it shows."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree as ET

SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
_SAID = "said "
ROUNDING = 0.03  # places are kept to a hundredth

ET.register_namespace("", SVG)
ET.register_namespace("xlink", XLINK)


def said(artist: Any, words: str) -> None:
    """Give a mark, line or bar the words that a reader sees who points at it."""
    artist.set_gid(_SAID + words)


def finished(svg: str, name: str) -> str:
    """What was drawn, without groups that hold nothing or only hold together, its ids prefixed with a name.

    Places are kept to a hundredth of a point, which is finer than any print. Words given by `said` become titles.
    """
    root = ET.fromstring(svg[svg.index("<svg") :])
    used = set(re.findall(r"url\(#([^)]+)\)", svg)) | set(re.findall(r'xlink:href="#([^"]+)"', svg))
    _tidy(root, used, name)
    common = _common_font(root)
    if common:
        root.set("style", common)
    text = ET.tostring(root, encoding="unicode")
    text = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", text)
    text = re.sub(r"-?\d+\.\d{3,}", _rounded, text)
    return re.sub(r'(?<= d=")[^"]+', lambda path: _shorter(path.group()), text)


def _tidy(parent: ET.Element, used: set[str], name: str) -> None:
    """Unwrap, empty and name what lies below a node."""
    children: list[ET.Element] = []
    for child in parent:
        _tidy(child, used, name)
        children += _kept(child, used, name)
    parent[:] = children
    if not _is(parent, "text", "style", "title"):
        parent.text = None
    parent.tail = None


def _kept(node: ET.Element, used: set[str], name: str) -> list[ET.Element]:
    """The node itself, what it holds, or nothing."""
    if _is(node, "metadata"):
        return []
    told = node.get("id", "")
    if told in used:
        node.set("id", f"{name}-{told}")
    elif told:
        del node.attrib["id"]
    if node.get(f"{{{XLINK}}}href", "").startswith("#"):
        node.set(f"{{{XLINK}}}href", f"#{name}-{node.get(f'{{{XLINK}}}href', '')[1:]}")
    if told.startswith(_SAID):
        return [_titled(node, told.removeprefix(_SAID))]
    if _is(node, "g", "defs") and not node.attrib:
        return list(node) if _is(node, "g") or not len(node) else [node]
    return [node]


def _titled(node: ET.Element, words: str) -> ET.Element:
    """The node, or the only one in it, with words to hover over."""
    shown = [child for child in node if not _is(child, "defs")]
    if _is(node, "g") and not node.attrib and len(shown) == 1 and len(node) == 1:
        node = shown[0]
    title = ET.Element(f"{{{SVG}}}title")
    title.text = words
    node.insert(0, title)
    return node


def _common_font(root: ET.Element) -> str:
    """The font that most of the letters have, taken off each; letters that differ keep their own."""
    fonts: dict[str, int] = {}
    for font, _, _ in _fonts(root):
        fonts[font] = fonts.get(font, 0) + 1
    common = max(fonts, key=lambda font: (fonts[font], font), default="")
    for font, style, node in list(_fonts(root)):
        if font == common:
            rest = style.replace(font, "").strip("; ")
            node.set("style", rest) if rest else node.attrib.pop("style")
    return common


def _fonts(root: ET.Element) -> Iterator[tuple[str, str, ET.Element]]:
    for node in root.iter(f"{{{SVG}}}text"):
        style = node.get("style", "")
        found = re.match(r"font: [^;]+", style)
        if found:
            yield found.group(), style, node


def _is(node: ET.Element, *tags: str) -> bool:
    return str(node.tag).removeprefix(f"{{{SVG}}}") in tags


_AT = r"(-?[\d.]+) (-?[\d.]+)"
_PAST = r"(?: -?[\d.]+){4}"  # the two places that a curve bends towards
_BEND = rf"\s+C{_PAST} {_AT}"
_ROUND = re.compile(rf"M {_AT}{_BEND * 8}\s+z")


def _shorter(path: str) -> str:
    """The same path in fewer letters: a circle, eight curves as drawn, as two arcs; a step by its one new place.

    The circles of dotted hatches and the steps of curves are half of a page's size otherwise.
    """
    packed = re.sub(r"\s+(?=[A-Za-z])|(?<=[A-Za-z])\s+", "", _ROUND.sub(_arcs, path)).strip()
    return "".join(_steps(re.findall("[A-Za-z][^A-Za-z]*", packed)))


def _steps(strokes: list[str]) -> Iterator[str]:
    """Lines to the side, or up and down, by their new place alone."""
    here: list[str] = []
    for stroke in strokes:
        kind, there = stroke[0], stroke[1:].split()
        if kind == "L" and len(there) == len(here) == 2:
            level, upright = here[1] == there[1], here[0] == there[0]
            yield f"H{there[0]}" if level else f"V{there[1]}" if upright else stroke
        else:
            yield stroke
        here = there if kind in "ML" else []


def _arcs(match: re.Match[str]) -> str:
    """Two arcs, where the eight curves' ends lie on a circle; else the path as it is."""
    start, *ends = zip(*[iter(map(float, match.groups()))] * 2, strict=True)
    (x, y), (_, foot) = start, ends[3]
    radius = abs(foot - y) / 2
    away = [abs(math.hypot(a - x, b - (y + foot) / 2) - radius) for a, b in ends]
    if max(away) > ROUNDING or ends[-1] != start:
        return match.group()
    arc = f"a{radius:g} {radius:g} 0 1 0 0"
    return f"M{x:g} {y:g}{arc} {foot - y:g}{arc} {y - foot:g}z"


def _rounded(match: re.Match[str]) -> str:
    return f"{float(match.group()):.2f}".rstrip("0").rstrip(".")
