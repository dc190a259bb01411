"""Columns of births as farms keep them, said again in tidy columns: whether it is alive now, its age at death, and so on.

Cells are joined by their distinct pairs, and only as text: what cannot be read stays as it was found and is read (or
asked about) like any other cell. Whatever says that a newborn is dead outranks what says that it lives.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime

import numpy as np

from neonatal_stats.season.cells.clock_times import clocks_in, written_clock
from neonatal_stats.season.cells.parsed import is_nothing
from neonatal_stats.season.cells.words import lexicon, plain
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.grid import RawColumn
from neonatal_stats.season.map.records_map import RecordsMap, plain_heading
from neonatal_stats.vocabulary.columns import column
from neonatal_stats.vocabulary.farm_words import folded, known_column
from neonatal_stats.vocabulary.units import plain_unit

Chosen = dict[str, RawColumn]
Cell = object
AGED = re.compile(r"\s*(?:<|>|ca\.?|~)?\s*\d+(?:[.,]\d+)?\s*([^\d\s.,+-]+)\.?\s*")
BY_DAY = ("d", "weeks")
OTHER = {"yes": "no", "no": "yes"}


def restated(
    chosen: Chosen, all_columns: Mapping[str, RawColumn], records_map: RecordsMap, place: str
) -> Chosen:
    """The chosen columns of births in tidy columns alone."""
    own = {name: dict(words) for name, words in records_map.of("births").words.items()}
    chosen = dict(chosen)
    if "died_on" in chosen:
        chosen["died_at"] = _dated(chosen.pop("died_on"), chosen.get("died_at"))
    if "born_dead" in chosen:
        said = _answers(chosen.pop("born_dead"), "born_dead", own, turned=True)
        chosen["born_alive"] = _either(chosen.get("born_alive"), said, "born_alive", own, death="no")
    if "age_at_death" in chosen:
        chosen |= _ages_by_unit(chosen.pop("age_at_death"), chosen, place)
    if "alive_now" in chosen:
        said = _answers(chosen.pop("alive_now"), "alive_now", own, turned=True)
        chosen["died"] = _either(chosen.get("died"), said, "died", own, death="yes")
    if records_map.alive.any_value_in:
        chosen["died"] = _with_any_value(chosen.get("died"), all_columns, records_map, own, place)
    for name in ("age_at_death_h", "age_at_death_d"):
        if name in chosen:
            died = _died_of_age(chosen[name], own, asked="died" not in chosen, place=place)
            chosen["died"] = _either(chosen.get("died"), died, "died", own, death="yes")
            chosen[name] = _each(chosen[name], lambda cell: None if _answer(cell, "died", own) else cell)
    return chosen


def _each(raw: RawColumn, said: Callable[[Cell], Cell]) -> RawColumn:
    """A column with each of its distinct cells said anew; None is blank."""
    cells = np.empty(len(raw.distinct), dtype=object)
    cells[:] = [said(cell) for cell in raw.distinct]
    blank = np.array([cell is None for cell in cells] + [True], dtype=bool)
    return RawColumn(np.where(blank[raw.codes], -1, raw.codes), cells)


def _pairs(first: RawColumn, second: RawColumn, said: Callable[[Cell, Cell], Cell]) -> RawColumn:
    """Two columns said as one, by their distinct pairs."""
    width = len(second.distinct) + 1
    both, codes = np.unique((first.codes + 1) * width + second.codes + 1, return_inverse=True)
    cells = np.empty(len(both), dtype=object)
    for at, pair in enumerate(both):
        left, right = divmod(int(pair), width)
        cells[at] = said(
            first.distinct[left - 1] if left else None, second.distinct[right - 1] if right else None
        )
    blank = np.array([cell is None for cell in cells], dtype=bool)
    return RawColumn(np.where(blank[codes], -1, codes).astype(np.int64), cells)


def _answer(cell: Cell, name: str, own: Mapping[str, Mapping[str, str]]) -> str:
    """Yes or no as a cell answers the question of its column; "" where it does not."""
    tidy = known_column("births", name)
    accepted = lexicon(tidy, tidy.words, own.get(name, {}))
    spoken = plain(cell)
    return accepted.get(spoken) or ("" if "?" in spoken else accepted.get(folded(spoken), ""))


def _answers(raw: RawColumn, name: str, own: Mapping[str, Mapping[str, str]], turned: bool) -> RawColumn:
    """A column's answers as plain yes and no, turned over where it asks the opposite of the tidy column."""

    def said(cell: Cell) -> Cell:
        answer = _answer(cell, name, own)
        return (OTHER[answer] if turned else answer) if answer else cell

    return _each(raw, said)


def _either(
    first: RawColumn | None, second: RawColumn, name: str, own: Mapping[str, Mapping[str, str]], death: str
) -> RawColumn:
    """One answer from two columns: death where either says so, and a question where the other says the opposite."""
    if first is None:
        return second

    def said(here: Cell, there: Cell) -> Cell:
        if here is None or is_nothing(here):
            return here if there is None else there
        if there is None or is_nothing(there) or _answer(here, name, own) == death:
            return here
        if there != death:
            return here
        contradicted = _answer(here, name, own) == OTHER[death]
        return f"{here}, and elsewhere the opposite" if contradicted else there

    return _pairs(first, second, said)


def _dated(days: RawColumn, clocks: RawColumn | None) -> RawColumn:
    """Days and clock times of two columns as moments; a moment that is whole stays."""
    if clocks is None:
        return days
    seconds = dict(zip(map(id, clocks.distinct), clocks_in(clocks), strict=True))

    def said(day: Cell, clock: Cell) -> Cell:
        at = seconds.get(id(clock), np.nan)
        if day is None or is_nothing(day):
            return clock
        if np.isnan(at):
            return day if clock is None or is_nothing(clock) else clock
        return (
            f"{day:%Y-%m-%d} {written_clock(at)}"
            if isinstance(day, date | datetime)
            else f"{day} {written_clock(at)}"
        )

    return _pairs(days, clocks, said)


def _ages_by_unit(ages: RawColumn, chosen: Chosen, place: str) -> Chosen:
    """Ages with their units in the cells, those in days apart from those in hours."""
    units = {}
    for cell in ages.distinct:
        found = AGED.fullmatch(cell) if isinstance(cell, str) else None
        units[id(cell)] = plain_unit(found[1]) if found else ""
        if re.fullmatch(r"\s*\d+(?:[.,]\d+)?\s*", str(cell)) and float(str(cell).replace(",", ".")) > 0:
            raise CannotRead(
                f"{place}: the ages at death, such as {cell}, name no unit; say in the map under [columns] whether the "
                "heading means age_at_death_h (hours) or age_at_death_d (days)."
            )
    days = _each(ages, lambda cell: cell if units[id(cell)] in BY_DAY else None)
    hours = _each(ages, lambda cell: None if units[id(cell)] in BY_DAY else cell)
    parts = {"age_at_death_d": days, "age_at_death_h": hours}
    return {name: part for name, part in parts.items() if name not in chosen and (part.codes >= 0).any()}


def _died_of_age(ages: RawColumn, own: Mapping[str, Mapping[str, str]], asked: bool, place: str) -> RawColumn:
    """Died, where an age at death is filled in, readable or not."""
    zeros = [cell for cell in ages.distinct if str(cell).strip() in ("0", "0.0")]
    if asked and zeros and (ages.codes >= 0).all():
        raise CannotRead(
            f"{place}: every row has an age at death, some of them 0; say in a column died which newborns died, or leave "
            "the age of the living empty."
        )

    def said(cell: Cell) -> Cell:
        return _answer(cell, "died", own) or (None if cell is None or is_nothing(cell) else "yes")

    return _each(ages, said)


def _with_any_value(
    died: RawColumn | None,
    all_columns: Mapping[str, RawColumn],
    records_map: RecordsMap,
    own: Mapping[str, Mapping[str, str]],
    place: str,
) -> RawColumn:
    """Alive, where one of the columns that the map names holds any value."""
    by_heading = {plain_heading(heading): cells for heading, cells in all_columns.items()}
    named = [by_heading[heading] for heading in records_map.alive.any_value_in if heading in by_heading]
    if not named:
        if died is not None:
            return died
        wanted = ", ".join(f'"{heading}"' for heading in records_map.alive.any_value_in)
        raise CannotRead(
            f"{place}: no column is called {wanted}, as the map says under [alive]; mend it there."
        )
    filled = np.zeros(len(named[0].codes), dtype=bool)
    for cells in named:
        nothing = np.array([cell is None or is_nothing(cell) for cell in cells.distinct] + [True], dtype=bool)
        filled |= ~nothing[cells.codes]
    answers = np.array(["no", "yes"], dtype=object)
    otherwise = 1 if records_map.alive.no_value_means == "dead" else -1
    shown = RawColumn(np.where(filled, 0, otherwise).astype(np.int64), answers)
    if died is None:
        return shown
    alive = RawColumn(np.where(filled, 0, -1).astype(np.int64), answers)
    return _pairs(died, shown if otherwise == 1 else alive, _first_told)


def _first_told(here: Cell, there: Cell) -> Cell:
    return there if here is None or is_nothing(here) else here


def is_yes_no(name: str) -> bool:
    """True for columns of births that are answered with yes or no."""
    return column("births", name).kind == "yes_no"
