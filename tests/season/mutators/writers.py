"""The kinds of file in which a book is written; each numbers the rows as a spreadsheet would."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from xml.sax.saxutils import escape

import pandas as pd
import xlsxwriter

from tests.season.mutators.book import Book, shown

Writer = Callable[[Book, Path], Path]
MANIFEST = (
    '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
    '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>'
)
SERIAL_ZERO = datetime(1899, 12, 30)


def numbered(book: Book, first: int) -> None:
    """Give each row its number, the first row below the headings standing at ``first``."""
    for place, row in enumerate(book.rows):
        row.number = first + place


def _lines(book: Book) -> list[list[str]]:
    lines = [[f"Shed book, page {place + 1}"] for place in range(book.title_rows)]
    if book.upper_headings:
        lines.append(book.upper_headings)
    lines.append([heading.rpartition("|")[2] for heading in book.headings])
    numbered(book, len(lines) + 1)
    return lines + [[shown(row.cells.get(h), book) for h in book.headings] for row in book.rows]


def text_file(
    separator: str = ",", encoding: str = "utf-8", suffix: str = ".csv", before: str = ""
) -> Writer:
    """A writer of delimited text."""

    def write(book: Book, folder: Path) -> Path:
        text = io.StringIO(newline="")
        lines = _lines(book)
        csv.writer(text, delimiter=separator, lineterminator="\r\n").writerows(lines)
        if before:
            for row in book.rows:
                row.number += 1
        path = folder / f"records{suffix}"
        path.write_bytes((before + text.getvalue()).encode(encoding))
        return path

    return write


comma = text_file()


def xlsx(typed: str = "dates", hidden: bool = False, cached: bool = False) -> Writer:
    """A writer of XLSX: cells as true dates, as text, or dates as bare serial numbers."""

    def write(book: Book, folder: Path) -> Path:
        path = folder / "records.xlsx"
        lines = _lines(book)
        with xlsxwriter.Workbook(path) as workbook:
            sheet = workbook.add_worksheet("Shed book")
            style = workbook.add_format({"num_format": "dd/mm/yyyy hh:mm"})
            above = len(lines) - len(book.rows)
            for place, line in enumerate(lines[:above]):
                sheet.write_row(place, 0, line)
            for place, row in enumerate(book.rows, start=above):
                for at, heading in enumerate(book.headings):
                    _cell(sheet, place, at, row.cells.get(heading), typed, style, cached, book)
            if hidden:
                sheet.set_row(above + 2, None, None, {"hidden": True})
                sheet.set_column(3, 3, None, None, {"hidden": True})
        return path

    return write


def _cell(
    sheet: xlsxwriter.worksheet.Worksheet,
    row: int,
    column: int,
    cell: object,
    typed: str,
    style: xlsxwriter.format.Format,
    cached: bool,
    book: Book,
) -> None:
    if cell is None:
        return
    if typed == "text":
        sheet.write_string(row, column, shown(cell, book))
    elif isinstance(cell, datetime):
        days = (cell - SERIAL_ZERO).total_seconds() / 86_400
        sheet.write_number(row, column, days, style if typed == "dates" else None)
    elif isinstance(cell, float) and cached:
        sheet.write_formula(row, column, f"={cell}+0", None, cell)
    elif isinstance(cell, int | float):
        sheet.write_number(row, column, cell)
    else:
        sheet.write_string(row, column, str(cell))


def parquet(typed: bool = True) -> Writer:
    """A writer of Parquet, with typed columns or with text alone; it has no heading row to number."""

    def write(book: Book, folder: Path) -> Path:
        numbered(book, 1)
        path = folder / "records.parquet"
        frame = pd.DataFrame(
            [[row.cells.get(h) for h in book.headings] for row in book.rows], columns=book.headings
        )
        if not typed:
            frame = frame.map(lambda cell: None if pd.isna(cell) else shown(cell, book))
        frame.to_parquet(path)
        return path

    return write


def ods(book: Book, folder: Path) -> Path:
    """A writer of the smallest ODS that spreadsheets open: typed numbers and dates, all else as text."""
    path = folder / "records.ods"
    lines = _lines(book)
    above = len(lines) - len(book.rows)
    body = [[_ods_text(cell) for cell in line] for line in lines[:above]]
    body += [[_ods_cell(row.cells.get(h), book) for h in book.headings] for row in book.rows]
    rows = "".join(f"<table:table-row>{''.join(cells)}</table:table-row>" for cells in body)
    names = ("office", "table", "text")
    spaces = " ".join(f'xmlns:{n}="urn:oasis:names:tc:opendocument:xmlns:{n}:1.0"' for n in names)
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {spaces}><office:body><office:spreadsheet>'
        f'<table:table table:name="Shed book">{rows}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("META-INF/manifest.xml", MANIFEST)
        archive.writestr("content.xml", content)
    return path


def _ods_text(text: str) -> str:
    if not text:
        return "<table:table-cell/>"
    return f'<table:table-cell office:value-type="string"><text:p>{escape(text)}</text:p></table:table-cell>'


def _ods_cell(cell: object, book: Book) -> str:
    if isinstance(cell, datetime):
        value = f'office:value-type="date" office:date-value="{cell:%Y-%m-%dT%H:%M:%S}"'
        return f"<table:table-cell {value}><text:p>{cell:%d.%m.%Y}</text:p></table:table-cell>"
    if isinstance(cell, int | float):
        value = f'office:value-type="float" office:value="{cell}"'
        return f"<table:table-cell {value}><text:p>{cell}</text:p></table:table-cell>"
    return _ods_text(shown(cell, book))
