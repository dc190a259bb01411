"""The tables as Frictionless Table Schemas (an open standard), and the ranges in which their numbers are plausible."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from neonatal_stats.vocabulary import species as ranges
from neonatal_stats.vocabulary.columns import TABLES, Column, Kind, heading_of
from neonatal_stats.vocabulary.plan import PLAN
from neonatal_stats.vocabulary.shed import help_sheets, shed_languages, shed_words

HELP_SHEET = "how to fill in"
"""The sheet of a blank workbook that holds no records."""


def help_sheet(language: str) -> str:
    """What that sheet is called in a workbook written in this language."""
    own = shed_words(language).sheets if language in shed_languages() else {}
    return own.get("help", HELP_SHEET)


def is_help(sheet: str) -> bool:
    """True for the sheet that says how to fill in the others, in every language that a workbook is written in."""
    return sheet == HELP_SHEET or sheet in help_sheets()


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
OF_A_NEWBORN = {"fields": ["newborn_id"], "reference": {"resource": "births", "fields": ["newborn_id"]}}
FURTHER: dict[str, dict[str, Any]] = {
    "feeds": {"foreignKeys": [OF_A_NEWBORN]},
    "samples": {"foreignKeys": [OF_A_NEWBORN]},
}


def table_schema(table: str, species: str = "") -> dict[str, Any]:
    """One tidy table as a Table Schema 2.0 descriptor.

    Parameters
    ----------
    table
        "births", "feeds", "samples", "weather" or "plan".
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
    fields = [_field(column, species) for column in (PLAN if table == "plan" else TABLES[table])]
    return {
        "$schema": PROFILE,
        "title": f"{table} of a season of newborns",
        "fields": fields,
        "fieldsMatch": "partial",
        "missingValues": [""],
        **FURTHER.get(table, {}),
    }


def write_table_schemas(directory: str | Path, species: str = "") -> list[Path]:
    """Write ``<table>.schema.json`` for every tidy table and the plan; the folder is made if need be."""
    folder = Path(directory)
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for table in (*TABLES, "plan"):
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
