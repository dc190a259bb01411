"""Workbooks: XLSX and ODS."""

from __future__ import annotations

import io

from neonatal_stats.season.grid import Grid, Remark, check_size
from neonatal_stats.season.trouble import CannotRead


def read_workbook(name: str, data: bytes, sha256: str) -> list[Grid]:
    """Every sheet that holds a cell, hidden ones too (and said); formulas by the value kept with them."""
    import python_calamine as calamine

    try:
        book = calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        grids = [_grid(name, book, sheet, sha256) for sheet in book.sheets_metadata]
    except (calamine.CalamineError, calamine.PasswordError, calamine.ZipError, calamine.XmlError, OSError):
        raise CannotRead(
            f"{name}: the workbook is damaged, locked with a password or of an old kind; "
            "open it, save it as XLSX without a password, and try again."
        ) from None
    return [grid for grid in grids if grid is not None]


def _grid(name: str, book: object, metadata: object, sha256: str) -> Grid | None:
    sheet_name = metadata.name  # type: ignore[attr-defined]
    if "WorkSheet" not in str(metadata.typ):  # type: ignore[attr-defined]
        return None
    sheet = book.get_sheet_by_name(sheet_name)  # type: ignore[attr-defined]
    if sheet.end is None:
        return None
    check_size(f"{name}, sheet {sheet_name}", sheet.end[0] + 1, sheet.end[1] + 1)
    rows = sheet.to_python(skip_empty_area=False)
    columns = [list(cells) for cells in zip(*rows, strict=True)]
    merged = tuple((*first, *last) for first, last in sheet.merged_cell_ranges or ())
    remarks = ()
    if "Visible" not in str(metadata.visible):  # type: ignore[attr-defined]
        remarks = (Remark("", "the sheet is hidden in the workbook; it was read all the same", "look at it"),)
    return Grid(name, sheet_name, columns, sha256, remarks, merged=merged)
