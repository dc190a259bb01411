"""The sheet for the shed on paper: a side of lines and a side of slips, A4, codes to ring and what they mean."""

from __future__ import annotations

from html import escape

from neonatal_stats.report.shed_sheet import (
    LINE_MM,
    MARGIN_MM,
    NUMBER_MM,
    PITCH_MM,
    Sheet,
    cautions,
    code_words,
    how_to,
    width_mm,
)
from neonatal_stats.vocabulary.shed import Field
from neonatal_stats.words.plain import asks

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
        title=escape(say("The sheet for the shed: {species}", species=sheet.own.species[sheet.species])),
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
