"""Cells that say when something happened after birth: minutes, a clock time, a moment, or "not by ..."."""

from __future__ import annotations

import re
from datetime import timedelta

import numpy as np

from neonatal_stats.season.cells.moments import LONGEST, clock_seconds, take_apart
from neonatal_stats.season.cells.numbers import read_numbers
from neonatal_stats.season.cells.parsed import Parsed
from neonatal_stats.season.grid import RawColumn
from neonatal_stats.season.mapping.units import Turn
from neonatal_stats.vocabulary.columns import Column

NOT_BY = re.compile(
    r"(?:not(?: seen)?(?: yet)?(?: by| at| before| within)?|no(?: by)|>)\s*(?=\d)(.+)", re.IGNORECASE
)
REMEDY = 'write minutes after birth (45), a clock time (05:45) or "not by 06:30", or leave the cell empty'


def read_elapsed(column: Column, raw: RawColumn, declared: Turn | None, file_uses_comma: bool) -> Parsed:
    """Minutes after birth; ``extra`` keeps clock times, moments and which cells say "not by"."""
    size = len(raw.distinct)
    not_by = np.zeros(size, dtype=bool)
    clocks = np.full(size, np.nan)
    moments = np.full(size, np.datetime64("NaT"), dtype="datetime64[ns]")
    rest = np.empty(size, dtype=object)
    for at, cell in enumerate(raw.distinct):
        inner, not_by[at] = _bare(cell)
        clocks[at], moments[at], rest[at] = _clock_or_moment(inner)
    numbers = read_numbers(column, RawColumn(raw.codes, rest), declared, file_uses_comma)
    values = numbers.values
    trouble = numbers.trouble
    negative = np.flatnonzero(values < 0)
    trouble[negative] = "a time after birth cannot be negative"
    values[negative] = np.nan
    extra = {
        "not_by": (not_by, False),
        "clock_s": (clocks, np.nan),
        "moment": (moments, np.datetime64("NaT")),
    }
    return Parsed(values, np.nan, trouble, REMEDY, numbers.notes, numbers.note_remedy, extra)


def _bare(cell: object) -> tuple[object, bool]:
    found = NOT_BY.fullmatch(cell) if isinstance(cell, str) and len(cell) <= LONGEST else None
    return (found[1].strip(), True) if found else (cell, False)


def _clock_or_moment(cell: object) -> tuple[float, np.datetime64, object]:
    """Seconds since midnight, or a moment, or the cell itself where it is neither."""
    never = np.datetime64("NaT")
    if cell is None or isinstance(cell, int | float):
        return np.nan, never, cell
    if isinstance(cell, timedelta):
        return np.nan, never, cell.total_seconds() / 60
    looks_decimal = isinstance(cell, str) and re.fullmatch(r"\d+([.,]\d+)?", cell) is not None
    if not looks_decimal and (seconds := clock_seconds(cell)) is not None:
        return float(seconds), never, None
    moment = None if looks_decimal else take_apart(cell, {})
    if moment is not None and not moment.open and moment.clock_s is not None:
        try:
            return np.nan, np.datetime64(moment.at(True), "ns"), None
        except ValueError:
            return np.nan, never, cell
    return np.nan, never, cell
