"""Rows written as a farm would write them: delimited text in any encoding, workbooks with their colours and merges."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from tests.season.farm_files.truth import Newborn

Row = Sequence[Any]
Say = Callable[[Newborn], Any]

# The columns of a plain, well-kept book; a case changes the ones that its fault is about.
PLAIN: dict[str, Say] = {
    "season": lambda n: n.season,
    "species": lambda n: "sheep",
    "newborn_id": lambda n: n.tag,
    "dam_id": lambda n: n.dam,
    "born_at": lambda n: n.born,
    "litter_size": lambda n: n.size,
    "sex": lambda n: n.sex,
}
ENDED: dict[str, Say] = {
    "died": lambda n: "yes" if n.dead else "no",
    "died_at": lambda n: n.died or "",
    "cause": lambda n: n.cause or "",
}


def columns(
    without: str = "", first: dict[str, Say] | None = None, /, *, plain: bool = True, **more: Say
) -> dict[str, Say]:
    """The plain columns less some, then more; an underscore in a keyword stays an underscore."""
    kept = {name: say for name, say in PLAIN.items() if name not in without.split()} if plain else {}
    return kept | (first or {}) | more


def grid(newborns: Sequence[Newborn], says: dict[str, Say]) -> list[list[Any]]:
    return [list(says), *([say(one) for say in says.values()] for one in newborns)]


def written(value: Any, *, clock: str = "%Y-%m-%d %H:%M", day: str = "%Y-%m-%d", comma: bool = False) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.strftime(clock)
    if isinstance(value, date):
        return value.strftime(day)
    if isinstance(value, float):
        return str(value).replace(".", ",") if comma else str(value)
    return str(value)


def text_of(rows: Sequence[Row], separator: str = ",", **style: Any) -> str:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator="\n")
    writer.writerows([written(value, **style) for value in row] for row in rows)
    return out.getvalue()


def put(path: Path, text: str, encoding: str = "utf-8") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode(encoding))
    return path


def table(
    path: Path, rows: Sequence[Row], separator: str = ",", encoding: str = "utf-8", **style: Any
) -> Path:
    return put(path, text_of(rows, separator, **style), encoding)


def fill(sheet: Worksheet, rows: Sequence[Row]) -> Worksheet:
    for row in rows:
        sheet.append([None if value == "" else value for value in row])
    return sheet


def workbook(
    path: Path, sheets: dict[str, Sequence[Row]], change: Callable[[Workbook], None] | None = None
) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        fill(book.create_sheet(title), rows)
    if change:
        change(book)
    book.save(path)
    return path


def messages(path: Path, found: Any) -> Path:
    return put(path, json.dumps(found, indent=1, ensure_ascii=False))
