"""Workbooks: XLSX and ODS."""

from __future__ import annotations

import io
from typing import Any

from neonatal_stats.season.files.archive import Archive, damaged
from neonatal_stats.season.files.header import letters
from neonatal_stats.season.files.opendocument_parts import ods_parts
from neonatal_stats.season.files.workbook_parts import SheetParts, xlsx_parts
from neonatal_stats.season.grid import Grid, Remark, check_size

NOT_WORKED_OUT = "#VALUE!"


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
    remarks: tuple[Remark, ...] = ()
    if not str(metadata.visible).endswith(".Visible"):
        remarks = (Remark("", "the sheet is hidden in the workbook; it was read all the same", "look at it"),)
    if parts is not None:
        _mend(columns, parts)
        remarks += tuple(_hidden(parts))
    return Grid(name, metadata.name, columns, sha256, remarks, merged=merged)


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


def _hidden(parts: SheetParts) -> list[Remark]:
    remarks = []
    remedy = "nothing need be done if they belong to the records; else delete them and save again"
    rows = [row for row in parts.hidden_rows if row <= parts.rows]
    if rows:
        problem = f"{len(rows):,} hidden rows were read like all others, the first is row {rows[0]:,}"
        remarks.append(Remark("", problem, remedy))
    columns = [letters(column - 1) for column in parts.hidden_columns if column <= parts.columns]
    if columns:
        problem = f"hidden columns were read like all others: {', '.join(columns[:10])}"
        remarks.append(Remark("", problem, remedy))
    return remarks
