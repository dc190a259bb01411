"""The SVG text of a picture: letters as text, values to hover over, no more nodes than it shows, and short paths.

Matplotlib writes every point in full, and draws an inch of hatching of which a third each way already repeats itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as ET

SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
_SAID = "said "

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
    return shortened(re.sub(r"-?\d+\.\d{3,}", _rounded, text))


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
    if node.get("transform", "").startswith("rotate(-0 "):
        del node.attrib["transform"]
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
        found = re.search(r"font-size: [^;]+; font-family: [^;]+|font: [^;]+", style)
        if found:
            yield found.group(), style, node


def _is(node: ET.Element, *tags: str) -> bool:
    return str(node.tag).removeprefix(f"{{{SVG}}}") in tags


def _rounded(match: re.Match[str]) -> str:
    return f"{float(match.group()):.2f}".rstrip("0").rstrip(".")


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
