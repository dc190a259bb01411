"""Rows of a workbook that are struck out or red: how some farms mark their dead, where no cell says so."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

Elements = Sequence[tuple[str, dict[str, str]]]
STRUCK, RED = "the row is struck out", "the row is red"
RED_OF_THE_PALETTE = ("2", "10", "16")
MOST = 0.4
PARTS = ("fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs")


def painted_styles(elements: Elements) -> dict[str, str]:
    """The cell styles, by their number, that strike out the text or make text or ground red.

    ``elements`` are the opening elements of a workbook's styles in their order, as (name, attributes).
    """
    fonts: list[str] = []
    fills: list[str] = []
    styles: dict[str, str] = {}
    inside, place = "", 0
    for name, a in elements:
        if name in PARTS:
            inside = name
        elif inside == "fonts":
            _font(fonts, name, a)
        elif inside == "fills":
            _fill(fills, name, a)
        elif inside == "cellXfs" and name == "xf":
            paint = _nth(fonts, a.get("fontId", "")) or _nth(fills, a.get("fillId", ""))
            if paint:
                styles[str(place)] = paint
            place += 1
    return styles


def _font(fonts: list[str], name: str, a: dict[str, str]) -> None:
    if name == "font":
        fonts.append("")
    elif fonts and name == "strike" and a.get("val", "1") not in ("0", "false"):
        fonts[-1] = STRUCK
    elif fonts and name == "color" and not fonts[-1] and _is_red(a):
        fonts[-1] = RED


def _fill(fills: list[str], name: str, a: dict[str, str]) -> None:
    if name == "fill":
        fills.append("")
    elif fills and name == "patternFill" and a.get("patternType") != "solid":
        fills[-1] = "none"
    elif fills and name == "fgColor" and fills[-1] != "none" and _is_red(a):
        fills[-1] = RED


def _nth(paints: list[str], place: str) -> str:
    paint = paints[int(place)] if place.isdigit() and int(place) < len(paints) else ""
    return "" if paint == "none" else paint


def _is_red(a: dict[str, str]) -> bool:
    """Red, or the pink that spreadsheets offer as light red."""
    if a.get("indexed") in RED_OF_THE_PALETTE:
        return True
    try:
        red, green, blue = (int(a.get("rgb", "")[-6:][place : place + 2], 16) for place in (0, 2, 4))
    except ValueError:
        return False
    return red >= 140 and red - max(green, blue) >= 40 and abs(green - blue) < 60


class Paint:
    """Counts, row by row, the cells of each paint while a sheet is read."""

    def __init__(self, styles: dict[str, str]) -> None:
        """``styles`` are the painted styles by number."""
        self._styles = styles
        self._cells: Counter[int] = Counter()
        self._painted: Counter[tuple[int, str]] = Counter()

    def cell(self, row: int, style: str) -> None:
        """Count a cell."""
        if not self._styles:
            return
        self._cells[row] += 1
        if paint := self._styles.get(style):
            self._painted[row, paint] += 1

    def rows(self) -> dict[int, str]:
        """The rows of which at least half of the cells have one paint, unless most of the sheet has it."""
        found = {row: paint for (row, paint), n in self._painted.items() if 2 * n >= self._cells[row]}
        often = Counter(found.values())
        return {row: paint for row, paint in found.items() if often[paint] <= MOST * len(self._cells)}
