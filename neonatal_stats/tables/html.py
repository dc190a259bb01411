"""A table as HTML: farm text escaped, numbers set to the right, headings tied to cells for screen readers."""

from __future__ import annotations

from html import escape

from neonatal_stats.tables.table import Table, printed


def table_html(table: Table) -> str:
    """One `<figure class="table">` with caption, header row, row headers in the first column, and the note."""
    shown = printed(table)
    numeric = [table.formats.get(name, "text") != "text" or name == "interval" for name in table.headings]
    head = "".join(
        f'<th scope="col"{_side(right)}>{escape(str(heading))}</th>'
        for heading, right in zip(shown.columns, numeric, strict=True)
    )
    body = "\n".join(_row(list(cells), numeric) for cells in shown.itertuples(index=False, name=None))
    note = f'<p class="note">{escape(table.note)}</p>' if table.note else ""
    return (
        f'<figure class="table" id="table-{escape(table.name)}"><div class="scroll" tabindex="0" role="region" '
        f'aria-label="{escape(table.title)}"><table><caption>{escape(table.title)}</caption>\n'
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{body}\n</tbody></table></div>{note}</figure>"
    )


def _side(right: bool) -> str:
    return ' class="number"' if right else ""


def _row(cells: list[str], numeric: list[bool]) -> str:
    first, *rest = cells
    tail = "".join(
        f"<td{_side(right)}>{escape(str(cell))}</td>" for cell, right in zip(rest, numeric[1:], strict=True)
    )
    return f'<tr><th scope="row">{escape(str(first))}</th>{tail}</tr>'
