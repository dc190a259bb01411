"""The shed page: A4 landscape pages to print and fill in by hand, the same columns as the workbook."""

from __future__ import annotations

from html import escape

from neonatal_stats.season.sheet_sections import CAUTIONS, SECTIONS, columns_in
from neonatal_stats.vocabulary.columns import Column, column
from neonatal_stats.vocabulary.headings import heading_of

LINES = 16
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
th, td { border: 0.25mm solid #555; padding: 0.6mm 0.8mm; overflow-wrap: anywhere; }
th { font-size: 7.5pt; vertical-align: bottom; text-align: left; background: #eee; hyphens: auto; }
td { height: 7.2mm; }
th.line, td.line { width: 7mm; text-align: right; color: #555; }
th.wide { width: 15%; }
.words { font-size: 7.5pt; margin: 1.5mm 0 0; columns: 2; }
.words p { margin: 0 0 0.6mm; break-inside: avoid; }
.caution { font-size: 7.5pt; margin: 1mm 0 0; }
@media print { body { padding: 0; max-width: none; } }
"""


def shed_page(species: str) -> str:
    """A self-contained HTML document: one A4 page for each section of the births columns."""
    pages = "\n".join(_page(title, species) for title in SECTIONS)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>Shed page, {escape(species)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n{pages}\n</body>\n</html>\n"
    )


def _page(title: str, species: str) -> str:
    first = [column("births", name) for name in ON_EVERY_PAGE]
    own = [each for each in columns_in(title) if each.name not in (*ON_EVERY_PAGE, *ONCE_A_PAGE)]
    heads = "".join(
        f"<th{_wide(each)} scope='col'>{escape(heading_of(each))}</th>" for each in [*first, *own]
    )
    cells = "<td></td>" * (len(first) + len(own))
    rows = "\n".join(f'<tr><td class="line">{line}</td>{cells}</tr>' for line in range(1, LINES + 1))
    top = f"<span>farm</span><span>season</span><span>species: {escape(species)}</span><span>page</span>"
    words = "".join(
        f"<p><b>{escape(heading_of(each))}</b>: {escape(said)}</p>" for each in own if (said := _say(each))
    )
    caution = "".join(
        f'<p class="caution">{escape(line)}</p>' for line in CAUTIONS if title == "The first hours"
    )
    return (
        f"<section>\n<h1>{escape(title)}</h1>\n<div class='top'>{top}</div>\n"
        f"<table>\n<thead><tr><th class='line' scope='col'>no.</th>{heads}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table>\n"
        f"<div class='words'>{words}</div>\n{caution}</section>"
    )


def _wide(found: Column) -> str:
    return " class='wide'" if found.name in ("resuscitation", "cause") else ""


def _say(found: Column) -> str:
    if found.kind == "elapsed":
        return 'minutes (45), a time (05:45) or "not by 06:30"'
    if found.name == "born_on":
        return "only where no time is known"
    return " / ".join(found.words) if found.words and found.kind != "yes_no" else ""
