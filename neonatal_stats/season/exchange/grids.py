"""Exchange files as grids, so that they are checked by the same rules as every other file."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from neonatal_stats.season.exchange.messages_read import read_exchange
from neonatal_stats.season.grid import Grid, Remark


def exchange_grids(paths: Sequence[Path], time_zone: str = "") -> list[Grid]:
    """One grid of births for each file that holds any; what was found stands in its remarks."""
    found = read_exchange(paths, time_zone)
    births, problems = found["births"], found["problems"]
    grids = []
    for path in paths:
        rows = births[births["file"] == path.name] if len(births) else births
        remarks = _remarks(problems[problems["file"] == path.name])
        remarks += _unplaced(found) if path == paths[0] else ()
        grids.append(_grid(path, rows.drop(columns=["file", "row"], errors="ignore"), remarks))
    return grids


def _grid(path: Path, rows: pd.DataFrame, remarks: tuple[Remark, ...]) -> Grid:
    held = [name for name in rows if rows[name].notna().any()]
    columns = [[None, *rows[name]] for name in held]
    sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
    headings = tuple(map(str, held))
    table = "births" if held else ""
    return Grid(path.name, "", columns, sha256, remarks, headings=headings, headed=True, table=table)


def _remarks(problems: pd.DataFrame) -> tuple[Remark, ...]:
    """Findings that say the same of the same value are said once, with how often."""
    lines = zip(*(problems[name] for name in ("column", "value", "problem", "remedy")), strict=True)
    remarks = []
    for (column, value, problem, remedy), count in Counter(lines).items():
        said = f'"{value}": {problem}' if value else str(problem)
        remarks.append(Remark(column, f"{said} ({count} times)" if count > 1 else said, remedy))
    return tuple(remarks)


def _unplaced(found: dict[str, pd.DataFrame]) -> tuple[Remark, ...]:
    return tuple(
        Remark("", f"{len(found[name])} {name} were read; no tidy column holds them", "nothing")
        for name in ("diagnoses", "treatments")
        if len(found[name])
    )
