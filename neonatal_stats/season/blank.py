"""Blank sheets: a shed page to print and a workbook; the tables as Frictionless Table Schemas (an open standard)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from html import escape
from pathlib import Path
from typing import Any

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.vocabulary import species as ranges
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import TABLES, Column, Kind, column, heading_of
from neonatal_stats.vocabulary.plan import PLAN

_COLUMNS = {
    "Who": "farm season species newborn_id dam_id sire_id breed litter_id group birth_place",
    "The birth": """born_at born_on litter_size birth_order sex birth_weight_kg gestation_d premature delivery
        dam_parity dam_age_y dam_condition born_alive""",
    "The first hours": """breathing_after_s resuscitation suck_reflex stood_after_min fed_after_min
        meconium_after_min handled mothered_up rearing rectal_temperature_c warmed""",
    "What became of it": """died died_at last_alive_at found_dead_at age_at_death_h age_at_death_d cause cause_basis
        left_at left_reason last_seen_at remarks""",
}
SECTIONS: dict[str, tuple[str, ...]] = {title: tuple(names.split()) for title, names in _COLUMNS.items()}
HELP_SHEET = "how to fill in"
SMALLEST = ("dam_id", "born_at", "born_alive", "died")
CAUTIONS = (
    "A newborn's and a dam's fluids can carry infections that reach people. Pregnant women, and anyone whose "
    "immunity is weak, keep away; everyone else wears gloves, washes hands, and gives no breath mouth to nose "
    "without a barrier.",
    "Abortions: isolate the dam, keep foetus and afterbirth for the laboratory, ask a veterinary surgeon, report where "
    "the law says so. Touch a newborn only once its dam has taken it, or where it needs help anyway.",
    "Drugs, tubing technique, plasma and post-mortem examination are for a veterinary surgeon or under their "
    "direction; local rules on medicines, carcass disposal and notifiable disease come first.",
)
WAYS = {
    "text": "text",
    "moment": "a date and time, for example 2026-04-03 05:40; a date alone where no time is known",
    "date": "a date, for example 2026-04-03",
    "number": "a number",
    "integer": "a whole number",
    "elapsed": 'minutes after birth (45), a clock time (05:45), or "not by 06:30" if it had not yet happened',
}
LINES = 18
ON_EVERY_PAGE = ("newborn_id", "dam_id")
ONCE_A_PAGE = ("farm", "season", "species")
STYLE = """
@page { size: A4 landscape; margin: 9mm; }
* { box-sizing: border-box; }
body { font: 9pt/1.25 system-ui, sans-serif; color: #111; margin: 0 auto; max-width: 279mm; padding: 4mm; }
section { break-after: page; margin-bottom: 8mm; }
section:last-of-type { break-after: auto; }
h1 { font-size: 13pt; margin: 0 0 1mm; }
.top { display: flex; gap: 6mm; margin: 0 0 2mm; }
.top span { flex: 1; border-bottom: 0.3mm solid #111; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; }
th, td { border: 0.25mm solid #555; padding: 0.6mm 0.8mm; overflow-wrap: break-word; }
th { font-size: 6.8pt; vertical-align: bottom; text-align: left; background: #eee; hyphens: auto; }
td { height: 7.2mm; }
th.line, td.line { width: 7mm; text-align: right; color: #555; }
th.wide { width: 11%; }
.words { font-size: 7.5pt; margin: 1.5mm 0 0; columns: 2; }
.words p { margin: 0 0 0.6mm; break-inside: avoid; }
.caution { font-size: 7.5pt; margin: 1mm 0 0; }
@media print { body { padding: 0; max-width: none; } }
"""
DOCUMENT = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Shed page, {species}</title>
<style>{style}</style>
</head>
<body>
{pages}
</body>
</html>
"""
PAGE = """<section>
<h1>{title}</h1>
<div class="top"><span>farm</span><span>season</span><span>species: {species}</span><span>page</span></div>
<table>
<thead><tr><th class="line" scope="col">no.</th>{heads}</tr></thead>
<tbody>
{rows}
</tbody>
</table>
<div class="words">{words}</div>
{cautions}</section>"""


def section_of(name: str) -> str:
    """The title of the section in which a births column stands."""
    return next(title for title, names in SECTIONS.items() if name in names)


def columns_in(title: str) -> list[Column]:
    """The columns of one section."""
    return [column("births", name) for name in SECTIONS[title]]


def how_to_write(found: Column) -> str:
    """What to write in a cell, in one line."""
    if found.kind == "terms":
        return f"one or more, joined with a semicolon: {', '.join(found.words)}"
    if found.words:
        return f"one of: {', '.join(found.words)}"
    unit = f", in {found.unit}" if "(" in heading_of(found) and found.kind in ("number", "integer") else ""
    return WAYS[found.kind] + unit


def shed_page(species: str) -> str:
    """A self-contained HTML document: one A4 page for each section of the births columns."""
    pages = "\n".join(_page(title, escape(species)) for title in SECTIONS)
    return DOCUMENT.format(species=escape(species), style=STYLE, pages=pages)


def _page(title: str, species: str) -> str:
    own = [each for each in columns_in(title) if each.name not in (*ON_EVERY_PAGE, *ONCE_A_PAGE)]
    shown = [*(column("births", name) for name in ON_EVERY_PAGE), *own]
    cells = "<td></td>" * len(shown)
    return PAGE.format(
        title=escape(title),
        species=species,
        heads="".join(f'<th{_wide(each)} scope="col">{escape(heading_of(each))}</th>' for each in shown),
        rows="\n".join(f'<tr><td class="line">{line}</td>{cells}</tr>' for line in range(1, LINES + 1)),
        words="".join(f"<p><b>{escape(name)}</b>: {escape(said)}</p>" for name, said in _legend(own)),
        cautions="".join(
            f'<p class="caution">{line}</p>\n' for line in CAUTIONS if title == "The first hours"
        ),
    )


def _wide(found: Column) -> str:
    return ' class="wide"' if found.name in ("resuscitation", "cause") else ""


def _legend(columns: list[Column]) -> list[tuple[str, str]]:
    """What to write under which heading, columns that take the same named together."""
    heads: dict[str, list[str]] = {}
    for each in columns:
        if said := _say(each):
            heads.setdefault(said, []).append(heading_of(each))
    return [(", ".join(names), said) for said, names in heads.items()]


def _say(found: Column) -> str:
    if found.kind == "elapsed":
        return 'minutes (45), a time (05:45) or "not by 06:30"'
    return "only where no time is known" if found.name == "born_on" else " / ".join(found.words)


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


def write_workbook(path: Path, species: str) -> None:
    """Write the blank workbook; the same bytes every time."""
    import xlsxwriter

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
    for place, each in enumerate(columns):
        cell = book.add_format({"num_format": FORMATS.get(each.kind, "General")})
        sheet.set_column(place, place, _width(each), cell)
        sheet.write_string(0, place, heading_of(each), book.add_format(_header(table, each)))
        sheet.data_validation(1, place, ROWS, place, _rule(each, species))


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
        for each in columns:
            yield f"{table}: {heading_of(each)}", f"{each.meaning}. Write {how_to_write(each)}.", False


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
        from neonatal_stats.season.blank import shed_page

        target.write_text(shed_page(species), encoding="utf-8", newline="\n")
    elif target.suffix.casefold() == ".xlsx":
        from neonatal_stats.season.blank import write_workbook

        write_workbook(target, species)
    else:
        raise CannotRead(
            f"{target.name}: a sheet is written as .xlsx (a workbook) or .html (a page to print)."
        )
