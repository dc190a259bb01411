"""The shed page: A4 landscape pages to print and fill in by hand, the same columns as the workbook."""

from __future__ import annotations

from html import escape

from neonatal_stats.vocabulary.columns import Column, column, heading_of

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
    "A newborn's and a dam's fluids can carry infections that reach people, pregnant women above all: wear "
    "gloves, and give no breath mouth to nose without a barrier.",
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
