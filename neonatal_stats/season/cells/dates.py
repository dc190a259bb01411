"""Dates, and clock times: which of two numbers is the day is declared or proven, never guessed.

A clock time is 5:30, 05.30, 5h30 or 5:30 pm in any cell, 530 and 5.3 only where the whole column holds clock times.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.parsed import Parsed, blank_sentences, sheet_error, tells
from neonatal_stats.season.finding import UNSAID, CannotRead, Said, say
from neonatal_stats.season.grid import RawColumn
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import Column
from neonatal_stats.vocabulary.farm_words import months as month_names
from neonatal_stats.vocabulary.farm_words import weekdays
from neonatal_stats.vocabulary.spelling import bare_words

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

ZONE = r"(?P<zone>Z|[+-]\d{2}:?\d{2})"
AFTER_DATE = rf"(?:(?:T|,?\s+){BEFORE}(?:{TIME}|(?P<hm>\d{{4}})){AFTER}\s*{ZONE}?)?"
NAME = r"(?P<name>[^\W\d_]{3,12})"
FORMS = tuple(
    re.compile(form + AFTER_DATE, re.IGNORECASE)
    for form in (
        r"(?P<y>\d{4})[-/.](?P<mo>\d{1,2})[-/.](?P<d>\d{1,2})",
        r"(?P<a>\d{1,2})[-/.](?P<b>\d{1,2})[-/.](?P<y>\d{4}|\d{2})",
        rf"(?P<d>\d{{1,2}})(?:st|nd|rd|th|er)?[ .-]*(?:de |d')?{NAME}[ .,-]*(?:de )?(?P<y>\d{{4}}|\d{{2}})",
        rf"{NAME}[ .]*(?P<d>\d{{1,2}})(?:st|nd|rd|th)?,?[ ]*(?P<y>\d{{4}})",
        r"(?P<y>(?:19|20)\d{2})(?P<mo>\d{2})(?P<d>\d{2})",
    )
)
FIRST_WORD = re.compile(r"([^\W\d_]+)[.,]*\s+(?=\d)")
CLOCK_FIRST = re.compile(rf"(?P<clock>{TIME}{AFTER}),?\s+(?P<day>.+)", re.IGNORECASE)
NUMERIC = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.]\d")
CLOCKED = ("born_at", "died_at")
SERIAL = re.compile(r"\d{5}(?:[.,]\d+)?")
SERIAL_ZERO = datetime(1899, 12, 30)
FIRST_YEAR, LAST_YEAR = 1980, 2099
ISO = re.compile(r"(?:19[89]|20\d)\d-\d\d-\d\d(?:[ T]\d\d:\d\d(?::\d\d)?)?")
NOT_A_DATE = say("this is not a date that can be read")
REMEDY = say("write the date as 2026-04-03 and a time as 2026-04-03 05:30, or leave the cell empty")


def clock_seconds(cell: object) -> int | None:
    """Seconds since midnight where a cell holds a clock time alone, else None."""
    if isinstance(cell, time):
        return _since_midnight(cell)
    if not isinstance(cell, str) or len(cell) > LONGEST:
        return None
    text = cell.strip()
    found = CLOCK.fullmatch(text) or HOUR.fullmatch(text) or BARE.fullmatch(text)
    return seconds_of(found.groupdict()) if found else None


def _since_midnight(when: time | datetime) -> int:
    return (when.hour * 60 + when.minute) * 60 + when.second


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
    told = np.array([tells(cell) for cell in raw.distinct], dtype=bool)
    clocks = np.full(len(raw.distinct), np.nan)
    for reader in (_strict, _as_digits, _as_pointed, _as_part_of_a_day):
        read = reader(raw)
        clocks = np.where(np.isnan(clocks), read, clocks)
    enough = told.any() and np.isfinite(clocks[told]).mean() >= MOST
    return clocks if enough else np.full(len(clocks), np.nan)


def _strict(raw: RawColumn) -> NDArray[np.float64]:
    return np.array([clock_seconds(cell) for cell in raw.distinct], dtype=float)


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
        return Moment(cell.year, cell.day, cell.month, False, _since_midnight(cell))
    if isinstance(cell, date):
        return Moment(cell.year, cell.day, cell.month, False, None)
    if isinstance(cell, float | int):
        text = f"{cell:.15g}"
        return _serial(text) or _by_form(text, months)
    if len(str(cell)) > LONGEST:
        return None
    text = str(cell)
    if (first := FIRST_WORD.match(text)) and first[1].casefold() in weekdays():
        text = text[first.end() :]
    return _by_form(text, months) or _serial(text) or _clock_first(text, months)


def _clock_first(text: str, months: dict[str, int]) -> Moment | None:
    """A date whose clock time stands before it."""
    found = CLOCK_FIRST.fullmatch(text)
    seconds = clock_seconds(found["clock"]) if found else None
    day = _by_form(found["day"], months) if found and seconds is not None else None
    return day._replace(clock_s=seconds) if day is not None and day.clock_s is None else None


def _by_form(text: str, months: dict[str, int]) -> Moment | None:
    for form in FORMS:
        if found := form.fullmatch(text):
            return _from_match(found.groupdict(), months)
    return None


def _from_match(part: dict[str, str | None], months: dict[str, int]) -> Moment | None:
    year = int(part["y"] or 0)
    year += 0 if year > 99 else 2000 if year < 70 else 1900
    if whole := part.get("hm"):
        part = {**part, "h": whole[:2], "m": whole[2:]}
    clock = seconds_of(part) if part.get("h") else None
    if part.get("h") and clock is None:
        return None
    zone = part["zone"] or ""
    if part.get("a"):
        return Moment(year, int(part["a"] or 0), int(part["b"] or 0), True, clock, zone)
    month = _month(part["name"] or "", months) if part.get("name") else int(part["mo"] or 0)
    return Moment(year, int(part["d"] or 0), month, False, clock, zone) if month else None


def _month(name: str, months: dict[str, int]) -> int:
    spoken = name.casefold()
    known = month_names()
    return (
        months.get(spoken)
        or known.get(spoken)
        or known.get(bare_words(name))
        or known.get(bare_words(name)[:3], 0)
    )


def _serial(text: str) -> Moment | None:
    """A spreadsheet's serial number of a day (1 = 1 January 1900) from 1980 to 2099."""
    if not SERIAL.fullmatch(text):
        return None
    days = float(text.replace(",", "."))
    when = SERIAL_ZERO + timedelta(seconds=round(days * 86_400))
    if not FIRST_YEAR <= when.year <= LAST_YEAR:
        return None
    clock = None if days == int(days) else _since_midnight(when)
    return Moment(when.year, when.day, when.month, False, clock, serial=True)


def read_dates(
    column: Column,
    raw: RawColumn,
    place: str,
    settings: Settings,
    months: dict[str, int],
    day_first_beside: bool | None = None,
) -> Parsed:
    """Local dates and times; ``extra`` says which are whole days and keeps clock times that have no date.

    ``day_first_beside`` is the order of day and month that another column of the sheet proves, where one does.
    """
    size = len(raw.distinct)
    values = np.full(size, np.datetime64("NaT"), dtype="datetime64[ns]")
    clocks = np.full(size, np.nan)
    whole_day = np.zeros(size, dtype=bool)
    trouble, notes = blank_sentences(size), blank_sentences(size)
    rest = _plain_iso(raw.distinct, values, whole_day)
    parts = {at: take_apart(raw.distinct[at], months) for at in rest}
    day_first = _day_first(column.name, place, raw.distinct, parts, settings, day_first_beside)
    dateless = len(rest) == size and all(moment is None or moment.serial for moment in parts.values())
    told = clocks_in(raw) if dateless and column.name in CLOCKED else np.full(size, np.nan)
    for at, moment in parts.items():
        if np.isfinite(told[at]):
            clocks[at], trouble[at] = told[at], _alone(column.name)
        elif moment is None:
            clocks[at], trouble[at] = _without_date(raw.distinct[at], column.name)
        else:
            values[at], whole_day[at], trouble[at], notes[at] = _with_date(moment, day_first, settings)
    whole_day |= _all_at_midnight(values, whole_day)
    extra = {"is_day": (whole_day, False), "clock_s": (clocks, np.nan)}
    remedy = say("look whether this is what was meant")
    return Parsed(values, np.datetime64("NaT"), trouble, REMEDY, notes, remedy, extra)


def _plain_iso(
    cells: NDArray[np.object_], values: NDArray[np.datetime64], whole_day: NDArray[np.bool_]
) -> list[int]:
    """Read the plain international forms at once; the places of the other cells are returned."""
    plain = np.array([isinstance(c, str) and ISO.fullmatch(c) is not None for c in cells], dtype=bool)
    if plain.any():
        read = pd.to_datetime(cells[plain], format="ISO8601", errors="coerce")
        values[plain] = read.to_numpy(dtype="datetime64[ns]")
        whole_day[plain] = [len(text) == 10 for text in cells[plain]]
    return [int(at) for at in np.flatnonzero(~plain | np.isnat(values))]


def proven_order(columns: Iterable[RawColumn], months: dict[str, int]) -> bool | None:
    """True where a day above 12 in one of a sheet's columns proves the day first, False for the month; else None."""
    proofs: set[bool] = set()
    for raw in columns:
        for cell in raw.distinct:
            if isinstance(cell, str) and (found := NUMERIC.match(cell)):
                first, second = int(found[1]), int(found[2])
                if (first > 12) != (second > 12) and (moment := take_apart(cell, months)) and moment.open:
                    proofs.add(first > 12)
    return proofs.pop() if len(proofs) == 1 else None


def _day_first(
    name: str,
    place: str,
    cells: NDArray[np.object_],
    parts: dict[int, Moment | None],
    settings: Settings,
    beside: bool | None,
) -> bool:
    """True where the day stands before the month, as declared in the settings or proven by a day above 12."""
    unproven = {at: m for at, m in parts.items() if m is not None and m.open and m.first != m.second}
    if settings.day_first is not None or not unproven:
        return settings.day_first is not False
    day_first = [at for at, m in unproven.items() if m.first > 12]
    month_first = [at for at, m in unproven.items() if m.second > 12]
    if not day_first and not month_first and beside is not None:
        return beside
    if day_first and month_first:
        raise CannotRead(
            f"{place}, column {name}: {cells[day_first[0]]} has the day first and {cells[month_first[0]]} has the "
            "month first; say day_first = true or day_first = false in the settings file, "
            "and dates of the other kind are listed as not read."
        )
    if not day_first and not month_first:
        raise CannotRead(
            f"{place}, column {name}: {cells[next(iter(unproven))]} may have the day or the month first and no date in "
            "the column settles it; say day_first = true or day_first = false in the settings file."
        )
    return bool(day_first)


def _with_date(moment: Moment, day_first: bool, settings: Settings) -> tuple[np.datetime64, bool, Said, Said]:
    try:
        when = moment.at(day_first)
    except ValueError:
        return np.datetime64("NaT"), False, say("there is no such day"), UNSAID
    if not FIRST_YEAR <= when.year <= LAST_YEAR:
        wrong = say("the year is not between {first} and {last}", first=FIRST_YEAR, last=LAST_YEAR)
        return np.datetime64("NaT"), False, wrong, UNSAID
    note = UNSAID
    if moment.zone:
        when, note = _local(when, moment.zone, settings.time_zone)
    elif moment.serial:
        note = say("a spreadsheet's number of a day; it was read as {when}", when=f"{when:%Y-%m-%d %H:%M}")
    return np.datetime64(when, "ns"), moment.clock_s is None, UNSAID, note


def _local(when: datetime, zone: str, time_zone: str) -> tuple[datetime, Said]:
    """A time with its distance from UTC as local time: in the farm's zone where the settings name it."""
    from zoneinfo import ZoneInfo

    if not time_zone:
        if zone.upper() == "Z":
            return when, say("a time in UTC, taken as local since the settings name no time_zone")
        return when, say(
            "a time {zone} off UTC, taken as local since the settings name no time_zone", zone=zone
        )
    digits = zone[1:].replace(":", "") or "0000"
    away = (-1 if zone[0] == "-" else 1) * timedelta(hours=int(digits[:2]), minutes=int(digits[2:]))
    utc = (when - away).replace(tzinfo=ZoneInfo("UTC"))
    return utc.astimezone(ZoneInfo(time_zone)).replace(tzinfo=None), UNSAID


def _without_date(cell: object, name: str) -> tuple[float, Said]:
    """What a cell that is no date holds: nothing, a clock time (kept for births), or trouble."""
    if not tells(cell):
        return np.nan, UNSAID
    seconds = clock_seconds(cell)
    if seconds is not None:
        return float(seconds), _alone(name)
    return np.nan, sheet_error(cell) or NOT_A_DATE


def _alone(name: str) -> Said:
    """A time of birth may find its date in born_on; any other clock time needs its own."""
    return UNSAID if name == "born_at" else say("a clock time without its date")


def _all_at_midnight(values: NDArray[np.datetime64], whole_day: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Where every time of a column is 00:00, the column holds dates."""
    known = ~np.isnat(values)
    at_midnight = values == values.astype("datetime64[D]")
    return known & at_midnight if (at_midnight | ~known).all() else np.zeros_like(whole_day)
