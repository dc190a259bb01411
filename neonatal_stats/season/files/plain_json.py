"""JSON of plain records: a list of objects, or such lists by the name of their table; no messages of the standard."""

from __future__ import annotations

import json

from neonatal_stats.season.finding import printable
from neonatal_stats.season.grid import Grid, check_size

Plain = dict[str, list[dict[str, object]]]
NOT_JSON = (
    "it holds no births as messages of the animal-data standard and is no list of plain records such as "
    '[{"dam_id": "E1", "born_at": "2026-03-05", "died": "no"}]; save it so, or as CSV.'
)


def plain_grids(name: str, data: bytes, sha256: str) -> list[Grid]:
    """The records of a JSON file as sheets; none where it holds anything else."""
    return [_grid(name, sheet, rows, sha256) for sheet, rows in _plain(data).items()]


def _plain(data: bytes) -> Plain:
    try:
        found = json.loads(data.decode("utf-8-sig"))
    except ValueError:
        return {}
    named = found if isinstance(found, dict) else {"": found}
    return dict(named) if named and all(map(_are_records, named.values())) else {}


def _are_records(rows: object) -> bool:
    """True for a list of objects that hold texts, numbers, yes and no, or nothing."""
    return (
        isinstance(rows, list)
        and bool(rows)
        and all(isinstance(row, dict) and row for row in rows)
        and all(cell is None or isinstance(cell, str | int | float) for row in rows for cell in row.values())
    )


def _grid(name: str, sheet: str, rows: list[dict[str, object]], sha256: str) -> Grid:
    headings = list(dict.fromkeys(key for row in rows for key in row))
    check_size(name, len(rows), len(headings))
    columns = [[None, *(row.get(heading) for row in rows)] for heading in headings]
    names = tuple(map(printable, headings))
    return Grid(name, printable(sheet), columns, sha256, headings=names, headed=True, lines=len(rows))
