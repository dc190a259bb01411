"""Workbooks, XLSX and ODS: what their parts say before any cell is read, then every sheet with a cell.

The parts tell bounds, hidden rows, formulas without a value and formats. Rows that are struck out or red are told: so
some farms mark their dead, where no cell says so.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from posixpath import join, normpath
from typing import Any
from xml.parsers import expat

from neonatal_stats.season.files.header import letters
from neonatal_stats.season.finding import CannotRead, printable, say
from neonatal_stats.season.grid import Grid, Remark, check_cell, check_size

MOST_UNPACKED = 600_000_000
MOST_PARTS = 5_000
CHUNK = 1 << 18
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz$"
Attributes = dict[str, str]
Elements = Sequence[tuple[str, Attributes]]
STRUCK, RED = "the row is struck out", "the row is red"
RED_OF_THE_PALETTE = ("2", "10", "16")
MOST_PAINTED = 0.4
PARTS = ("fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs")


class Archive:
    """The parts of a workbook, each readable in chunks; sizes were checked when it was opened."""

    def __init__(self, name: str, data: bytes) -> None:
        """Open the archive and refuse one that would unpack to more than a season's records."""
        self.name = name
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
        except (zipfile.BadZipFile, NotImplementedError, ValueError):
            raise damaged(name) from None
        parts = self._zip.infolist()
        unpacked = sum(part.file_size for part in parts)
        if unpacked > MOST_UNPACKED or len(parts) > MOST_PARTS:
            raise CannotRead(
                f"{name}: it would unpack to {unpacked / 1e6:,.0f} MB in {len(parts):,} parts, more than the "
                f"{MOST_UNPACKED / 1e6:,.0f} MB accepted; keep only the sheets of the records and save it again."
            )
        if any(part.flag_bits & 1 for part in parts):
            raise CannotRead(f"{name}: it is locked with a password; save it without one.")

    @property
    def parts(self) -> list[str]:
        """The names of the parts."""
        return self._zip.namelist()

    def chunks(self, part: str) -> Iterator[bytes]:
        """A part, piece by piece; a part larger than it declares is refused."""
        try:
            with self._zip.open(part) as stream:
                while chunk := stream.read(CHUNK):
                    yield chunk
        except (
            zipfile.BadZipFile,
            EOFError,
            OSError,
            NotImplementedError,
            RuntimeError,
            ValueError,
            KeyError,
        ):
            raise damaged(self.name) from None
        except Exception as error:
            if type(error).__module__ == "zlib":
                raise damaged(self.name) from None
            raise

    def parse(self, part: str, parser: expat.XMLParserType) -> None:
        """Run a part through an XML parser that refuses document types, and with them entities."""
        parser.StartDoctypeDeclHandler = self._refuse
        try:
            for chunk in self.chunks(part):
                parser.Parse(chunk, False)
            parser.Parse(b"", True)
        except expat.ExpatError:
            raise damaged(self.name) from None

    def _refuse(self, *_: object) -> None:
        raise CannotRead(
            f"{self.name}: it declares a document type, which no spreadsheet writes; "
            "do not open it, and ask whoever sent it for a plain CSV."
        )

    def check_other_parts(self, seen: set[str]) -> None:
        """Unpack what was not parsed once, so that sizes are true and no part hides a document type."""
        for part in self.parts:
            if part in seen or part.endswith("/"):
                continue
            first = True
            for chunk in self.chunks(part):
                if first and part.endswith((".xml", ".rels")) and b"<!DOCTYPE" in chunk:
                    self._refuse()
                first = False


def damaged(name: str) -> CannotRead:
    """The sentence for a workbook that cannot be opened."""
    return CannotRead(
        f"{name}: the workbook is damaged, locked with a password or of another kind; "
        "open it, save it as XLSX without a password, and try again."
    )


@dataclass
class SheetParts:
    """One sheet: hidden rows and columns (from 1), cells whose formula has no value, cells shown with leading zeros."""

    rows: int = 0
    columns: int = 0
    hidden_rows: list[int] = field(default_factory=list)
    hidden_columns: list[int] = field(default_factory=list)
    valueless: list[tuple[int, int]] = field(default_factory=list)
    errors: dict[tuple[int, int], str] = field(default_factory=dict)
    padded: dict[tuple[int, int], int] = field(default_factory=dict)
    painted: dict[int, str] = field(default_factory=dict)


def xlsx_parts(archive: Archive) -> dict[str, SheetParts]:
    """The sheets of an XLSX workbook by name, looked over part by part in bounded memory."""
    seen = {"xl/sharedStrings.xml"} & set(archive.parts)
    for part in seen:
        _check_strings(archive, part)
    styles = _starts(archive, "xl/styles.xml")
    padded, paint = _padded_styles(styles), painted_styles(styles)
    sheets = {}
    for name, part in _sheet_files(archive).items():
        if part in archive.parts and "worksheets" in part:
            sheets[name] = _sheet(archive, name, part, padded, paint)
            seen.add(part)
    archive.check_other_parts(seen)
    return sheets


def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _starts(archive: Archive, part: str) -> list[tuple[str, Attributes]]:
    """All elements of a small part."""
    found: list[tuple[str, Attributes]] = []
    parser = expat.ParserCreate()
    parser.StartElementHandler = lambda name, attributes: found.append((_local(name), attributes))
    if part in archive.parts:
        archive.parse(part, parser)
    return found


def _sheet_files(archive: Archive) -> dict[str, str]:
    targets = {
        a.get("Id", ""): normpath(join("xl", a.get("Target", ""))) if not a.get("Target", "").startswith("/")
        else a["Target"].lstrip("/")
        for name, a in _starts(archive, "xl/_rels/workbook.xml.rels")
        if name == "Relationship"
    }  # fmt: skip
    sheets = [a for name, a in _starts(archive, "xl/workbook.xml") if name == "sheet"]
    return {a.get("name", ""): targets.get(_relation(a), "") for a in sheets}


def _relation(attributes: Attributes) -> str:
    return next((value for key, value in attributes.items() if _local(key) == "id" and ":" in key), "")


def _padded_styles(elements: Elements) -> dict[str, int]:
    """Styles of cells whose number format shows leading zeros, and to how many digits."""
    widths, styles, inside = {}, {}, False
    place = 0
    for name, a in elements:
        if name == "numFmt" and re.fullmatch("0{2,20}", a.get("formatCode", "")):
            widths[a.get("numFmtId")] = len(a["formatCode"])
        if name in ("cellXfs", "cellStyles", "cellStyleXfs", "dxfs"):
            inside = name == "cellXfs"
        elif name == "xf" and inside:
            if a.get("numFmtId") in widths:
                styles[str(place)] = widths[a.get("numFmtId")]
            place += 1
    return styles


class _SheetReader:
    """Follows the elements of one sheet."""

    def __init__(self, place: str, padded: dict[str, int], paint: dict[str, str]) -> None:
        self.found, self._place, self._padded = SheetParts(), place, padded
        self.paint = Paint(paint)
        self._row = self._column = 0
        self._formula = self._value = self._error = self._inside = False
        self._length = 0

    def start(self, name: str, a: Attributes) -> None:
        name = _local(name)
        if name == "c":
            self._cell(a)
            self._length = 0
        elif name == "v":
            self._inside = True
        elif name == "f":
            self._formula = True
        elif name == "row":
            self._row = int(a.get("r", self._row + 1))
            self._column = 0
            if a.get("hidden") in ("1", "true"):
                self.found.hidden_rows.append(self._row)
        elif name == "col" and a.get("hidden") in ("1", "true"):
            first, last = int(a.get("min", 1)), int(a.get("max", 1))
            self.found.hidden_columns += range(first, min(last, first + 2_000) + 1)

    def _cell(self, a: Attributes) -> None:
        if "r" in a:
            self._column = _column_number(a["r"])
            self._row = int(a["r"].lstrip(LETTERS) or 0)
        else:
            self._column += 1
        found = self.found
        if self._row > found.rows or self._column > found.columns:
            found.rows, found.columns = max(found.rows, self._row), max(found.columns, self._column)
            check_size(self._place, found.rows, found.columns)
        self.paint.cell(self._row, a.get("s", ""))
        self._formula = self._value = False
        self._error = a.get("t") == "e"
        if a.get("t", "n") == "n" and a.get("s") in self._padded:
            found.padded[self._row, self._column] = self._padded[a["s"]]

    def text(self, data: str) -> None:
        self._length += len(data)
        check_cell(self._place, self._length)
        if not self._inside:
            return
        self._value = True
        if self._error:
            self.found.errors[self._row, self._column] = data

    def end(self, name: str) -> None:
        self._inside = False
        if _local(name) != "c":
            return
        if self._formula and not self._value:
            self.found.valueless.append((self._row, self._column))
        self._error = self._formula = self._value = False


def _column_number(reference: str) -> int:
    number = 0
    for letter in reference:
        if not letter.isalpha():
            break
        number = number * 26 + ord(letter.upper()) - 64
    return number


def _sheet(
    archive: Archive, name: str, part: str, padded: dict[str, int], paint: dict[str, str]
) -> SheetParts:
    reader = _SheetReader(f"{archive.name}, sheet {name}", padded, paint)
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler, parser.EndElementHandler = reader.start, reader.end
    parser.CharacterDataHandler = reader.text
    try:
        archive.parse(part, parser)
    except ValueError:
        raise CannotRead(
            f"{archive.name}, sheet {name}: its cells are numbered in no known way; save it again."
        ) from None
    reader.found.painted = reader.paint.rows()
    return reader.found


def _check_strings(archive: Archive, part: str) -> None:
    """No text of the workbook may be longer than any cell is."""
    length = 0

    def text(data: str) -> None:
        nonlocal length
        length += len(data)
        check_cell(archive.name, length)

    def start(name: str, _: Attributes) -> None:
        nonlocal length
        if _local(name) == "si":
            length = 0

    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.CharacterDataHandler = start, text
    archive.parse(part, parser)


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
        return {row: paint for row, paint in found.items() if often[paint] <= MOST_PAINTED * len(self._cells)}


HIDDEN = ("collapse", "filter")
NOT_WORKED_OUT = "#VALUE!"


def ods_parts(archive: Archive) -> dict[str, SheetParts]:
    """The sheets of an ODS workbook by name; a cell repeated beyond any season's size is refused."""
    reader = _ContentReader(archive.name)
    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler = reader.start, reader.end
    parser.CharacterDataHandler = reader.text
    try:
        archive.parse("content.xml", parser)
    except ValueError:
        raise CannotRead(f"{archive.name}: its cells are numbered in no known way; save it again.") from None
    archive.check_other_parts({"content.xml"})
    return reader.sheets


class _ContentReader:
    """Counts how far the filled cells of each sheet reach."""

    def __init__(self, name: str) -> None:
        self.sheets: dict[str, SheetParts] = {}
        self._file, self._sheet, self._now = name, "", SheetParts()
        self._row = self._rows_repeated = self._column = self._length = 0

    def start(self, name: str, a: dict[str, str]) -> None:
        if name == "table:table":
            self._sheet, self._row, self._now = a.get("table:name", ""), 0, SheetParts()
            self.sheets[self._sheet] = self._now
            self._columns = 0
        elif name == "table:table-column":
            repeated = int(a.get("table:number-columns-repeated", 1))
            if a.get("table:visibility") in HIDDEN:
                self._now.hidden_columns += range(self._columns + 1, self._columns + 1 + min(repeated, 2_000))
            self._columns += repeated
        elif name == "table:table-row":
            self._rows_repeated = int(a.get("table:number-rows-repeated", 1))
            if a.get("table:visibility") in HIDDEN and self._rows_repeated < 100_000:
                self._now.hidden_rows += range(self._row + 1, self._row + 1 + self._rows_repeated)
            self._row += self._rows_repeated
            self._column = 0
        elif name in ("table:table-cell", "table:covered-table-cell"):
            self._cell(a)

    def _cell(self, a: dict[str, str]) -> None:
        self._length = 0
        self._column += int(a.get("table:number-columns-repeated", 1))
        if "office:value-type" in a or "calcext:value-type" in a:
            now = self._now
            now.rows, now.columns = max(now.rows, self._row), max(now.columns, self._column)
            check_size(f"{self._file}, sheet {self._sheet}", now.rows, now.columns)

    def end(self, name: str) -> None:
        """Nothing closes a count."""

    def text(self, data: str) -> None:
        self._length += len(data)
        check_cell(self._file, self._length)


def read_workbook(name: str, data: bytes, sha256: str) -> list[Grid]:
    """Every sheet that holds a cell, hidden ones too (and said); formulas by the value kept with them."""
    import python_calamine as calamine

    archive = Archive(name, data)
    if "content.xml" in archive.parts:
        parts = ods_parts(archive)
    elif "xl/workbook.xml" in archive.parts:
        parts = xlsx_parts(archive)
    else:
        raise damaged(name)
    try:
        book = calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        grids = [_grid(name, book, sheet, sha256, parts.get(sheet.name)) for sheet in book.sheets_metadata]
    except (calamine.CalamineError, calamine.PasswordError, calamine.ZipError, calamine.XmlError, OSError):
        raise damaged(name) from None
    return [grid for grid in grids if grid is not None]


def _grid(name: str, book: Any, metadata: Any, sha256: str, parts: SheetParts | None) -> Grid | None:
    if not str(metadata.typ).endswith(".WorkSheet"):
        return None
    sheet = book.get_sheet_by_name(metadata.name)
    if sheet.end is None:
        return None
    check_size(f"{name}, sheet {metadata.name}", sheet.end[0] + 1, sheet.end[1] + 1)
    rows = sheet.to_python(skip_empty_area=False)
    columns = [list(cells) for cells in zip(*rows, strict=True)]
    merged = tuple((*first, *last) for first, last in sheet.merged_cell_ranges or ())
    parts = parts or SheetParts()
    _mend(columns, parts)
    remarks = tuple(_hidden(parts, str(metadata.visible).endswith(".Visible")))
    named = printable(metadata.name)
    return Grid(name, named, columns, sha256, remarks, merged=merged, painted=parts.painted)


def _mend(columns: list[list[object]], parts: SheetParts) -> None:
    """Put back what the cell values alone do not show: leading zeros, errors, formulas never worked out."""
    height = len(columns[0]) if columns else 0
    inside = [(r, c) for r, c in parts.padded if r <= height and c <= len(columns)]
    for row, column in inside:
        value = columns[column - 1][row - 1]
        if isinstance(value, float | int) and value == int(value):
            columns[column - 1][row - 1] = f"{int(value):0{parts.padded[row, column]}d}"
    broken = {**parts.errors, **dict.fromkeys(parts.valueless, NOT_WORKED_OUT)}
    for (row, column), error in broken.items():
        if row <= height and column <= len(columns):
            columns[column - 1][row - 1] = error or NOT_WORKED_OUT


def _hidden(parts: SheetParts, visible: bool) -> Iterator[Remark]:
    """What a person who looks at the sheet may not know to be there."""
    if not visible:
        problem = say("the sheet is hidden in the workbook; it was read all the same")
        yield Remark("", problem, say("look at it"))
    remedy = say("nothing need be done if they belong to the records; else delete them and save again")
    if rows := [row for row in parts.hidden_rows if row <= parts.rows]:
        problem = say(
            "{n} hidden rows were read like all others, the first is row {row}",
            n=f"{len(rows):,}",
            row=f"{rows[0]:,}",
        )
        yield Remark("", problem, remedy)
    if columns := [letters(column - 1) for column in parts.hidden_columns if column <= parts.columns]:
        problem = say("hidden columns were read like all others: {columns}", columns=", ".join(columns[:10]))
        yield Remark("", problem, remedy)
