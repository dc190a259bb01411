"""A book of records being spoiled: its rows, and what must come of them when it is read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from tests.season.mutators.truth import COLUMNS, Newborn, known_births


@dataclass(eq=False)
class Row:
    """One row: its cells by heading, the newborn it stands for, and where it will stand in the file."""

    cells: dict[str, object]
    newborn: Newborn | None
    number: int = 0


@dataclass(frozen=True)
class Said:
    """A line that the problem list must hold."""

    row: Row | None
    column: str
    problem: str
    ended: str


@dataclass(eq=False)
class Book:
    """Headings, rows, the styles in which cells are written, and what reading must give.

    ``births`` are the newborns that must come out, ``said`` the problem list, ``sentence`` the one sentence where the
    book cannot be read ({file} stands for its name).
    """

    rng: np.random.Generator
    headings: list[str]
    rows: list[Row]
    births: list[Newborn]
    said: list[Said] = field(default_factory=list)
    sentence: str = ""
    map_text: str = ""
    settings_text: str = ""
    moment: str = "%Y-%m-%d %H:%M"
    decimal: str = "."
    title_rows: int = 0
    upper_headings: list[str] | None = None
    rows_read: int | None = None

    def row_of(self, newborn: Newborn) -> Row:
        """The row that stands for a newborn."""
        return next(row for row in self.rows if row.newborn is newborn)

    def some(self, count: int, which: Callable[[Newborn], bool]) -> list[Newborn]:
        """A few newborns of a kind, drawn by the book's generator."""
        fitting = [newborn for newborn in self.births if which(newborn)]
        assert len(fitting) >= count, "the truth holds too few of the kind"
        return [fitting[place] for place in sorted(self.rng.choice(len(fitting), count, replace=False))]

    def say(self, newborn: Newborn, column: str, problem: str, ended: str) -> None:
        """Expect a line about the row of a newborn."""
        self.said.append(Said(self.row_of(newborn), column, problem, ended))

    def lose(self, newborn: Newborn) -> None:
        """Expect that a newborn does not come out."""
        self.births.remove(newborn)


Mutator = Callable[[Book], None]


def fresh_book(number: int) -> Book:
    """The truth as a clean book: one row a newborn, tidy headings."""
    births = known_births(number)
    rows = [Row(dict(newborn), newborn) for newborn in births]
    return Book(np.random.default_rng(number + 1), list(COLUMNS), rows, list(births))


def shown(cell: object, book: Book) -> str:
    """A cell as text in the book's style."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.strftime(book.moment)
    if isinstance(cell, float):
        return f"{cell:.12g}".replace(".", book.decimal)
    return str(cell)
