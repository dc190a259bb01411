"""Columns of births as farms keep them, said again in tidy columns: alive now, born dead, its age at death.

Cells are joined by their distinct pairs, and only as text: what cannot be read stays as it was found and is read (or
asked about) like any other cell. Whatever says that a newborn is dead outranks what says that it lives.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date

import numpy as np

from neonatal_stats.season.cells.dates import clocks_in, written_clock
from neonatal_stats.season.cells.fates import (
    AGES,
    ALIVE,
    BORN_DEAD,
    DEAD,
    NOT_KNOWN,
    NOTHING,
    UNREAD,
    outcome_asked,
    read_born_alive,
    read_died,
)
from neonatal_stats.season.cells.parsed import tells
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.grid import RawColumn, RawTable, paired, recoded
from neonatal_stats.season.records_map import Alive, RecordsMap, plain_heading
from neonatal_stats.vocabulary.fates import LEFT_WORD, age_said, asks_for, speaks_of_death
from neonatal_stats.vocabulary.units import plain_unit

Chosen = dict[str, RawColumn]
Cell = object
AGED = re.compile(r"\s*(?:<|>|ca\.?|~)?\s*\d+(?:[.,]\d+)?\s*([^\d\s.,+-]+)\.?\s*")
NUMBER = re.compile(r"\s*\d+(?:[.,]\d+)?\s*")
BY_DAY = ("d", "weeks")
MARKED = 0.9
UNDER_ALIVE = " (alive now)"
"""Follows what nobody could read under "alive now", so that a word of the map for ``died`` never answers it."""
SAID = {DEAD: "dead", BORN_DEAD: "stillborn", ALIVE: "alive", NOT_KNOWN: "not known", NOTHING: None}
AT_BIRTH = {**SAID, DEAD: "stillborn"}


def restated(chosen: Chosen, heading_of: dict[str, str], table: RawTable, records_map: RecordsMap) -> Chosen:
    """The chosen columns of births in tidy columns alone; ``heading_of`` learns the headings of what was renamed."""
    words = records_map.of("births").words
    chosen = dict(chosen)
    if {"died", "alive_now"} <= set(chosen) and not {"died", "alive_now"} & set(words):
        chosen |= marked_apart(chosen["died"], chosen["alive_now"])
    if "died_on" in chosen:
        chosen["died_at"] = _dated(chosen.pop("died_on"), chosen.get("died_at"))
    if "born_dead" in chosen:
        said = _in_words(chosen.pop("born_dead"), "dead", words.get("born_dead", {}), AT_BIRTH)
        said = _unread_stays_unread(said)
        beside = chosen.get("born_alive")
        if beside is not None:
            beside = _each_answer(beside, read_born_alive(beside, words.get("born_alive", {})), AT_BIRTH)
        chosen["born_alive"] = _either(beside, said)
    if "alive_now" in chosen:
        chosen["died"] = _with_alive_now(chosen, heading_of, words)
        del chosen["alive_now"]
    if "died" in chosen and not {"age_at_death", *AGES} & set(chosen):
        chosen |= _ages_in_died(chosen["died"], heading_of.get("died", "died"))
    if "age_at_death" in chosen:
        chosen |= _ages_by_unit(chosen.pop("age_at_death"), chosen, table.place)
    if records_map.alive.any_value_in:
        chosen["died"] = _with_any_value(chosen.get("died"), table, records_map.alive)
    for name in AGES:
        if name in chosen and "died" not in chosen:
            _ask_about_zeros(chosen[name], table.place)
    return chosen


def marked_apart(died: RawColumn, alive: RawColumn) -> Chosen:
    """Two columns of one mark, one for the dead and one for the living, of which a row bears either: each said as yes.

    Nothing where a row bears both, or where many bear none.
    """
    marks = [[cell for cell, n in zip(one.distinct, one.uses, strict=True) if n] for one in (died, alive)]
    if any(len(of_one) != 1 or len(str(of_one[0])) > 1 or str(of_one[0]).isdigit() for of_one in marks):
        return {}
    both, either = died.filled & alive.filled, died.filled | alive.filled
    if both.any() or either.mean() < MARKED:
        return {}
    return {
        "died": recoded(died.codes, ["yes"] * len(died.distinct)),
        "alive_now": recoded(alive.codes, ["yes"] * len(alive.distinct)),
    }


def _in_words(
    raw: RawColumn, asked: str, own: Mapping[str, str], said: Mapping[str, str | None]
) -> RawColumn:
    """A column's answers in words for dead and alive, which mean the same under any heading."""
    turned = {"dead": {"yes": "yes", "no": "no"}, "alive": {"yes": "no", "no": "yes"}}[asked]
    words = {word: turned.get(meant, meant) for word, meant in own.items()}
    read = read_died(raw, asked, words, {})
    answers = _each_answer(raw, read.state, said)
    if said is not SAID:
        return answers
    left = zip(read.left, answers.distinct, strict=True)
    return recoded(answers.codes, [LEFT_WORD[why] if why else cell for why, cell in left])


def _unread_stays_unread(said: RawColumn) -> RawColumn:
    """Answers to "born dead" that nobody could read ("1" beside "2") say nothing of life under "born alive" either."""
    clear = {answer for answer in AT_BIRTH.values() if answer}
    unread = [
        cell not in clear and read != UNREAD
        for cell, read in zip(said.distinct, read_born_alive(said, {}), strict=True)
    ]
    return recoded(
        said.codes,
        [f"{cell} (?)" if lost else cell for cell, lost in zip(said.distinct, unread, strict=True)],
    )


def _each_answer(raw: RawColumn, state: np.ndarray, said: Mapping[str, str | None]) -> RawColumn:
    cells = zip(state, raw.distinct, strict=True)
    return recoded(raw.codes, [said.get(str(answer), str(cell)) for answer, cell in cells])


def _with_alive_now(
    chosen: Chosen, heading_of: dict[str, str], words: Mapping[str, Mapping[str, str]]
) -> RawColumn:
    """Died, by a column that says what is alive now; alone it is read under its own heading."""
    now = chosen["alive_now"]
    if "died" not in chosen and "alive_now" not in words:
        heading_of["died"] = heading_of.pop("alive_now", "alive now")
        if asks_for(heading_of["died"]) == "alive":
            return now
    said = _in_words(now, "alive", words.get("alive_now", {}), SAID)
    if "died" not in chosen:
        heading_of["died"] = "died"
        return said
    died = chosen["died"]
    if asks_for(heading_of.get("died", "died")) == "alive":
        died = _in_words(died, "alive", words.get("died", {}), SAID)
        heading_of["died"] = "died"
    said = recoded(said.codes, [_marked_unread(cell) for cell in said.distinct])
    answers = _in_words(died, "dead", words.get("died", {}), SAID).distinct
    living = {"alive", *LEFT_WORD.values()}
    alive = {str(cell) for cell, answer in zip(died.distinct, answers, strict=True) if answer in living}
    return _either(died, said, frozenset(alive))


def _marked_unread(cell: Cell) -> Cell:
    clear = cell is None or cell in SAID.values() or cell in LEFT_WORD.values()
    return cell if clear else f"{cell}{UNDER_ALIVE}"


def _either(
    first: RawColumn | None, second: RawColumn, alive: frozenset[str] = frozenset(("alive",))
) -> RawColumn:
    """One answer from two columns; where one says dead and the other alive, nobody can read what became of it."""
    if first is None:
        return second

    def said(here: Cell, there: Cell) -> Cell:
        if not tells(here):
            return here if there is None else there
        if there in ("dead", "stillborn") and str(here) in alive:
            return f"{here} (alive: no)"
        return here

    return paired(first, second, said)


def _dated(days: RawColumn, clocks: RawColumn | None) -> RawColumn:
    """Days and clock times of two columns as moments; a moment that is whole stays."""
    if clocks is None:
        return days
    seconds = dict(zip(map(id, clocks.distinct), clocks_in(clocks), strict=True))

    def said(day: Cell, clock: Cell) -> Cell:
        at = seconds.get(id(clock), np.nan)
        if not tells(day):
            return clock
        if np.isnan(at):
            return clock if tells(clock) else day
        return f"{f'{day:%Y-%m-%d}' if isinstance(day, date) else day} {written_clock(at)}"

    return paired(days, clocks, said)


def _ages_in_died(died: RawColumn, heading: str) -> Chosen:
    """Ages by which a column of deaths tells them ("2d", "6 h"), as ages at death."""
    said = [age_said(cell) if isinstance(cell, str) else None for cell in died.distinct]
    if outcome_asked(heading) != "dead":
        said = [
            age if age and _names_a_death(cell) else None
            for age, cell in zip(said, died.distinct, strict=True)
        ]
    parts = {
        f"age_at_death_{unit}": [age if age and age.endswith(unit) else None for age in said] for unit in "hd"
    }
    return {name: recoded(died.codes, part) for name, part in parts.items() if any(part)}


def _names_a_death(cell: Cell) -> bool:
    """True for an age said with a word for dead, or for how long it lived."""
    return speaks_of_death(str(cell)) or str(cell).casefold().startswith(("lived", "lebte"))


def _ages_by_unit(ages: RawColumn, chosen: Chosen, place: str) -> Chosen:
    """Ages with their units in the cells, those in days apart from those in hours."""
    by_day = []
    for cell in ages.distinct:
        found = AGED.fullmatch(cell) if isinstance(cell, str) else None
        by_day.append(found is not None and plain_unit(found[1]) in BY_DAY)
        if NUMBER.fullmatch(str(cell)) and float(str(cell).replace(",", ".")) > 0:
            raise CannotRead(
                f"{place}: the ages at death, such as {cell}, name no unit; say in the map under [columns] whether the "
                "heading means age_at_death_h (hours) or age_at_death_d (days)."
            )
    both = list(zip(ages.distinct, by_day, strict=True))
    days = recoded(ages.codes, [cell if of_days else None for cell, of_days in both])
    hours = recoded(ages.codes, [None if of_days else cell for cell, of_days in both])
    parts = {"age_at_death_d": days, "age_at_death_h": hours}
    return {name: part for name, part in parts.items() if name not in chosen and part.filled.any()}


def _ask_about_zeros(ages: RawColumn, place: str) -> None:
    """Refuse a column of ages in which every row is filled and some ages are 0: those may be the living."""
    zeros = any(str(cell).strip() in ("0", "0.0") for cell in ages.distinct)
    if zeros and ages.filled.all():
        raise CannotRead(
            f"{place}: every row has an age at death, some of them 0; say in a column died which newborns died, or "
            "leave the age of the living empty."
        )


def _with_any_value(died: RawColumn | None, table: RawTable, alive: Alive) -> RawColumn:
    """Alive, where one of the columns that the map names holds any value."""
    by_heading = {plain_heading(heading): cells for heading, cells in table.columns.items()}
    named = [by_heading[heading] for heading in alive.any_value_in if heading in by_heading]
    if not named:
        if died is not None:
            return died
        wanted = ", ".join(f'"{heading}"' for heading in alive.any_value_in)
        raise CannotRead(
            f"{table.place}: no column is called {wanted}, as the map says under [alive]; mend it there."
        )
    filled = np.logical_or.reduce([cells.rows_of(tells) for cells in named])
    otherwise = 1 if alive.no_value_means == "dead" else -1
    shown = recoded(np.where(filled, 0, otherwise), ["alive", "dead"])
    return shown if died is None else paired(died, shown, lambda here, there: here if tells(here) else there)
