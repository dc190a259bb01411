"""Dam and date written on a litter's first row alone: ditto marks and blanks that mean "the same as above".

A ditto mark says so. A blank is filled where the map declares it, or where the written litter sizes agree afterwards;
where nothing proves it and the blanks follow a pattern, it is asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.numbers import read_numbers
from neonatal_stats.season.cells.parsed import plain
from neonatal_stats.season.finding import NO_NEED, CannotRead, Finding, Said, say, where
from neonatal_stats.season.gathering.litters import days
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, Remark, Rows
from neonatal_stats.season.records_map import TableMap
from neonatal_stats.vocabulary.columns import OF_LITTER, column
from neonatal_stats.vocabulary.farm_words import possible_meanings

MARKS = (
    '"', "''", '""', "\u201e", "\u201c", "\u201d", "\u00bb", "\u00ab", "\u3003", "\u2033", '" "', "' '", '-"-', '"-',
    '-"', '- " -', "-\u201d-", "-\u201c-", "-\u2033-", "-''-", "-\u00bb-", ",,", "\u2193", "\u21e3", "\u21d3",
)  # fmt: skip
WORDS = (
    "do", "ditto", "dito", "dto", "id", "idem", "ibid", "same", "the same", "as above", "same as above", "see above",
    "gleich", "dasselbe", "wie oben", "siehe oben", "s.o", "samma", "samme", "som ovan", "som ovenfor", "som over",
    "ídem", "lo mismo", "igual", "mesmo", "come sopra", "c.s", "même", "comme dessus", "zelfde", "hetzelfde",
    "als boven", "j.w", "jw", "jak wyżej", "yr un", "fel uchod",
)  # fmt: skip
DITTO = frozenset(map(plain, (*MARKS, *WORDS)))
DASHES = frozenset(("-", "--", "---", "\u2013", "\u2014", "."))
DATES = ("born_at", "born_on")
KEYS = ("dam_id", "litter_id")
AGREE, SHORT = 0.9, 3
PATTERN_FROM, PATTERN_SHARE, PATTERN_FITS, LONGEST_LITTER = 3, 0.15, 0.8, 5


@dataclass(frozen=True)
class _Sheet:
    """The columns of a births sheet by what they mean, and which of its rows tell of a newborn beside its litter."""

    table: RawTable
    own: TableMap
    heading: Mapping[str, str]
    tells: Mask

    def cells(self, name: str) -> RawColumn:
        return self.table.columns[self.heading[name]]

    def blank(self, name: str) -> Mask:
        return _blank(self.cells(name))

    def lacks(self, name: str) -> Mask:
        """Rows without a value in a column; without any date where it is a column of dates."""
        also = [date for date in DATES if date in self.heading] if name in DATES else [name]
        return np.asarray(np.logical_and.reduce([self.blank(one) for one in also]))

    @property
    def open(self) -> tuple[str, ...]:
        """The litter's columns that are there and of which the map does not say whether blanks are filled."""
        return tuple(name for name in OF_LITTER if name in self.heading and name not in self.own.fill)


def filled_down(table: RawTable, own: TableMap) -> RawTable:
    """The births sheet with every ditto mark, and every blank that is known to mean the same as above, filled.

    Raises
    ------
    CannotRead
        Where dams or farms stand on some rows only, in a pattern, and neither the map nor the litter sizes say why.
    """
    table = _without_marks(table, own)
    sheet = _sheet(table, own)
    source = {
        name: _last_filled(sheet, name) for name, down in own.fill.items() if down and name in sheet.heading
    }
    sheet = replace(sheet, table=_taken_from(sheet, source, _as_declared))
    key = next((name for name in KEYS if name in sheet.heading and not sheet.blank(name).all()), "")
    if key in sheet.open:
        sheet = replace(sheet, table=_by_litter(_with_likely_sizes(sheet), key))
    sheet = replace(sheet, table=_dates_of_the_dam(sheet))
    _ask(sheet, key)
    return sheet.table.remarked(*_dates_below(sheet))


def _sheet(table: RawTable, own: TableMap) -> _Sheet:
    heading: dict[str, str] = {}
    for one in table.columns:
        if meant := own.column_of("births", one):
            heading.setdefault(meant, one)
    tells = np.zeros(len(table.rows), dtype=bool)
    for name, one in heading.items():
        if name not in OF_LITTER or name == "litter_size":
            tells |= ~_blank(table.columns[one])
    return _Sheet(table, own, heading, tells & ~table.found)


def _blank(cells: RawColumn) -> Mask:
    """Empty, or a dash alone."""
    return ~cells.filled | cells.rows_of(DASHES.__contains__)


def _without_marks(table: RawTable, own: TableMap) -> RawTable:
    """Ditto marks read as the filled cell above them; one in a newborn's identity, or below nothing, is missing."""
    columns, remarks, findings = dict(table.columns), [], list(table.findings)
    for heading, cells in table.columns.items():
        name = own.column_of("births", heading)
        if not name or not (marks := cells.rows_of(_is_ditto)).any():
            continue
        above = np.where(marks, _carried(~marks & ~_blank(cells)), np.arange(len(marks)))
        if name == "newborn_id":
            above[marks] = -1
        lost = where(marks & (above < 0))
        columns[heading] = RawColumn(np.where(above < 0, -1, cells.codes[above]), cells.distinct)
        problem, remedy = (
            say("a ditto mark with nothing above it that it could stand for"),
            say("write the cell out"),
        )
        findings.append(Finding(lost, name, cells.at(lost), problem, remedy, "set to missing"))
        read = int(marks.sum()) - len(lost)
        if read:
            problem = say("{n} ditto marks were read as the cell above them", n=f"{read:,}")
            remarks.append(Remark(heading, problem, NO_NEED))
    kept = tuple(finding for finding in findings if len(finding.at))
    return table.remarked(*remarks, columns=columns, findings=kept)


def _is_ditto(cell: object) -> bool:
    """A ditto mark or word; two or three capitals may be a name or initials."""
    if not isinstance(cell, str) or cell[-1:].isdigit():
        return False
    return plain(cell) in DITTO and not (cell.isupper() and cell.isalpha() and len(cell) <= SHORT)


def _carried(filled: Mask) -> Rows:
    """For each row the last filled one at or above it; -1 where there is none."""
    last: Rows = np.maximum.accumulate(np.where(filled, np.arange(len(filled)), -1))
    return last


def _last_filled(sheet: _Sheet, name: str) -> Rows:
    """Where the map declares it: each blank of a row that tells of a newborn takes the last filled cell above."""
    lacking = sheet.lacks(name) & sheet.tells
    return np.where(lacking, _carried(~sheet.blank(name)), np.arange(len(lacking)))


def _as_declared(n: str) -> Said:
    return say("{n} blanks were filled with the cell above them, as the map says", n=n)


def _as_sizes_agree(n: str) -> Said:
    return say("{n} blanks were filled with the cell above them, since the written litter sizes agree", n=n)


def _as_the_dam_is(n: str) -> Said:
    return say("{n} blanks were filled from the row above them, which names the same dam", n=n)


def _taken_from(sheet: _Sheet, source: Mapping[str, Rows], said: Callable[[str], Said]) -> RawTable:
    """Each column's cells from the rows given for it (-1 = as they are), with what was done."""
    columns, remarks = dict(sheet.table.columns), []
    for name, above in source.items():
        cells = sheet.cells(name)
        codes = np.where(above >= 0, cells.codes[above], cells.codes)
        changed = int((codes != cells.codes).sum())
        if changed:
            columns[sheet.heading[name]] = RawColumn(codes, cells.distinct)
            remarks.append(Remark(sheet.heading[name], said(f"{changed:,}"), NO_NEED))
    return sheet.table.remarked(*remarks, columns=columns)


def _with_likely_sizes(sheet: _Sheet) -> _Sheet:
    """The sheet with a column that may hold litter sizes taken for them, where none surely does: the rows prove it."""
    if "litter_size" in sheet.heading:
        return sheet
    likely = [
        heading
        for heading in sheet.table.columns
        if sheet.own.column_of("births", heading) is None
        and any(meaning.column == "litter_size" for meaning in possible_meanings("births", heading))
    ]
    return replace(sheet, heading={**sheet.heading, "litter_size": likely[0]}) if len(likely) == 1 else sheet


def _by_litter(sheet: _Sheet, key: str) -> RawTable:
    """Blanks of a litter's columns filled as far as the litter size written on its first row reaches.

    Done only where nearly every blank finds its place so and nearly every litter so filled is whole.
    """
    if "litter_size" not in sheet.heading:
        return sheet.table
    size = _sizes(sheet.cells("litter_size"))
    first, place = _litters(sheet, key)
    follows = sheet.blank(key) & sheet.tells & (first >= 0)
    of_first = np.where(first >= 0, size[first], np.nan)
    fits = follows & (place < of_first) & (np.isnan(size) | (size == of_first))
    if not fits.any() or fits.sum() < AGREE * follows.sum():
        return sheet.table
    rows = np.bincount(first[(first >= 0) & (fits | ~sheet.blank(key))], minlength=len(first))
    filled = np.unique(first[fits])
    if (rows[filled] == size[filled]).mean() < AGREE:
        return sheet.table
    source = {}
    for name in sheet.open:
        here = fits & sheet.lacks(name) & ~sheet.blank(name)[first]
        source[name] = np.where(here, first, np.arange(len(first)))
    return _taken_from(sheet, source, _as_sizes_agree)


def _litters(sheet: _Sheet, key: str) -> tuple[Rows, Rows]:
    """For each row the first row of the litter that it would belong to (-1 = none) and its place in it from 0."""
    cells, blank = sheet.cells(key), sheet.blank(key)
    rows = np.arange(len(blank))
    named = np.flatnonzero(~blank)
    begins = np.zeros(len(blank), dtype=bool)
    begins[named] = np.diff(cells.codes[named], prepend=-2) != 0
    first = _carried(begins)
    counted = sheet.tells | ~blank
    before: Rows = np.cumsum(counted) - counted
    place = np.where(first >= 0, before - before[first], rows)
    return first, place


def _sizes(cells: RawColumn) -> NDArray[np.float64]:
    return cells.spread(read_numbers(column("births", "litter_size"), cells, None, False).values, np.nan)


def _dates_of_the_dam(sheet: _Sheet) -> RawTable:
    """A date left blank on a row whose dam is also that of the dated row above it."""
    if "dam_id" not in sheet.heading:
        return sheet.table
    dam, nobody = sheet.cells("dam_id").codes, sheet.blank("dam_id")
    source = {}
    for name in DATES:
        if name in sheet.open:
            above = _carried(~sheet.blank(name))
            same = sheet.lacks(name) & sheet.tells & (above >= 0) & ~nobody
            same &= (dam == dam[above]) & ~_changed_between(dam, above)
            source[name] = np.where(same, above, np.arange(len(same)))
    return _taken_from(sheet, source, _as_the_dam_is)


def _changed_between(dam: Rows, above: Rows) -> Mask:
    """True where another dam stands between a row and the row that it would be filled from."""
    run = np.cumsum(np.diff(dam, prepend=dam[:1]) != 0)
    return np.asarray(run != run[above])


def _ask(sheet: _Sheet, key: str) -> None:
    for name in (key, "farm"):
        if name not in sheet.open:
            continue
        if name == "farm" and len(np.unique(sheet.cells(name).codes[~sheet.blank(name)])) < 2:
            continue
        n = _follow_a_pattern(sheet, name)
        if n:
            raise CannotRead(
                f'{sheet.table.place}: "{sheet.heading[name]}" is blank in {n:,} rows below filled ones, as where a '
                f"blank means the same as above; say in the map under [fill] {name} = true if it does, or {name} = "
                "false if these are not known."
            )


def _follow_a_pattern(sheet: _Sheet, name: str) -> int:
    """How many blanks look as if they meant the same as above; 0 where they are few or look like any missing cells.

    Littermates are few, follow a row of their own day or have no date, and are no singles.
    """
    blank = sheet.blank(name)
    first = _carried(~blank)
    follows = blank & sheet.tells & (first >= 0)
    n = int(follows.sum())
    if n < PATTERN_FROM or n < PATTERN_SHARE * (sheet.tells | ~blank).sum():
        return 0
    if name == "farm":
        return n
    before: Rows = np.cumsum(follows)
    alike = follows & (before - before[np.maximum(first, 0)] < LONGEST_LITTER)
    if "litter_size" in sheet.heading:
        alike &= _sizes(sheet.cells("litter_size")) != 1
    for date in DATES:
        if date in sheet.heading:
            day = days(sheet.cells(date))
            alike &= sheet.blank(date) | (day == day[first])
    return n if alike.sum() >= PATTERN_FITS * n else 0


def _dates_below(sheet: _Sheet) -> Iterator[Remark]:
    """A remark that asks, where dates stand on some rows only and nothing proved what the blanks below them mean."""
    dates = [name for name in DATES if name in sheet.heading]
    if not dates or not all(name in sheet.open for name in dates):
        return
    blank = np.logical_and.reduce([sheet.blank(name) for name in dates])
    follows = blank & sheet.tells & (_carried(~blank) >= 0)
    if follows.sum() < PATTERN_FROM or follows.sum() < PATTERN_SHARE * sheet.tells.sum():
        return
    n = f"{int(follows.sum()):,}"
    problem = say("{n} rows below dated ones have no date; a blank may mean the same as above", n=n)
    remedy = say(
        "say in the map under [fill] {column} = true if it does, or = false if the date is not known",
        column=dates[0],
    )
    yield Remark(sheet.heading[dates[0]], problem, remedy, "asked")
