"""A table as HTML: farm text escaped, numbers set to the right, headings tied to cells for screen readers."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import pandas as pd


def table_html(shown: pd.DataFrame, numeric: Sequence[bool], *, name: str, title: str, note: str = "") -> str:
    """One `<figure class="table">` with caption, header row, row headers in the first column, and the note.

    Parameters
    ----------
    shown : the table as printed text; its columns are the headings.
    numeric : for each column, whether it holds numbers.
    """
    head = "".join(
        f'<th scope="col"{_side(right)}>{escape(str(heading))}</th>'
        for heading, right in zip(shown.columns, numeric, strict=True)
    )
    body = "\n".join(_row(list(cells), numeric) for cells in shown.itertuples(index=False, name=None))
    below = f'<p class="note">{escape(note)}</p>' if note else ""
    return (
        f'<figure class="table" id="table-{escape(name)}"><div class="scroll" tabindex="0" role="region" '
        f'aria-label="{escape(title)}"><table><caption>{escape(title)}</caption>\n'
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{body}\n</tbody></table></div>{below}</figure>"
    )


def _side(right: bool) -> str:
    return ' class="number"' if right else ""


def _row(cells: list[str], numeric: Sequence[bool]) -> str:
    first, *rest = cells
    tail = "".join(
        f"<td{_side(right)}>{escape(str(cell))}</td>" for cell, right in zip(rest, numeric[1:], strict=True)
    )
    return f'<tr><th scope="row">{escape(str(first))}</th>{tail}</tr>'
