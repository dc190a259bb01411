"""Workbooks: XLSX and ODS."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any
from xml.parsers import expat

from neonatal_stats.season.files.header import letters
from neonatal_stats.season.files.workbook_parts import Archive, SheetParts, damaged, xlsx_parts
from neonatal_stats.season.finding import CannotRead, printable, say
from neonatal_stats.season.grid import Grid, Remark, check_cell, check_size

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
