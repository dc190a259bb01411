"""Physical lines of a text file as rows of cells: quotation marks left open, rows run together, a file cut off.

What stands in each column is learnt from whole rows, for a broken row to be held against.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from neonatal_stats.season.finding import Said, say
from neonatal_stats.season.grid import LONGEST_CELL, Remark

PIECES = re.compile(r"\d+|[^\W\d_]+")
MOST_SHAPES = 8
COVERED = 0.97
FEWEST = 4
LONGEST_SHAPE = 40
SEPARATORS = (",", ";", "\t", "|")
SEPARATOR_WORDS = {",": say("comma"), ";": say("semicolon"), "\t": say("tab"), "|": say("bar")}
LINE_END = re.compile(r"\r\n|\r|\n")
LONGEST_NOTE = 60
MOST_WRAPPED = 5
SHORT_ROWS = 0.05
LEARNT_FROM = 3_000
LOOKED_AT = 30

CHANGED = say("look at these lines and save the file again with one separator throughout")
STRAY = say("take the stray quotation mark out and save the file again")
JOINED = say("put the text in quotation marks, or take the separator out of it")
UNWRAPPED = say("take the line end out of the text, or put the text in quotation marks")
PARTED = say("write each newborn on a line of its own")
TOO_MANY = (
    say("the row has more cells than there are headings, so its cells may have moved"),
    say("look for a separator inside a text of this row and put that text in quotation marks"),
)
TOO_FEW = (
    say("the row has fewer cells than there are headings, so its cells may have moved"),
    say("look for a separator that is missing in this row"),
)
FETCHED = say("fetch or save the whole file again")


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


@dataclass
class Rows:
    """Rows of cells, in the order of the file's lines.

    ``starts`` is the line (from 1) on which a row begins and ``spans`` how many lines it takes, 0 for the second row
    on one line. ``aside`` holds rows, by place, of which no whole row can be made, with what is wrong and what to do.
    """

    cells: list[list[str]] = field(default_factory=list)
    starts: list[int] = field(default_factory=list)
    spans: list[int] = field(default_factory=list)
    aside: list[tuple[int, Said, Said]] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)

    def add(self, cells: list[str], start: int, span: int = 1) -> None:
        """Put a row below the others."""
        self.cells.append(cells)
        self.starts.append(start)
        self.spans.append(span)


def count_lines(text: str) -> int:
    """The lines of a text, whatever ends them; a last line without an end counts too."""
    ends = text.count("\n") + text.count("\r") - text.count("\r\n")
    return ends + (bool(text) and text[-1] not in "\r\n")


def read_lines(text: str, separator: str) -> Rows:
    """The rows of a text whose lines do not all split into one number of cells, each line looked at.

    A cell may go on over several lines only where these are no rows themselves. A line that splits into whole rows
    in another way (another separator, a quotation mark taken as a sign like any other, a separator inside a text,
    two rows on one line) is split in that way, and said; a line that cannot be made whole is named to be set aside.
    """
    lines = LINE_END.split(text)
    unended = lines[-1] != ""
    if not unended:
        lines.pop()
    usual = _usual_width(lines, separator)
    columns = Columns(_good(lines, separator, usual), usual)
    return _Mender(lines, separator, columns, unended).rows


def _usual_width(lines: Sequence[str], separator: str) -> int:
    """The number of cells that most lines have, or that the headings have where these are more.

    Lines with an odd number of quotation marks do not count.
    """
    sizes = Counter(
        line.count(separator) + 1 if '"' not in line else len(split(line, separator)[0])
        for line in lines
        if line and line.count('"') % 2 == 0
    )
    wide = {size: count for size, count in sizes.items() if size > 1}
    usual = max(wide, key=lambda size: (wide[size], size)) if wide else 1
    first = (split(line, separator)[0] for line in lines[:LOOKED_AT])
    return max(usual, next((len(cells) for cells in first if _are_headings(cells)), 1))


def _are_headings(cells: Sequence[str]) -> bool:
    """True for cells that are all filled, with different words."""
    words = [cell.strip().casefold() for cell in cells]
    return (
        len(words) > 2 and all(re.match(r"[^\W\d]", word) for word in words) and len({*words}) == len(words)
    )


def _good(lines: Sequence[str], separator: str, usual: int) -> Iterator[list[str]]:
    step = max(1, len(lines) // LEARNT_FROM)
    for at, line in enumerate(lines[::step]):
        if line.count('"') % 2 == 0:
            cells, _ = split(line, separator)
            if len(cells) == usual and not (at < LOOKED_AT and _are_headings(cells)):
                yield cells


def split(text: str, separator: str) -> tuple[list[str], bool]:
    """The cells of a text as CSV has them, and whether a quotation mark is left open at its end."""
    if '"' not in text:
        return text.split(separator), False
    cells: list[str] = []
    at = 0
    while True:
        if text[at : at + 1] == '"':
            end = _closing(text, at + 1)
            if end < 0:
                return [*cells, text[at + 1 :]], True
            stop = text.find(separator, end + 1)
            rest = text[end + 1 :] if stop < 0 else text[end + 1 : stop]
            cells.append(text[at + 1 : end].replace('""', '"') + rest)
        else:
            stop = text.find(separator, at)
            cells.append(text[at:] if stop < 0 else text[at:stop])
        if stop < 0:
            return cells, False
        at = stop + 1


def _closing(text: str, at: int) -> int:
    """Where the quotation mark stands that closes a cell; two together are one inside it."""
    while (end := text.find('"', at)) >= 0 and text[end + 1 : end + 2] == '"':
        at = end + 2
    return end


def plainly_split(line: str, separator: str) -> list[str]:
    """The cells where a quotation mark is a sign like any other; one left over at a cell's edge is dropped."""
    return [_unquoted(cell) for cell in line.split(separator)]


def _unquoted(cell: str) -> str:
    if len(cell) > 1 and cell[0] == cell[-1] == '"':
        return cell[1:-1].replace('""', '"')
    if cell.count('"') != 1:
        return cell
    inches = cell[-1] == '"' and cell[-2:-1].isdigit()
    return cell if inches else cell.removeprefix('"').removesuffix('"')


class _Mender:
    """Goes down the lines once and makes rows of them."""

    def __init__(self, lines: Sequence[str], separator: str, columns: Columns, unended: bool) -> None:
        self._lines, self._separator, self._columns = lines, separator, columns
        self._strays: list[int] = []
        self._changed: dict[str, list[int]] = {}
        self._joined: list[tuple[int, str]] = []
        self._parted: list[int] = []
        self._wrapped: list[int] = []
        self._headed = False
        self.rows = Rows()
        place = 0
        while place < len(lines):
            place += self._read(place)
        self._look_at_the_end(unended)
        self._say()

    def _read(self, place: int) -> int:
        """Make a row, or two, of the line at this place; returns how many lines went into it."""
        line, width = self._lines[place], self._columns.width
        cells, left_open = self._split(line)
        if left_open:
            span, cells = self._gone_on(place)
            if span > 1:
                self.rows.add(cells, place + 1, span)
                return span
            self._strays.append(place + 1)
        self._headed |= len(cells) == width
        if not line or len(cells) == width or width == 1:
            self.rows.add(cells if line else [], place + 1)
        elif self._headed and (whole := self._over_several(place, cells)) is not None:
            span, cells = whole
            self._wrapped.append(place + 1)
            self.rows.add(cells, place + 1, span)
            return span
        elif self._headed:
            self._mend(line, cells, place + 1)
        else:
            self.rows.add(self._differently(line, place + 1) or cells, place + 1)
        return 1

    def _split(self, line: str) -> tuple[list[str], bool]:
        if '"' in line and line.count('"') % 2 == 0 and len(line) <= LONGEST_CELL:
            return next(csv.reader((line,), delimiter=self._separator)), False
        return split(line, self._separator)

    def _gone_on(self, place: int) -> tuple[int, list[str]]:
        """A cell that goes on over the next lines, which are no rows themselves; else the line alone, split plainly.

        Where the first line is no whole row by itself, a line that closes the cell may look like one.
        """
        alone = plainly_split(self._lines[place], self._separator)
        whole = self._are_row(alone)
        text = self._lines[place]
        for at in range(place + 1, min(place + LONGEST_NOTE, len(self._lines))):
            line = self._lines[at]
            if len(text) > LONGEST_CELL or ((whole or line.count('"') % 2 == 0) and self._is_row(line)):
                break
            text += "\n" + line
            cells, left_open = split(text, self._separator)
            if not left_open:
                return (at + 1 - place, cells) if len(cells) <= self._columns.width else (1, alone)
        return 1, alone

    def _over_several(self, place: int, cells: list[str]) -> tuple[int, list[str]] | None:
        """A short row that the next lines make whole, none of which is a row: a line end stands inside it."""
        width = self._columns.width
        for at in range(place + 1, min(place + MOST_WRAPPED, len(self._lines))):
            if len(cells) >= width or not self._lines[at] or '"' in self._lines[at]:
                return None
            rest = self._lines[at].split(self._separator)
            if len(cells) + len(rest) - 1 > width or self._columns.fit(rest) or not cells[-1] + rest[0]:
                return None
            ways = [[*cells[:-1], cells[-1] + between + rest[0], *rest[1:]] for between in ("", " ")]
            known = [way for way in ways if self._columns.holds(len(cells) - 1, way[len(cells) - 1])]
            cells = (known or ways[::-1])[0]
            if len(cells) == width and self._columns.surely(cells):
                return at + 1 - place, cells
        return None

    def _is_row(self, line: str) -> bool:
        """True for a line that splits into a whole row by itself."""
        return self._are_row(plainly_split(line, self._separator))

    def _are_row(self, cells: list[str]) -> bool:
        width = self._columns.width
        if len(cells) < 3 or len(cells) > width:
            return False
        return self._columns.surely(cells) if len(cells) < max(4, width) else True

    def _mend(self, line: str, cells: list[str], number: int) -> None:
        """A row of too many or too few cells: split otherwise where that makes it whole, else set aside."""
        width, over = self._columns.width, len(cells) > self._columns.width
        if over and not any(map(str.strip, cells[width:])) and self._columns.fit(cells[:width]):
            self.rows.add(cells[:width], number)
        elif (other := self._differently(line, number)) is not None:
            self.rows.add(other, number)
        elif (two := self._columns.two_rows(cells)) is not None:
            self._parted.append(number)
            self.rows.add(two[0], number)
            self.rows.add(two[1], number, 0)
        elif over and (whole := self._columns.joined(cells, self._separator)) is not None:
            self._joined.append((number, next(cell for cell in whole if self._separator in cell)))
            self.rows.add(whole, number)
        else:
            if over:
                self.rows.aside.append((len(self.rows.cells), *TOO_MANY))
            elif self._columns.shifted(cells):
                self.rows.aside.append((len(self.rows.cells), *TOO_FEW))
            self.rows.add(cells, number)

    def _differently(self, line: str, number: int) -> list[str] | None:
        """The line split into a whole row by another separator, or with its quotation marks taken as signs."""
        for separator in SEPARATORS:
            if separator not in line:
                continue
            ways = [plainly_split(line, separator)] if '"' in line else []
            if separator != self._separator:
                ways.insert(0, split(line, separator)[0])
            for cells in ways:
                headings = not self._headed and len(cells) >= 4
                if len(cells) == self._columns.width and (headings or self._columns.fit(cells)):
                    if separator == self._separator:
                        self._strays.append(number)
                    else:
                        self._changed.setdefault(separator, []).append(number)
                        self._headed = True
                    return cells
        return None

    def _look_at_the_end(self, unended: bool) -> None:
        """A last row that is shorter than the others was cut off."""
        cells, width = self.rows.cells, self._columns.width
        if unended and len(self._lines) in self._strays:
            said = say("the file ends inside a quotation mark; it may be cut off")
            self.rows.remarks.append(Remark("", said, FETCHED, "asked", "outcome"))
        filled = [len(row) for row in cells if any(cell.strip() for cell in row)]
        short = sum(size < width for size in filled[:-1])
        if not filled or not cells[-1] or not 0 < len(cells[-1]) < width or short > SHORT_ROWS * len(filled):
            return
        last = len(cells) - 1
        if not self._columns.begun(cells[-1]) or last in {place for place, _, _ in self.rows.aside}:
            return
        if unended:
            problem = say("the file ends in the middle of this line; what stood after it is lost")
            self.rows.aside.append((last, problem, FETCHED))
            said = say(
                "the file is cut off: its last line, {line}, ends in its middle", line=self.rows.starts[-1]
            )
            self.rows.remarks.append(Remark("", said, FETCHED, "asked", "outcome"))
        elif len(cells[-1]) >= 3:
            problem = say("the last line has fewer cells than the others; the file may be cut off")
            self.rows.aside.append((last, problem, FETCHED))

    def _say(self) -> None:
        add = self.rows.remarks.append
        if self._strays:
            problem = say(
                "a quotation mark is opened or stands astray on {lines}; every line was read as a row of its own, so "
                "that it swallows none",
                lines=said_lines(self._strays),
            )
            add(Remark("", problem, STRAY, "asked"))
        for separator, numbers in self._changed.items():
            problem = say(
                "the cells are parted by another sign on {lines}; there they were split at each {sign}",
                lines=said_lines(numbers),
                sign=SEPARATOR_WORDS[separator],
            )
            add(Remark("", problem, CHANGED, "asked"))
        if self._joined:
            _, text = self._joined[0]
            problem = say(
                "a text holds the sign that parts the cells on {lines} ({text}); it was taken as one cell, as all "
                "other cells then stand under their headings",
                lines=said_lines([number for number, _ in self._joined]),
                text=text.strip()[:60],
            )
            add(Remark("", problem, JOINED, "asked"))
        if self._wrapped:
            problem = say(
                "a line ends inside a row on {lines}; it was read as one row with what follows",
                lines=said_lines(self._wrapped),
            )
            add(Remark("", problem, UNWRAPPED, "asked"))
        if self._parted:
            problem = say(
                "two rows stand on one line ({lines}); they were read as two", lines=said_lines(self._parted)
            )
            add(Remark("", problem, PARTED, "asked"))


def said_lines(numbers: Sequence[int]) -> Said:
    """Line numbers for a sentence: the first and the last, and how many.

    >>> str(said_lines([7])), str(said_lines([7, 8])), str(said_lines([7, 9, 12]))
    ('line 7', 'lines 7 and 8', '3 lines from 7 to 12')
    """
    if len(numbers) == 1:
        return say("line {first}", first=numbers[0])
    if len(numbers) == 2:
        return say("lines {first} and {last}", first=numbers[0], last=numbers[1])
    return say("{n} lines from {first} to {last}", n=len(numbers), first=numbers[0], last=numbers[-1])
