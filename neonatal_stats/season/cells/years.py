"""Dates without a year: it comes from the map, the season's column, the other dates, or the name of sheet or file."""

from __future__ import annotations

import re
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.dates import AFTER, BEFORE, TIME, clocks_in, proven_order, take_apart
from neonatal_stats.season.cells.parsed import tells
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.grid import Placed, RawColumn, recoded
from neonatal_stats.season.records_map import RecordsMap
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.farm_words import months
from neonatal_stats.vocabulary.spelling import bare_words

_CLOCK = rf"(?P<clock>,?\s+{BEFORE}(?:{TIME}){AFTER})?"
FORMS = tuple(
    re.compile(form + _CLOCK, re.IGNORECASE)
    for form in (
        r"(?P<a>\d{1,2})\s?(?P<sign>[/.-])\s?(?P<b>\d{1,2})\.?",
        r"(?P<a>\d{1,2})(?:st|nd|rd|th|er|\.)?[ .-]*(?:of |de |d')?(?P<name>[^\W\d_]{3,12})\.?",
        r"(?P<name>[^\W\d_]{3,12})\.?[ -]*(?P<a>\d{1,2})(?:st|nd|rd|th)?\.?",
    )
)
YEAR = re.compile(r"(?<!\d)((?:19[89]|20\d)\d)(?!\d)")
HALF_A_YEAR = 6
FEW, SLIPS, HALF = 0.05, 2, 0.5


class NoYear(CannotRead):
    """Nothing says the year of dates that have none."""


class _Bare:
    """A day and month taken apart: ``month`` is 0 where the order of two numbers must say which it is."""

    def __init__(self, found: re.Match[str]) -> None:
        part = found.groupdict()
        self.clock = part["clock"] or ""
        self.first = int(part["a"])
        self.second = int(part.get("b") or 0)
        self.month = months().get(bare_words(part["name"]), 0) if part.get("name") else 0
        self.named = bool(part.get("name"))

    @property
    def possible(self) -> bool:
        if self.named:
            return self.month > 0 and 1 <= self.first <= 31
        low, high = sorted((self.first, self.second))
        return 1 <= low <= 12 and high <= 31

    def day_and_month(self, day_first: bool) -> tuple[int, int]:
        if self.named:
            return self.first, self.month
        return (self.first, self.second) if day_first else (self.second, self.first)


def bare_days(raw: RawColumn) -> dict[int, _Bare]:
    """The distinct cells that hold a day and a month without a year; none where the column holds clock times."""
    found = {}
    for at, cell in enumerate(raw.distinct):
        if isinstance(cell, str) and len(cell) <= 40 and any(sign.isdigit() for sign in cell):
            match = next((match for form in FORMS if (match := form.fullmatch(cell.strip()))), None)
            if match and (bare := _Bare(match)).possible and take_apart(cell, {}) is None:
                found[at] = bare
    return found if found and not np.isfinite(clocks_in(raw)).any() else {}


def dates_in(raw: RawColumn) -> bool:
    """True where a column holds a date, with or without a year, or clock times; also where it holds nothing."""
    told = list(filter(tells, raw.distinct))
    if not told or bare_days(raw) or np.isfinite(clocks_in(raw)).any():
        return True
    return any(take_apart(cell, {}) is not None for cell in told)


def with_years(
    chosen: dict[str, RawColumn], table: Placed, records_map: RecordsMap, settings: Settings
) -> dict[str, RawColumn]:
    """The date columns with the year put to dates that have none; raises `CannotRead` where it cannot be known."""
    dated = {
        column.name: chosen[column.name]
        for column in TABLES["births"]
        if column.kind in ("moment", "date") and column.name in chosen
    }
    bare = {name: days for name, raw in dated.items() if (days := bare_days(raw)) and _enough(raw, days)}
    if not bare:
        return chosen
    day_first = _order(bare.values(), dated.values(), settings, table.place)
    years = _years_by_row(chosen, dated, table, records_map)
    turn = records_map.dates.first_month  # 13 where no month is set
    if any((dated[name].filled & (years == 0)).any() for name in bare):
        raise NoYear(_asked(table.place, dated, bare))
    used = {day.day_and_month(day_first)[1] for days in bare.values() for day in days.values()}
    births = {
        day.day_and_month(day_first)[1]
        for name, days in bare.items()
        if name.startswith("born")
        for day in days.values()
    }
    if turn == 13 and _over_new_year(births or used):
        raise NoYear(_asked(table.place, dated, bare))
    return chosen | {
        name: _filled(dated[name], days, years, turn, day_first, births) for name, days in bare.items()
    }


def _enough(raw: RawColumn, days: dict[int, _Bare]) -> bool:
    """A few such cells among whole dates are slips: they are named as not read rather than asked about."""
    filled = raw.codes[raw.codes >= 0]
    found = np.isin(filled, list(days))
    return bool(found.any() and found.mean() > FEW and (found.sum() > SLIPS or found.mean() >= HALF))


def _over_new_year(used: set[int]) -> bool:
    """Months late and early in the year side by side, or late ones alone, leave open which year they belong to."""
    return any(month >= 9 for month in used) and (any(month <= 4 for month in used) or min(used) >= 9)


def _order(
    bare: Iterable[dict[int, _Bare]], dated: Iterable[RawColumn], settings: Settings, place: str
) -> bool:
    """True where the day stands first, as declared or as some cell proves."""
    if settings.day_first is not None:
        return settings.day_first
    proofs = {
        b.first > 12 for days in bare for b in days.values() if not b.named and max(b.first, b.second) > 12
    }
    if (beside := proven_order(dated, {})) is not None:
        proofs.add(beside)
    numeric = any(not b.named and b.first != b.second for days in bare for b in days.values())
    if len(proofs) != 1 and numeric:
        raise CannotRead(
            f"{place}: dates without a year may have the day or the month first and none settles it; say "
            "day_first = true or day_first = false in the settings file."
        )
    return next(iter(proofs), True)


def _years_by_row(
    chosen: dict[str, RawColumn], dated: dict[str, RawColumn], table: Placed, records_map: RecordsMap
) -> NDArray[np.int64]:
    """The year for each row; 0 where nothing says it."""
    rows = len(next(iter(dated.values())).codes)
    if records_map.dates.year:
        return np.full(rows, records_map.dates.year, dtype=np.int64)
    fallback = _only_year(table.sheet) or _only_year(table.file) or _only_year(getattr(table, "titles", ""))
    full = {
        moment.year
        for raw in dated.values()
        for cell in raw.distinct
        if cell is not None and (moment := take_apart(cell, dict(records_map.months))) is not None
    }
    if len(full) == 1:
        year = full.pop()
        fallback = year if fallback in (0, year) else 0
    elif full:
        fallback = 0
    if "season" not in chosen:
        return np.full(rows, fallback, dtype=np.int64)
    raw = chosen["season"]
    years = raw.by_row(_only_year, 0, int)
    return np.where(years > 0, years, fallback).astype(np.int64)


def _only_year(cell: object) -> int:
    found = set(YEAR.findall(str(cell)))
    return int(found.pop()) if len(found) == 1 else 0


def _filled(
    raw: RawColumn,
    bare: dict[int, _Bare],
    years: NDArray[np.int64],
    turn: int,
    day_first: bool,
    births: set[int],
) -> RawColumn:
    """The column with years; months from ``turn`` on belong to the year before."""
    width = int(years.max()) + 1
    pairs, codes = np.unique((raw.codes + 1) * width + years, return_inverse=True)
    over = min(births, default=0) - HALF_A_YEAR if turn == 13 else 0
    cells: list[object] = []
    for pair in pairs:
        code, year = divmod(int(pair), width)
        cell = raw.distinct[code - 1] if code else None
        if code - 1 in bare:
            day, month = bare[code - 1].day_and_month(day_first)
            own = year - (month >= turn) + (month <= over)
            cell = f"{own}-{month:02d}-{day:02d}{bare[code - 1].clock}"
        cells.append(cell)
    return recoded(codes, cells)


def _asked(place: str, dated: dict[str, RawColumn], bare: dict[str, dict[int, _Bare]]) -> str:
    name = next(iter(bare))
    example = dated[name].distinct[next(iter(bare[name]))]
    return (
        f'{place}, column {name}: dates such as "{example}" have no year and nothing beside them settles it; say in '
        "the map under [dates] year = 2026, and first_month = 9 if months from September on belong to the year before."
    )
