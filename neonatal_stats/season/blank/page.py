"""The shed page: A4 landscape pages to print and fill in by hand, the same columns as the workbook."""

from __future__ import annotations

from html import escape

from neonatal_stats.season.blank.sections import CAUTIONS, SECTIONS, columns_in
from neonatal_stats.vocabulary.columns import Column, column
from neonatal_stats.vocabulary.headings import heading_of

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
