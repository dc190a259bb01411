"""What stands in each column of a text file, learnt from whole rows, for a broken row to be held against."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence

PIECES = re.compile(r"\d+|[^\W\d_]+")
MOST_SHAPES = 8
COVERED = 0.97
FEWEST = 4
LONGEST_SHAPE = 40


def shape(cell: str) -> str:
    """A cell with each number as 9 and each word as a.

    >>> shape("2026-04-13 05:30"), shape("NE-12"), shape("born dead")
    ('9-9-9 9:9', 'a-9', 'a a')
    """
    return PIECES.sub(lambda found: "9" if found[0][0].isdigit() else "a", cell.strip()[:LONGEST_SHAPE])


class Columns:
    """The shapes of the cells in each column; a column of free text knows none."""

    def __init__(self, rows: Iterable[Sequence[str]], width: int) -> None:
        """Learn from whole rows."""
        self.width = width
        kept = list(rows)
        columns = list(zip(*kept, strict=True)) if kept else [()] * width
        self._shapes = [_known(map(shape, filter(str.strip, cells))) for cells in columns]
        self._values = [frozenset(cell.strip() for cell in cells) for cells in columns]

    def misfits(self, cells: Sequence[str]) -> int:
        """How many filled cells have a shape that their column does not hold."""
        return sum(
            known is not None and bool(cell.strip()) and shape(cell) not in known
            for cell, known in zip(cells, self._shapes, strict=False)
        )

    def fit(self, cells: Sequence[str]) -> bool:
        """True where every filled cell has a shape of its column."""
        return self.misfits(cells) == 0

    def holds(self, place: int, cell: str) -> bool:
        """True for a cell that stands in that column in a whole row too."""
        return cell.strip() in self._values[place]

    def surely(self, cells: Sequence[str]) -> bool:
        """True where every filled cell fits and three at least stand in columns that know their shapes."""
        known = sum(
            known is not None and bool(cell.strip()) for cell, known in zip(cells, self._shapes, strict=False)
        )
        return known >= 3 and self.fit(cells)

    def shifted(self, cells: Sequence[str]) -> bool:
        """True for a short row that does not fit as it stands and would with one cell put in."""
        if len(cells) < max(3, self.width // 2) or self.fit(cells):
            return False
        return any(self.surely([*cells[:place], "", *cells[place:]]) for place in range(len(cells))) or (
            len(cells) == self.width - 1 and self.misfits(cells) >= 2
        )

    def begun(self, cells: Sequence[str]) -> bool:
        """True for cells that begin a row: all but the last fit, and the last begins like its column's."""
        *whole, last = cells
        if not self.fit(whole) or (not whole and not last.strip()):
            return False
        if any(cell.strip() for cell in whole):
            return True
        text = last.strip()
        return any(value.startswith(text) and value != text for value in self._values[0])

    def joined(self, cells: Sequence[str], separator: str) -> list[str] | None:
        """The row with as many neighbours joined as are too many, where all else then fits and in one way alone.

        Of several ways the one counts in which a space follows each separator, as it does in a text.
        """
        over = len(cells) - self.width
        exact, spaced = [], []
        for place in range(self.width):
            inside, before, after = cells[place : place + over + 1], cells[:place], cells[place + over + 1 :]
            if not all(cell.strip() for cell in inside) or not self.fit([*before, "", *after]):
                continue
            row = [*before, separator.join(inside), *after]
            if self.fit(row):
                exact.append(row)
            if all(cell[0] == " " for cell in inside[1:]) and self._takes_text(place):
                spaced.append(row)
        if len(exact) == 1:
            return exact[0]
        return spaced[0] if len(spaced) == 1 else None

    def _takes_text(self, place: int) -> bool:
        """True for a column of words, or of anything."""
        known = self._shapes[place]
        return known is None or not any("9" in one for one in known)

    def two_rows(self, cells: Sequence[str]) -> tuple[list[str], list[str]] | None:
        """Two rows that stand on one line, the last cell of the one perhaps run into the first of the other."""
        width = self.width
        if len(cells) == 2 * width:
            halves = list(cells[:width]), list(cells[width:])
            return halves if all(map(self.surely, halves)) else None
        if len(cells) != 2 * width - 1:
            return None
        run, found = cells[width - 1], []
        for place in range(len(run) + 1):
            halves = [*cells[: width - 1], run[:place]], [run[place:], *cells[width:]]
            if run[:place].strip() in self._values[-1] and all(map(self.surely, halves)):
                found.append(halves)
        sure = [halves for halves in found if halves[1][0].strip() in self._values[0]] or found
        return sure[0] if len(sure) == 1 else None


def _known(shapes: Iterable[str]) -> frozenset[str] | None:
    """The shapes of a column, None where it is free text (several words in a cell) or was hardly filled."""
    counted = Counter(shapes)
    common = counted.most_common(MOST_SHAPES)
    if counted.total() < FEWEST or sum(count for _, count in common) < COVERED * counted.total():
        return None
    known = frozenset(one for one, _ in common)
    is_text = "a a" in known and not any("9" in one for one in known)
    return None if is_text else known
