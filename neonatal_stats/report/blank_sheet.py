"""A blank sheet for the shed written to a file: a workbook, or a page to print.

The page is a side of lines and a side of slips, A4, with codes to ring and what they mean. The workbook has lines of
litters and slips as on paper; feeds, samples and weather beside them. It reads back with no map: codes, or their words,
in the columns whose headings name them.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from html import escape
from os import PathLike
from pathlib import Path
from typing import Any

from neonatal_stats.report.shed_sheet import (
    LINE_MM,
    MARGIN_MM,
    NUMBER_MM,
    PITCH_MM,
    Sheet,
    asked_by,
    cautions,
    code_words,
    how_to,
    sheet_of,
    width_mm,
)
from neonatal_stats.season.blank import help_sheet, plausible
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.vocabulary.columns import ALSO_READ, TABLES, Column, column
from neonatal_stats.vocabulary.shed import SLIP_FIELDS, Field
from neonatal_stats.words.plain import asks

USUAL_SPECIES = "sheep"
"""Whose sheet is written where nothing says it."""

LITTERS, SLIPS = "litters", "slips"
BESIDE = ("feeds", "samples", "weather")
ROWS = 1000
MADE_ON = datetime(2026, 1, 1)
FORMATS = {"text": "@", "moment": "yyyy-mm-dd hh:mm", "date": "yyyy-mm-dd", "elapsed": "@"}
POINTS_A_MM = 72 / 25.4
LONGEST_TITLE, LONGEST_MESSAGE = 32, 255
HELP_WIDTH = 100
SHADES = {"": "#1f4e5f", "a": "#3b6e4f", "b": "#7a5c1e", "c": "#6b3a3a"}


def write_sheet(
    path: str | PathLike[str],
    species: str = "",
    *,
    language: str = "en",
    fields: Sequence[str] = (),
    asked: str | PathLike[str] | None = None,
) -> Sheet:
    """Write a blank sheet for the shed; what it is filled with reads back with no map.

    Parameters
    ----------
    path : ``.xlsx`` for a workbook; ``.html`` for A4 sides to print, one of lines and one of slips.
    species : one of the vocabulary's; gives the usual fields, and newborns side by side or one a line. By default that
        of the review that asks, else sheep.
    language : of headings, codes and notes; filled sheets of every language are read.
    fields : columns of births instead of the usual ones; dam, birth and outcome always stand on it.
    asked : the folder of a written review (or its headline.json), whose wishes are added.

    Raises
    ------
    CannotRead : with one sentence; so too where the review is of another species.
    """
    target = Path(path)
    wanted, reviewed = asked_by(Path(asked)) if asked is not None else ((), "")
    if species and reviewed not in ("", species):
        raise CannotRead(
            f"the review that asks is one of {reviewed}, and the sheet is to be for {species}; leave out --species, or "
            "name the review of that species."
        )
    sheet = sheet_of(species or reviewed or USUAL_SPECIES, language, fields, wanted)
    ending = target.suffix.casefold()
    if ending in (".html", ".htm"):
        target.write_text(shed_page(sheet), encoding="utf-8", newline="\n")
    elif ending == ".xlsx":
        _write_workbook(target, sheet)
    else:
        raise CannotRead(
            f"{target.name}: a sheet is written as .xlsx (a workbook) or .html (a page to print)."
        )
    return sheet


def _write_workbook(path: Path, sheet: Sheet) -> None:
    """Write the blank workbook; the same bytes every time."""
    import xlsxwriter

    with xlsxwriter.Workbook(str(path), {"default_date_format": FORMATS["moment"]}) as book:
        title = sheet.voice.say(
            "The sheet for the shed: {species}", species=sheet.own.of_species(sheet.species)
        )
        book.set_properties({"title": title, "created": MADE_ON})
        _litters(book, sheet)
        _slips(book, sheet)
        for table in BESIDE:
            _table(book, table, sheet)
        _help(book, sheet)


def _added(book: Any, name: str, pinned: int) -> Any:
    made = book.add_worksheet(name)
    made.freeze_panes(1, pinned)
    made.set_row(0, 45)
    made.set_default_row(round(LINE_MM * POINTS_A_MM))
    made.set_landscape()
    made.set_paper(9)
    made.repeat_rows(0)
    made.fit_to_pages(1, 0)
    return made


def _litters(book: Any, sheet: Sheet) -> None:
    made = _added(book, sheet.own.sheet(LITTERS), 1)
    fields = [(field, "") for field in sheet.of_litter]
    fields += [(field, letter) for letter in sheet.letters for field in sheet.of_newborn]
    for place, (field, letter) in enumerate(fields):
        species = sheet.species if field.name == "dam_id" else ""
        heading = sheet.own.heading(field.name, letter, species)
        _column(book, made, place, column("births", field.name), heading, sheet, SHADES[letter])


def _slips(book: Any, sheet: Sheet) -> None:
    made = _added(book, sheet.own.sheet(SLIPS), 1)
    others = {each.name: each for each in ALSO_READ}
    for place, name in enumerate(sheet.of_slip):
        known = others.get(name) or (column("births", name) if name not in ("letter", "lay") else None)
        text = Column(name, "text", "") if known is None or name == "age_at_death" else known
        _column(book, made, place, text, sheet.own.heading(name), sheet, SHADES[""])


def _table(book: Any, table: str, sheet: Sheet) -> None:
    made = _added(book, sheet.own.sheet(table), 1)
    for place, each in enumerate(TABLES[table]):
        _column(book, made, place, each, sheet.own.heading_beside(table, each), sheet, SHADES[""], table)


def _column(
    book: Any, made: Any, place: int, own: Column, heading: str, sheet: Sheet, shade: str, table: str = ""
) -> None:
    """One column: its heading, its width, its format, and what its cells accept."""
    look = {"bold": True, "text_wrap": True, "valign": "vcenter", "font_color": "white", "bg_color": shade}
    cell = book.add_format({"num_format": FORMATS.get(own.kind, "General"), "border": 4})
    longest = max(len(word) for word in heading.split())
    made.set_column(place, place, max(longest + 2, 17 if own.kind == "moment" else 9), cell)
    made.write_string(0, place, heading, book.add_format(look | {"border": 1, "border_color": "white"}))
    made.data_validation(1, place, ROWS, place, _rule(own, heading, sheet, table))


def _rule(own: Column, heading: str, sheet: Sheet, table: str) -> dict[str, Any]:
    """What a cell accepts: codes from a list; a number outside the plausible range only warns."""
    say = sheet.voice.say
    codes = "" if table else own.name
    told = [f"{code} {word}" for code, word in code_words(sheet, codes)] if codes in sheet.own.codes else []
    message = {
        "input_title": heading[:LONGEST_TITLE],
        "input_message": ("; ".join(told) or heading)[:LONGEST_MESSAGE],
    }
    words = list(sheet.own.codes.get(codes, ())) or sheet.own.choices(own)
    if words:
        doubt = {"error_type": "warning", "error_title": say("Not in the list")}
        doubt |= {"error_message": say("Choose from the list, or keep your own word if it is right.")}
        return {"validate": "list", "source": words, **doubt, **message}
    span = plausible(own, sheet.species) if own.kind in ("number", "integer") else None
    if span is None:
        return {"validate": "any", **message}
    usual = say("Usual: {low} to {high}. Keep it if it is right.", low=f"{span[0]:g}", high=f"{span[1]:g}")
    warning = {"error_type": "warning", "error_title": say("Please look again"), "error_message": usual}
    kind = "integer" if own.kind == "integer" else "decimal"
    limits = {"criteria": "between", "minimum": span[0], "maximum": span[1]}
    return {"validate": kind, **limits, **warning, **message}


def _help(book: Any, sheet: Sheet) -> None:
    made = book.add_worksheet(help_sheet(sheet.own.language))
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    made.set_column(0, 0, 34, wrap)
    made.set_column(1, 1, HELP_WIDTH, wrap)
    for row, (left, right) in enumerate(_help_lines(sheet)):
        made.set_row(row, 15 * (1 + len(right) // HELP_WIDTH))
        made.write_string(row, 0, left, wrap)
        made.write_string(row, 1, right, wrap)


def _help_lines(sheet: Sheet) -> list[tuple[str, str]]:
    say, own = sheet.voice.say, sheet.own
    keep = say("Keep the headings as they are: the sheet then reads back with no map.")
    coded = [field.name for field in sheet.fields if field.name in own.codes]
    coded += [name for name in SLIP_FIELDS if name in own.codes]
    codes = [
        (own.headings[name], "; ".join(f"{code} {word}" for code, word in code_words(sheet, name)))
        for name in coded
    ]
    return [*(("", text) for text in (*how_to(sheet), keep, *cautions(sheet.voice))), *codes]


ACROSS, UPRIGHT = (3, 6), (2, 8)
"""Slips beside each other, and to a side, for paper that lies across or upright."""
CAUSE_MM = 6
"""How far the lines of causes on a slip stand apart, to be rung."""
EXPLAINED = ("suck_reflex", "mothered_up")
"""Fields whose heading alone does not say what is asked."""
STYLE = """
@page { size: A4 %(way)s; margin: %(margin)smm; }
* { box-sizing: border-box; }
body { font: 7.5pt/1.2 system-ui, sans-serif; color: #111; margin: 0 auto; width: %(width)smm; }
.slips { break-before: page; }
h1 { font-size: 11pt; margin: 0; white-space: nowrap; }
.top { display: flex; gap: 6mm; align-items: end; margin: 0 0 1mm; }
.top span { flex: 1; border-bottom: 0.3mm solid #111; }
table { border-collapse: collapse; width: 100%%; table-layout: fixed; }
th, td { border: 0.2mm solid #777; padding: 0 0.4mm; }
th { font-size: 6pt; line-height: 1.05; font-weight: 600; background: #eee; padding: 0.5mm 0.2mm; hyphens: auto; }
.lines td { height: %(line)smm; }
i { font-style: normal; }
td.line { text-align: right; color: #555; }
.first { border-left: 0.6mm solid #111; }
.lines td.coded { padding: 0; }
.ring { display: flex; font-size: 8pt; }
.lines .ring i { flex: 1; text-align: center; position: relative; top: -%(down)smm; }
.lines .ring i:nth-child(even) { top: %(down)smm; }
.codes, .how { margin: 1mm 0 0; font-size: 6.8pt; line-height: 1.2; }
.codes span { margin-right: 3mm; }
.caution { margin: 0.6mm 0 0; font-size: 6.4pt; line-height: 1.15; }
.grid { display: grid; grid-template-columns: repeat(%(beside)s, 1fr); gap: 2mm 4mm; }
.slip { border: 0.4mm dashed #111; padding: 0.8mm; break-inside: avoid; display: grid;
  grid-template-columns: repeat(6, 1fr); }
.slip div { border: 0.2mm solid #777; min-height: %(field)smm; grid-column: span 3; font-size: 6pt;
  padding: 0.2mm 0.6mm; }
.slip .third { grid-column: span 2; }
.slip .wide { grid-column: span 6; }
.slip .wide .ring { flex-wrap: wrap; column-gap: 3.5mm; font-size: 7pt;
  line-height: %(cause)smm; }
@media screen { body { padding: 4mm; } }
"""
DOCUMENT = """<!doctype html>
<html lang="{language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>{style}</style>
</head>
<body>
<section class="lines">
<div class="top"><h1>{title}</h1>{head}</div>
<table>
<colgroup>{widths}</colgroup>
<thead>{heads}</thead>
<tbody>
{rows}
</tbody>
</table>
<p class="codes">{codes}</p>
<p class="how">{how}</p>
{cautions}
</section>
<section class="slips">
<div class="top"><h1>{slips_title}</h1></div>
<div class="grid">
{slips}
</div>
</section>
</body>
</html>
"""


def shed_page(sheet: Sheet) -> str:
    """A self-contained HTML document: one side of lines, one side of slips."""
    say = sheet.voice.say
    beside, slips = ACROSS if sheet.across else UPRIGHT
    head = (say("Farm"), say("Season"), say("Side"), say("Last look on"))
    return DOCUMENT.format(
        language=sheet.voice.language,
        title=escape(say("The sheet for the shed: {species}", species=sheet.own.of_species(sheet.species))),
        style=STYLE
        % {
            "way": "landscape" if sheet.across else "portrait",
            "margin": MARGIN_MM,
            "width": 281 if sheet.across else 194,
            "line": sheet.line_mm,
            "field": LINE_MM,
            "down": PITCH_MM[sheet.across][1] / 2,
            "cause": CAUSE_MM,
            "beside": beside,
        },
        head="".join(f"<span>{escape(text)}</span>" for text in head),
        widths=_widths(sheet),
        heads=_heads(sheet),
        rows="\n".join(_line(sheet, number) for number in range(1, sheet.lines + 1)),
        codes="".join(_code(sheet, field) for field in sheet.fields if field.name in sheet.own.codes),
        how=" ".join(escape(text) for text in how_to(sheet)),
        cautions="\n".join(f'<p class="caution">{escape(text)}</p>' for text in cautions(sheet.voice)),
        slips_title=escape(say("Slips for the dead: cut out, one for each {newborn}")),
        slips="\n".join([_slip(sheet)] * slips),
    )


def _widths(sheet: Sheet) -> str:
    """Each column's share of the line, so that what is left over is spread."""
    own = [NUMBER_MM, *(width_mm(field, sheet.across) for field in sheet.of_litter)]
    own += [width_mm(field, sheet.across) for _ in sheet.letters for field in sheet.of_newborn]
    return "".join(f'<col style="width:{100 * width / sum(own):.3f}%">' for width in own)


def _heads(sheet: Sheet) -> str:
    def head(field: Field, rest: str = "") -> str:
        return f'<th scope="col"{rest}>{escape(sheet.own.headings[field.name])}</th>'

    deep = ' rowspan="2"' if sheet.slots > 1 else ""
    litter = "".join(head(field, deep) for field in sheet.of_litter)
    newborns = "".join(
        head(field, "" if place else ' class="first"')
        for _ in sheet.letters
        for place, field in enumerate(sheet.of_newborn)
    )
    if sheet.slots == 1:
        return f"<tr><th></th>{litter}{newborns}</tr>"
    span = len(sheet.of_newborn)
    letters = "".join(f'<th class="first" colspan="{span}">{letter}</th>' for letter in sheet.letters)
    return f"<tr><th{deep}></th>{litter}{letters}</tr>\n<tr>{newborns}</tr>"


def _line(sheet: Sheet, number: int) -> str:
    litter = "".join(_cell(sheet, field) for field in sheet.of_litter)
    newborns = "".join(
        _cell(sheet, field, first=place == 0)
        for _ in sheet.letters
        for place, field in enumerate(sheet.of_newborn)
    )
    return f'<tr><td class="line">{number}</td>{litter}{newborns}</tr>'


def _cell(sheet: Sheet, field: Field, first: bool = False) -> str:
    codes = "".join(f"<i>{code}</i>" for code in sheet.own.codes.get(field.name, ()))
    looks = [name for name, so in (("first", first), ("coded", bool(codes))) if so]
    look = f' class="{" ".join(looks)}"' if looks else ""
    return f"<td{look}>" + (f'<div class="ring">{codes}</div>' if codes else "") + "</td>"


def _code(sheet: Sheet, field: Field) -> str:
    told = ", ".join(f"<b>{code}</b> {escape(word)}" for code, word in code_words(sheet, field.name))
    heading = sheet.own.headings[field.name]
    if field.name in EXPLAINED:
        heading = f"{heading} ({asks(sheet.voice, field.name)})"
    return f"<span>{escape(heading)}: {told}</span> "


def _slip(sheet: Sheet) -> str:
    """One slip: the newborn, when, where, of what, and how that is known."""
    fields = "".join(_slip_field(sheet, name) for name in sheet.of_slip)
    return f'<div class="slip">{fields}</div>'


def _slip_field(sheet: Sheet, name: str) -> str:
    heading = escape(sheet.own.headings[name])
    if name in sheet.own.codes:
        told = "".join(f"<i><b>{code}</b> {escape(word)}</i>" for code, word in code_words(sheet, name))
        return f'<div class="wide">{heading}<span class="ring">{told}</span></div>'
    third = ' class="third"' if sheet.slots > 1 and name in ("dam_id", "letter", "newborn_id") else ""
    beside = f" ({', '.join(sheet.letters)})" if name == "letter" else ""
    return f"<div{third}>{heading}{beside}</div>"
