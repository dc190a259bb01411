"""The blank workbook, a sheet a table, and the tables as Frictionless Table Schemas (an open standard)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import xlsxwriter

from neonatal_stats.season.blank.page import (
    CAUTIONS,
    HELP_SHEET,
    SECTIONS,
    SMALLEST,
    how_to_write,
    section_of,
)
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.vocabulary import species as ranges
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import TABLES, Column, Kind, heading_of

PROFILE = "https://datapackage.org/profiles/2.0/tableschema.json"
CLOCK = r"\d{1,2}:\d{2}"
TYPES: dict[Kind, dict[str, Any]] = {
    "text": {"type": "string"},
    "moment": {"type": "datetime", "format": "any"},
    "date": {"type": "date"},
    "number": {"type": "number"},
    "integer": {"type": "integer"},
    "yes_no": {"type": "boolean", "trueValues": ["yes"], "falseValues": ["no"]},
    "term": {"type": "string"},
    "terms": {"type": "string"},
    "elapsed": {"type": "string"},
}
FURTHER: dict[str, dict[str, Any]] = {
    "births": {},
    "feeds": {
        "foreignKeys": [
            {"fields": ["newborn_id"], "reference": {"resource": "births", "fields": ["newborn_id"]}}
        ]
    },
    "samples": {
        "foreignKeys": [
            {"fields": ["newborn_id"], "reference": {"resource": "births", "fields": ["newborn_id"]}}
        ]
    },
    "weather": {},
}
ROWS = 2000
HELP_WIDTH = 100
MADE_ON = datetime(2026, 1, 1)
BANDS = dict(zip(SECTIONS, ("#1f4e5f", "#3b6e4f", "#7a5c1e", "#6b3a3a"), strict=True))
FORMATS = {"text": "@", "moment": "yyyy-mm-dd hh:mm", "date": "yyyy-mm-dd"}
LONGEST_MESSAGE = 255
WHAT_EACH_SHEET_HOLDS = {
    "births": "one row for each newborn, the dead ones too",
    "feeds": "one row for each feed seen or given (may stay empty)",
    "samples": "one row for each blood sample (may stay empty)",
    "weather": "one row for each day or hour (may stay empty)",
}


def table_schema(table: str, species: str = "") -> dict[str, Any]:
    """One tidy table as a Table Schema 2.0 descriptor.

    Parameters
    ----------
    table
        "births", "feeds", "samples" or "weather".
    species
        Narrows the plausible ranges to one species; "" gives the widest that any species allows.

    Returns
    -------
    dict
        Ready for ``json.dumps``; columns in the vocabulary's order, any of them may be absent from a file
        (``fieldsMatch`` is "partial").

    Examples
    --------
    >>> table_schema("births", "sheep")["fields"][13]["constraints"]
    {'minimum': 0.5, 'maximum': 10}
    """
    fields = [_field(column, species) for column in TABLES[table]]
    return {
        "$schema": PROFILE,
        "title": f"{table} of a season of newborns",
        "fields": fields,
        "fieldsMatch": "partial",
        "missingValues": [""],
        **FURTHER[table],
    }


def write_table_schemas(directory: str | Path, species: str = "") -> list[Path]:
    """Write ``<table>.schema.json`` for every tidy table; the folder is made if need be."""
    folder = Path(directory)
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for table in TABLES:
        path = folder / f"{table}.schema.json"
        text = json.dumps(table_schema(table, species), indent=2, ensure_ascii=False) + "\n"
        path.write_text(text, encoding="utf-8", newline="\n")
        written.append(path)
    return written


def plausible(column: Column, species: str = "") -> ranges.Range | None:
    """The plausible range of a column, for one species or the widest of all; None where there is none."""
    own = [by_column[column.name] for by_column in _by_species(species) if column.name in by_column]
    if species and own:
        return own[0]
    every = [*own, *([ranges.ANY_SPECIES[column.name]] if column.name in ranges.ANY_SPECIES else [])]
    return (min(low for low, _ in every), max(high for _, high in every)) if every else None


def _by_species(species: str) -> list[dict[str, ranges.Range]]:
    return [ranges.BY_SPECIES.get(species, {})] if species else list(ranges.BY_SPECIES.values())


def _field(column: Column, species: str) -> dict[str, Any]:
    field = {
        "name": column.name,
        "title": heading_of(column),
        "description": column.meaning,
        **TYPES[column.kind],
    }
    if column.unit:
        field["unit"] = column.unit
    if column.kind == "term":
        field |= {"categories": list(column.words), "categoriesOrdered": True}
    if constraints := _constraints(column, species):
        field["constraints"] = constraints
    return field


def _constraints(column: Column, species: str) -> dict[str, Any]:
    if column.kind == "term":
        return {"enum": list(column.words)}
    if column.kind == "terms":
        word = "|".join(column.words)
        return {"pattern": f"({word})(; ({word}))*"}
    if column.kind == "elapsed":
        return {"pattern": rf"\d+(\.\d+)?|{CLOCK}|not by {CLOCK}"}
    span = plausible(column, species) if column.kind in ("number", "integer") else None
    return {"minimum": span[0], "maximum": span[1]} if span else {}


def write_workbook(path: Path, species: str) -> None:
    """Write the blank workbook; the same bytes every time."""
    with xlsxwriter.Workbook(path, {"default_date_format": FORMATS["moment"]}) as book:
        book.set_properties({"title": f"Births, {species}", "created": MADE_ON})
        for table, columns in TABLES.items():
            _add_table(book, table, columns, species)
        _add_help(book, species)


def _add_table(book: Any, table: str, columns: tuple[Column, ...], species: str) -> None:
    sheet = book.add_worksheet(table)
    sheet.freeze_panes(1, _pinned(columns))
    sheet.set_row(0, 45)
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.repeat_rows(0)
    sheet.fit_to_pages(1, 0)
    for place, column in enumerate(columns):
        cell = book.add_format({"num_format": FORMATS.get(column.kind, "General")})
        sheet.set_column(place, place, _width(column), cell)
        sheet.write_string(0, place, heading_of(column), book.add_format(_header(table, column)))
        sheet.data_validation(1, place, ROWS, place, _rule(column, species))


def _pinned(columns: tuple[Column, ...]) -> int:
    """How many columns stay in sight: up to the dam's identity, where there is one."""
    names = [column.name for column in columns]
    return names.index("dam_id") + 1 if "dam_id" in names else 1


def _width(column: Column) -> int:
    longest = max([len(word) for word in heading_of(column).split()] + [len(word) for word in column.words])
    return min(max(longest + 3, 17 if column.kind == "moment" else 10), 30)


def _header(table: str, column: Column) -> dict[str, Any]:
    colour = BANDS[section_of(column.name)] if table == "births" else "#1f4e5f"
    look = {"bold": True, "text_wrap": True, "valign": "vcenter", "font_color": "white", "bg_color": colour}
    return look | {"border": 1, "border_color": "white"}


def _rule(column: Column, species: str) -> dict[str, Any]:
    """What the cell accepts: words from a list; numbers outside the plausible range only warn."""
    message = {
        "input_title": heading_of(column)[:32],
        "input_message": how_to_write(column)[:LONGEST_MESSAGE],
    }
    words = (species,) if column.name == "species" else column.words
    if words:
        strict = "information" if column.kind == "terms" else "stop"
        refusal = {
            "error_title": "Not in the list",
            "error_message": f"Choose from the list for {heading_of(column)}.",
        }
        return {"validate": "list", "source": list(words), "error_type": strict, **refusal, **message}
    span = plausible(column, species) if column.kind in ("number", "integer") else None
    if span:
        kind = "integer" if column.kind == "integer" else "decimal"
        doubt = f"Usual for {species}: {span[0]:g} to {span[1]:g}. Keep it if it is right."
        warning = {"error_type": "warning", "error_title": "Please look again", "error_message": doubt}
        limits = {"criteria": "between", "minimum": span[0], "maximum": span[1]}
        return {"validate": kind, **limits, **warning, **message}
    return {"validate": "any", **message}


def _add_help(book: Any, species: str) -> None:
    sheet = book.add_worksheet(HELP_SHEET)
    bold = book.add_format({"bold": True, "valign": "top"})
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    sheet.set_column(0, 0, 34, wrap)
    sheet.set_column(1, 1, HELP_WIDTH, wrap)
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 0)
    for row, (left, right, is_title) in enumerate(_help_lines(species)):
        sheet.set_row(row, 15 * (1 + len(right) // HELP_WIDTH))
        sheet.write_string(row, 0, left, bold if is_title else wrap)
        sheet.write_string(row, 1, right, wrap)


def _help_lines(species: str) -> Iterator[tuple[str, str, bool]]:
    for number, line in enumerate(_opening(species)):
        yield "Read this first" if number == 0 else "", line, True
    for table, columns in TABLES.items():
        yield "", "", False
        yield f"Sheet: {table}", WHAT_EACH_SHEET_HOLDS[table], True
        for column in columns:
            yield f"{table}: {heading_of(column)}", f"{column.meaning}. Write {how_to_write(column)}.", False


def _opening(species: str) -> list[str]:
    needed = ", ".join(name.replace("_", " ") for name in SMALLEST)
    return [
        f"One row for each newborn ({species}), the dead ones too. A first review needs only: {needed}.",
        "Every further column answers one more question. Leave a cell empty where a thing was not recorded.",
        "Keep the headings as they are: the sheet then reads back with no map.",
        *CAUTIONS,
    ]


def write_sheet(path: str | Path, species: str) -> None:
    """Write a blank sheet whose headings read back with no map.

    Parameters
    ----------
    path
        ``.xlsx`` for a workbook (births, feeds, samples, weather and a help sheet; drop-downs for every word,
        units in the headings, the header frozen); ``.html`` for A4 pages of the births columns, to print.
    species
        One of the vocabulary's species; narrows the plausible ranges.
    """
    target = Path(path)
    if species not in terms.SPECIES:
        raise CannotRead(f'species "{species}" is not known; write one of {", ".join(terms.SPECIES)}.')
    if target.suffix.casefold() in (".html", ".htm"):
        from neonatal_stats.season.blank.page import shed_page

        target.write_text(shed_page(species), encoding="utf-8", newline="\n")
    elif target.suffix.casefold() == ".xlsx":
        from neonatal_stats.season.blank.workbook import write_workbook

        write_workbook(target, species)
    else:
        raise CannotRead(
            f"{target.name}: a sheet is written as .xlsx (a workbook) or .html (a page to print)."
        )
