"""Every sign of death or life in a sheet's cells, carried beside the typed columns for the checks to weigh.

The helper columns are called ``died|state`` and so on: what the column says (``state``), the cell where that cannot be
read (``cell``), a sign of death in a column that is no answer of its own (``sign``), and what columns that were left
out say (``died|mark``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.believed import meanings
from neonatal_stats.season.cells.dates import read_dates
from neonatal_stats.season.cells.fates import (
    ALIVE,
    BORN_DEAD,
    DEAD,
    NOTHING,
    PERHAPS,
    UNREAD,
    read_born_alive,
    read_died,
    read_sign,
)
from neonatal_stats.season.cells.parsed import Parsed, blank_sentences, sheet_error
from neonatal_stats.season.finding import UNSAID, say
from neonatal_stats.season.grid import RawColumn, RawTable
from neonatal_stats.season.map.records_map import TableMap
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary import fates
from neonatal_stats.vocabulary.columns import Column, column

TIMES = ("died_at", "found_dead_at")
AGES = ("age_at_death_h", "age_at_death_d")
SEEN = ("last_alive_at", "left_at", "last_seen_at")
TOLD = ("died", "born_alive")
WITHOUT_TIME = say("it does not say when the newborn died; the death was counted, its time is not known")
CARCASS = frozenset(("carcass", "carcase", "knackerman", "knacker", "knackers", "kadaver", "fallen stock"))
SECOND = re.compile(r" \[\d+\]$")
YES_NO = {DEAD: "yes", BORN_DEAD: "yes", PERHAPS: "yes", ALIVE: "no"}


def read_outcome(
    tidy: Column,
    cells: RawColumn,
    heading: str,
    place: str,
    own: TableMap,
    settings: Settings,
    months: dict[str, int],
) -> Parsed:
    """The columns that say whether a newborn died, and whether it was born alive."""
    size = len(cells.distinct)
    words = own.words.get(tidy.name, {})
    if tidy.name == "born_alive":
        state = read_born_alive(cells, words)
        answers = {ALIVE: "yes", BORN_DEAD: "no"}
        extra: dict[str, tuple[NDArray[np.object_], object]] = {}
    else:
        asked = fates.asks_for(heading) or "dead"
        read = read_died(cells, asked, words, _culprits(own, settings))
        state, answers = read.state, YES_NO
        extra = {"cause": (read.cause, None), **_dates(read.dated, place, settings, months)}
    odd = np.array([answer in (UNREAD, PERHAPS) for answer in state], dtype=bool)
    shown = np.full(size, None, dtype=object)
    shown[odd] = [str(cell) for cell in cells.distinct[odd]]
    values = np.array([answers.get(str(answer)) for answer in state], dtype=object)
    extra |= {"state": (state, None), "cell": (shown, None)}
    return Parsed(values, None, blank_sentences(size), UNSAID, blank_sentences(size), extra=extra)


def _culprits(own: TableMap, settings: Settings) -> dict[str, str]:
    """Words that may stand in a column of deaths for how a newborn died."""
    said = {
        word: cause for cause, words in fates.CULPRITS.items() if cause in settings.causes for word in words
    }
    farms = {**settings.cause_words, **own.words.get("cause", {})}
    return said | {fates.folded(word): cause for word, cause in farms.items() if cause}


def _dates(
    dated: NDArray[np.object_], place: str, settings: Settings, months: dict[str, int]
) -> dict[str, tuple[NDArray[np.object_], object]]:
    """Dates that stand where yes was asked for."""
    if not any(when is not None for when in dated):
        return {}
    given = RawColumn(np.arange(len(dated)), dated)
    parsed = read_dates(column("births", "died"), given, place, settings, months)
    return {"when": (parsed.values, np.datetime64("NaT")), "when_is_day": parsed.extra["is_day"]}


def with_signs(tidy: Column, cells: RawColumn, parsed: Parsed, own: TableMap) -> Parsed:
    """A column's values with the signs of death among its cells."""
    if tidy.name in (*TIMES, *AGES, "cause"):
        return _filled_only_for_the_dead(tidy, cells, parsed, own)
    signs = np.full(len(cells.distinct), None, dtype=object)
    for at, cell in enumerate(cells.distinct):
        if _tells_of_death(tidy, cell, parsed, at):
            signs[at] = DEAD
    if not any(sign is not None for sign in signs):
        return parsed
    values = parsed.values.copy()
    if tidy.name == "newborn_id":
        values[signs == DEAD] = None
    return replace(parsed, values=values, extra={**parsed.extra, "sign": (signs, None)})


def _filled_only_for_the_dead(tidy: Column, cells: RawColumn, parsed: Parsed, own: TableMap) -> Parsed:
    signs = read_sign(cells, own.words.get(tidy.name))
    trouble, shown = parsed.trouble.copy(), np.full(len(signs), None, dtype=object)
    for at, sign in enumerate(signs):
        if sign in (ALIVE, NOTHING):
            trouble[at] = UNSAID
        elif tidy.name in TIMES and not trouble[at] and np.isnat(parsed.values[at]):
            trouble[at] = WITHOUT_TIME
        if sign in (DEAD, PERHAPS):
            shown[at] = str(cells.distinct[at])
    return replace(
        parsed, trouble=trouble, extra={**parsed.extra, "sign": (signs, None), "cell": (shown, None)}
    )


def _tells_of_death(tidy: Column, cell: object, parsed: Parsed, at: int) -> bool:
    """A word for dead where a number, a date, an identity or another word belongs; a basis that only the dead have."""
    if tidy.name == "cause_basis":
        return bool(parsed.values[at] == "post-mortem")
    if not isinstance(cell, str) or cell.isdigit() or (tidy.kind == "text" and tidy.name != "newborn_id"):
        return False
    if tidy.name == "left_reason" and fates.folded(cell) in CARCASS:
        return True
    if tidy.name == "newborn_id":
        return len(cell) <= 20 and fates.folded(cell) in fates.DEAD
    return bool(parsed.trouble[at]) and not sheet_error(cell) and fates.speaks_of_death(cell)


def marks(raw: RawTable, own: TableMap) -> tuple[NDArray[np.object_], NDArray[np.bool_]]:
    """What columns that were left out say of a death in each row, as heading and cell; None where nothing.

    Beside it True where such a column answers the very question of ``died`` and says yes: then even "no" is in doubt.
    """
    found, against = np.full(len(raw.rows), None, dtype=object), np.zeros(len(raw.rows), dtype=bool)
    for heading, cells in left_out(raw, own):
        heading = SECOND.sub("", heading)
        said = np.append(tells_of_deaths(heading, cells), False)
        here = said[cells.codes]
        if fates.asks_for(heading) in ("dead", "alive") and not fates.may_be_later(heading):
            against |= here & ~np.append([str(cell).isdigit() for cell in cells.distinct], False)[cells.codes]
        for row in np.flatnonzero(here & (found == None)):  # noqa: E711
            found[row] = f"{heading}: {cells.distinct[cells.codes[row]]}"
    for place, number in enumerate(raw.rows.tolist() if raw.painted else ()):
        if found[place] is None and number in raw.painted:
            found[place] = raw.painted[number]
    return found, against


def left_out(raw: RawTable, own: TableMap) -> Iterator[tuple[str, RawColumn]]:
    """Filled columns that mean nothing here and that the map does not leave out on purpose, and remarks."""
    means = meanings("births", raw, own)
    for heading, cells in raw.columns.items():
        if means[heading] in (None, "remarks") and (cells.codes >= 0).any():
            yield heading, cells


def tells_of_deaths(heading: str, cells: RawColumn) -> NDArray[np.bool_]:
    """Which distinct cells of a column that was left out speak of the newborn's death."""
    asked = fates.asks_for(heading)
    if asked == "examined":
        return np.array([sign == DEAD for sign in read_sign(cells)], dtype=bool)
    if asked:
        state = read_died(cells, asked, {}, {}).state
        return np.isin(state, [DEAD, BORN_DEAD, PERHAPS])
    if fates.ABOUT_ANOTHER.search(fates.folded(heading)):
        return np.zeros(len(cells.distinct), dtype=bool)
    texts = [cell if isinstance(cell, str) else "" for cell in cells.distinct]
    return np.array(
        [any(map(str.isalpha, text)) and fates.speaks_of_death(text, fates.DEAD_IN_TEXT) for text in texts]
    )
