"""One cell that holds a date, a time or both: taken apart, the order of day and month still open."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from typing import NamedTuple

TIME = r"(?P<h>\d{1,2})[:.h](?P<m>\d{2})(?:[:.](?P<s>\d{2})(?:[.,]\d+)?)?\s*(?P<half>[ap]\.?m\.?)?"
ZONE = r"(?P<zone>Z|[+-]\d{2}:?\d{2})"
AFTER_DATE = rf"(?:(?:T|,?\s+)(?:at\s+)?(?:{TIME}|(?P<hm>\d{{4}}))(?:\s*h(?:rs)?)?\s*{ZONE}?)?"
FORMS = tuple(
    re.compile(form + AFTER_DATE, re.IGNORECASE)
    for form in (
        r"(?P<y>\d{4})[-/.](?P<mo>\d{1,2})[-/.](?P<d>\d{1,2})",
        r"(?P<a>\d{1,2})[-/.](?P<b>\d{1,2})[-/.](?P<y>\d{4}|\d{2})",
        r"(?P<d>\d{1,2})(?:st|nd|rd|th)?[ .-]*(?P<name>[^\W\d_]{3,10})[ .,-]*(?P<y>\d{4}|\d{2})",
        r"(?P<name>[^\W\d_]{3,10})[ .]*(?P<d>\d{1,2})(?:st|nd|rd|th)?,?[ ]*(?P<y>\d{4})",
        r"(?P<y>(?:19|20)\d{2})(?P<mo>\d{2})(?P<d>\d{2})",
    )
)
CLOCK = re.compile(TIME, re.IGNORECASE)
BARE_CLOCK = re.compile(r"(?P<h>[01]\d|2[0-3])(?P<m>[0-5]\d)(?:\s*h(?:rs)?)?")
WEEKDAY = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[.,]?\s+", re.IGNORECASE)
MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
SERIAL = re.compile(r"\d{5}(?:[.,]\d+)?")
SERIAL_ZERO = datetime(1899, 12, 30)
LONGEST = 60
FIRST_YEAR, LAST_YEAR = 1980, 2099


class Moment(NamedTuple):
    """A cell taken apart. ``first`` and ``second`` are day and month where ``open`` is False, else either."""

    year: int
    first: int
    second: int
    open: bool
    clock_s: int | None
    zone: str = ""
    serial: bool = False

    def at(self, day_first: bool) -> datetime:
        """The moment under an order of day and month; ValueError where there is no such day."""
        day, month = (self.first, self.second) if day_first or not self.open else (self.second, self.first)
        return datetime(self.year, month, day) + timedelta(seconds=self.clock_s or 0)


def take_apart(cell: object, months: dict[str, int]) -> Moment | None:
    """The parts of a date with or without a time; None where the cell is no date."""
    if isinstance(cell, datetime):
        clock = (cell.hour * 60 + cell.minute) * 60 + cell.second
        return Moment(cell.year, cell.day, cell.month, False, clock)
    if isinstance(cell, date):
        return Moment(cell.year, cell.day, cell.month, False, None)
    if isinstance(cell, float | int):
        text = f"{cell:.15g}"
        return _serial(text) or _by_form(text, months)
    if len(str(cell)) > LONGEST:
        return None
    text = WEEKDAY.sub("", str(cell), count=1)
    return _by_form(text, months) or _serial(text)


def _by_form(text: str, months: dict[str, int]) -> Moment | None:
    for form in FORMS:
        if found := form.fullmatch(text):
            return _from_match(found.groupdict(), months)
    return None


def _from_match(part: dict[str, str | None], months: dict[str, int]) -> Moment | None:
    year = int(part["y"] or 0)
    year += 0 if year > 99 else 2000 if year < 70 else 1900
    clock = _seconds(part)
    if clock == -1:
        return None
    zone = part["zone"] or ""
    if part.get("a"):
        return Moment(year, int(part["a"] or 0), int(part["b"] or 0), True, clock, zone)
    month = _month(part["name"] or "", months) if part.get("name") else int(part["mo"] or 0)
    return Moment(year, int(part["d"] or 0), month, False, clock, zone) if month else None


def _month(name: str, months: dict[str, int]) -> int:
    spoken = name.casefold()
    if spoken in months:
        return months[spoken]
    return MONTHS.index(spoken[:3]) + 1 if spoken[:3] in MONTHS else 0


def _seconds(part: dict[str, str | None]) -> int | None:
    """Seconds since midnight; None without a time, -1 where there is no such time."""
    if part.get("hm"):
        hour, minute, second = int((part["hm"] or "")[:2]), int((part["hm"] or "")[2:]), 0
    elif part.get("h"):
        hour, minute, second = int(part["h"] or 0), int(part["m"] or 0), int(part.get("s") or 0)
    else:
        return None
    if half := part.get("half"):
        if not 1 <= hour <= 12:
            return -1
        hour = hour % 12 + (12 if half[0] in "pP" else 0)
    exact = hour < 24 or (hour == 24 and minute == second == 0)
    return (hour * 60 + minute) * 60 + second if exact and minute < 60 and second < 60 else -1


def _serial(text: str) -> Moment | None:
    """A spreadsheet's serial number of a day (1 = 1 January 1900) from 1980 to 2099."""
    if not SERIAL.fullmatch(text):
        return None
    days = float(text.replace(",", "."))
    when = SERIAL_ZERO + timedelta(seconds=round(days * 86_400))
    if not FIRST_YEAR <= when.year <= LAST_YEAR:
        return None
    clock = (when.hour * 60 + when.minute) * 60 + when.second
    return Moment(when.year, when.day, when.month, False, None if days == int(days) else clock, serial=True)


def clock_seconds(cell: object) -> int | None:
    """Seconds since midnight where a cell holds a clock time alone, else None."""
    if isinstance(cell, time):
        return (cell.hour * 60 + cell.minute) * 60 + cell.second
    if not isinstance(cell, str) or len(cell) > LONGEST:
        return None
    found = CLOCK.fullmatch(cell.strip()) or BARE_CLOCK.fullmatch(cell.strip())
    seconds = _seconds(found.groupdict()) if found else None
    return None if seconds == -1 else seconds
