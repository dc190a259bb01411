"""Clock times: 5:30, 05.30, 5h30, 5:30 pm in any cell; 530 and 5.3 only where the whole column holds clock times."""

from __future__ import annotations

import re
from datetime import time

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.parsed import is_nothing
from neonatal_stats.season.grid import RawColumn

LONGEST = 60
BEFORE = r"(?:(?:at|um|kl\.?|klokken|klokka|klockan|à|a las|a la|alle|om|o|às|as|godz\.?|ca\.?|~)\s*)?"
TIME = (
    r"(?P<h>\d{1,2})\s?[:.h]\s?(?P<m>\d{2})(?:[:.](?P<s>\d{2})(?:[.,]\d+)?)?"
    r"(?:\s*(?P<half>[ap])(?:\.?m)?\.?)?"
)
AFTER = r"(?:\s*(?:h|hrs?|uhr|uur|óra|min)\.?)?"
CLOCK = re.compile(BEFORE + TIME + AFTER, re.IGNORECASE)
HOUR = re.compile(BEFORE + r"(?P<h>\d{1,2})\s*(?:(?P<half>[ap])\.?m\.?|uhr|uur)", re.IGNORECASE)
BARE = re.compile(r"(?P<h>[01]\d|2[0-3])(?P<m>[0-5]\d)" + AFTER, re.IGNORECASE)
DIGITS = re.compile(r"(?P<h>\d{1,2})(?P<m>[0-5]\d)" + AFTER, re.IGNORECASE)
POINTED = re.compile(r"(?P<h>\d{1,2})[.,](?P<m>\d{1,2})")
ON_THE_QUARTER = {0, 25, 50, 75}
MOST, PROVEN_BY, FEW = 0.9, 5, 3


def clock_seconds(cell: object) -> int | None:
    """Seconds since midnight where a cell holds a clock time alone, else None."""
    if isinstance(cell, time):
        return (cell.hour * 60 + cell.minute) * 60 + cell.second
    if not isinstance(cell, str) or len(cell) > LONGEST:
        return None
    text = cell.strip()
    found = CLOCK.fullmatch(text) or HOUR.fullmatch(text) or BARE.fullmatch(text)
    return seconds_of(found.groupdict()) if found else None


def seconds_of(part: dict[str, str | None]) -> int | None:
    """Seconds since midnight from the parts of a clock time; None where there is no such time."""
    hour, minute, second = (int(part.get(key) or 0) for key in "hms")
    if half := part.get("half"):
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half in "pP" else 0)
    exact = hour < 24 or (hour == 24 and minute == second == 0)
    return (hour * 60 + minute) * 60 + second if exact and minute < 60 and second < 60 else None


def clocks_in(raw: RawColumn) -> NDArray[np.float64]:
    """Seconds since midnight of a column's distinct cells, where nearly all of them are clock times; else all NaN.

    In such a column 530 is half past five, and so is 5.30 (or 5.3, as a spreadsheet keeps it) unless the numbers may as
    well be hours and parts of hours: then none is taken for a clock time.
    """
    told = np.array([cell is not None and not is_nothing(cell) for cell in raw.distinct], dtype=bool)
    clocks = np.full(len(raw.distinct), np.nan)
    for reader in (_strict, _as_digits, _as_pointed, _as_part_of_a_day):
        read = reader(raw)
        clocks = np.where(np.isnan(clocks), read, clocks)
    enough = told.any() and np.isfinite(clocks[told]).mean() >= MOST
    return clocks if enough else np.full(len(clocks), np.nan)


def _strict(raw: RawColumn) -> NDArray[np.float64]:
    found = [clock_seconds(cell) for cell in raw.distinct]
    return np.array([np.nan if seconds is None else seconds for seconds in found], dtype=float)


def _as_digits(raw: RawColumn) -> NDArray[np.float64]:
    """530, 0530, 1745; and 5 or 15 for minutes after midnight, of which a spreadsheet has dropped the zeros."""
    read = _each(raw, DIGITS)
    if np.isfinite(read).sum() < FEW:
        return read
    for place, cell in enumerate(raw.distinct):
        text = _written(cell)
        if np.isnan(read[place]) and text.isdigit() and len(text) < FEW and int(text) < 60:
            read[place] = int(text) * 60
    return read


def _as_pointed(raw: RawColumn) -> NDArray[np.float64]:
    """5.30 for half past five, unless the parts may be hundredths of an hour."""
    read = _each(raw, POINTED)
    minutes = {int(seconds // 60 % 60) for seconds in read[np.isfinite(read)]}
    as_text = [cell for cell in raw.distinct if isinstance(cell, str) and POINTED.fullmatch(cell.strip())]
    written_out = bool(as_text) and all(re.search(r"[.,]\d\d$", cell.strip()) for cell in as_text)
    proven = len(minutes) >= PROVEN_BY and bool(minutes - ON_THE_QUARTER)
    return read if proven or (written_out and bool(minutes - ON_THE_QUARTER)) else np.full(len(read), np.nan)


def _as_part_of_a_day(raw: RawColumn) -> NDArray[np.float64]:
    """0.2292 as a spreadsheet keeps 05:30."""
    parts = [cell if isinstance(cell, float) and 0 <= cell < 1 else np.nan for cell in raw.distinct]
    fine = [cell for cell in parts if np.isfinite(cell) and abs(cell * 100 - round(cell * 100)) > 1e-9]
    return np.round(np.array(parts, dtype=float) * 1440) * 60 if fine else np.full(len(parts), np.nan)


def _each(raw: RawColumn, form: re.Pattern[str]) -> NDArray[np.float64]:
    read = np.full(len(raw.distinct), np.nan)
    for place, cell in enumerate(raw.distinct):
        if found := form.fullmatch(_written(cell)):
            seconds = seconds_of({"h": found["h"], "m": found["m"].ljust(2, "0")})
            read[place] = np.nan if seconds is None else seconds
    return read


def _written(cell: object) -> str:
    if isinstance(cell, float | int) and not isinstance(cell, bool):
        return f"{cell:.6g}" if float(cell) == cell else ""
    return cell.strip() if isinstance(cell, str) and len(cell) <= LONGEST else ""


def written_clock(seconds: float) -> str:
    """05:30, or 05:30:20 where seconds were kept."""
    whole = int(seconds)
    text = f"{whole // 3600:02d}:{whole // 60 % 60:02d}"
    return text + (f":{whole % 60:02d}" if whole % 60 else "")
