"""Which column a heading is most like, by its words and by its cells, and which word a farm's word is most like.

Of the words of a column that nothing explains, those with a near and unrivalled likeness are answered, others asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.dates import clocks_in, take_apart
from neonatal_stats.season.cells.fates import NOTHING, UNREAD, outcome_asked, read_born_alive, read_died
from neonatal_stats.season.cells.lists import said_of, treatments_of
from neonatal_stats.season.cells.numbers import NUMBER, decimal_mark, litter_words, plain_number
from neonatal_stats.season.cells.parsed import cause_of, is_nothing, lexicon, plain, tells
from neonatal_stats.season.cells.years import bare_days
from neonatal_stats.season.grid import RawColumn
from neonatal_stats.season.map.map_text import Line
from neonatal_stats.season.records_map import OPEN, words_offered, words_taken
from neonatal_stats.vocabulary import species as ranges
from neonatal_stats.vocabulary.columns import OF_CAUSES, TABLES, Column
from neonatal_stats.vocabulary.farm_words import known_column, spoken_headings, words_of
from neonatal_stats.vocabulary.spelling import bare_words
from neonatal_stats.vocabulary.units import turn

SURE = 90.0
CANDIDATE = 76.0
AHEAD = 5.0
NEARLY_ALL, FEWER = 0.8, 0.6
MOST_WORDS = 40
OUTCOMES = {"died": "dead", "alive_now": "alive", "born_alive": "alive", "born_dead": "dead"}
AGED = frozenset(("age_at_death", "age_at_death_h", "age_at_death_d"))
FILLED_FOR_THE_DEAD = ("died_at", "died_on", "found_dead_at", "cause")
FOR_THE_DEAD = (*FILLED_FOR_THE_DEAD, *AGED)
"""Columns of which a cell stands for the dead alone."""


@dataclass(frozen=True)
class Likeness:
    """The nearest meaning, whether it is sure, and the meanings that come near."""

    meant: str
    sure: bool
    candidates: tuple[str, ...]


UNLIKE = Likeness("", False, ())
NEVER_BY_LIKENESS = ("died", "born_alive", "alive_now", "born_dead", "agent", "laboratory")
"""Columns whose words mean the opposite by one small word more ("no agent found"): what is only like one is asked."""


@cache
def like_heading(table: str, heading: str, tongues: tuple[str, ...] = ()) -> Likeness:
    """The tidy column of a table that a heading is most like, as farms write in these languages (none = any)."""
    return _like(bare_words(heading), spoken_headings(table, tongues))


def like_word(column: Column, word: str, words: tuple[str, ...], tongues: tuple[str, ...] = ()) -> Likeness:
    """The word of a column that a farm's word is most like; a number is like none."""
    if not any(sign.isalpha() for sign in word):
        return UNLIKE
    known = {word: word for word in words}
    for spoken in (words_of(column, tongues, perhaps=True), words_of(column, perhaps=True)):
        for way, meant in spoken.items():
            if meant in words:
                known.setdefault(way, meant)
    if (exact := known.get(plain(word)) or known.get(bare_words(word))) is not None:
        return Likeness(exact, True, (exact,))
    return _like(bare_words(word), known)


def like_values(table: str, values: tuple[str, ...]) -> tuple[str, ...]:
    """The columns of which every value of a column is surely a word; yes and no tell nothing."""
    asked = [column for column in TABLES[table] if column.words and column.kind == "term" and values[:50]]
    return tuple(
        column.name
        for column in asked
        if all(like_word(column, value, column.words).sure for value in values[:50])
    )


def _like(said: str, known: Mapping[str, str]) -> Likeness:
    from rapidfuzz import fuzz, process

    scores: dict[str, float] = {}
    for spoken, score, _ in process.extract(said, list(known), scorer=fuzz.token_sort_ratio, limit=8):
        scores[known[spoken]] = max(score, scores.get(known[spoken], 0.0))
    ranked = sorted(scores, key=lambda meant: -scores[meant])
    if not ranked:
        return UNLIKE
    best = scores[ranked[0]]
    rival = scores[ranked[1]] if len(ranked) > 1 else 0.0
    sure = best >= SURE and best - rival >= AHEAD
    return Likeness(ranked[0], sure, tuple(meant for meant in ranked[:3] if scores[meant] >= CANDIDATE))


def chosen_by_cells(
    names: Iterable[str], cells: RawColumn, taken: set[str], table: str = "births", unit: str = ""
) -> str | None:
    """The one column of those that a heading may mean which the cells fit and no other heading has; else None."""
    free = [name for name in names if name not in taken and fits(known_column(table, name), cells)]
    strong = [name for name in free if known_column(table, name).kind != "text"]
    if {"died", "alive_now"} <= set(strong):
        strong = ["died"] if _tells_in_words(cells) else strong
    if len(strong) > 1:
        share = float(cells.filled.mean()) if len(cells.codes) else 0.0
        for_all = [name for name in strong if name not in FOR_THE_DEAD]
        if share >= NEARLY_ALL:
            strong = for_all
        elif share < FEWER and len(strong) > len(for_all):
            strong = [name for name in strong if name in FOR_THE_DEAD]
    found = strong or free
    return found[0] if len(found) == 1 and _believed(found[0], cells, taken, unit) else None


def _believed(name: str, cells: RawColumn, taken: set[str], unit: str) -> bool:
    """Text fits anything, so an identity must tell rows apart beside a dam, and a cause must stand for some alone.

    A bare weight may be of any age: only one that a lamb or kid has at birth, in the heading's unit, is believed.
    """
    filled = cells.codes[cells.filled]
    if name == "newborn_id":
        return "dam_id" in taken and len(filled) > 0 and len(np.unique(filled)) >= NEARLY_ALL * len(filled)
    if name == "cause":
        return bool(taken & {*OUTCOMES, *FOR_THE_DEAD}) and len(filled) < FEWER * len(cells.codes)
    if name == "birth_weight_kg":
        low, high = ranges.USUAL_BY_SPECIES["sheep"][name]
        read = _read_numbers(known_column("births", name), cells)[filled]
        by = turned[0] if unit and (turned := turn(known_column("births", name), unit)) else 1.0
        return bool(low <= by * np.nanmedian(read) <= high) if np.isfinite(read).any() else False
    return True


def fits(column: Column, cells: RawColumn) -> bool:
    """True where at least four in five of a column's filled cells can be read as this column's."""
    told = np.array([tells(cell) for cell in cells.distinct], dtype=bool)
    rows = (cells.uses * told).sum()
    return bool(rows and (cells.uses * (told & _readable(column, cells))).sum() >= NEARLY_ALL * rows)


def _readable(column: Column, cells: RawColumn) -> NDArray[np.bool_]:
    if column.name in OUTCOMES:
        state = read_died(cells, OUTCOMES[column.name], {}, {}).state
        return np.array([answer not in (UNREAD, NOTHING) for answer in state], dtype=bool)
    if column.kind in ("moment", "date"):
        bare = bare_days(cells)
        dates = [at in bare or take_apart(cell, {}) is not None for at, cell in enumerate(cells.distinct)]
        return np.array(dates, dtype=bool) | np.isfinite(clocks_in(cells))
    if column.kind in ("term", "terms", "yes_no"):
        accepted = lexicon(column, column.words, {}, cells)
        return np.array(
            [plain(c) in accepted or bare_words(str(c)) in accepted for c in cells.distinct], dtype=bool
        )
    if column.kind == "text":
        return np.ones(len(cells.distinct), dtype=bool)
    return _numeric(column, cells)


def _numeric(column: Column, cells: RawColumn) -> NDArray[np.bool_]:
    read = _read_numbers(column, cells)
    low, high = ranges.widest(column.name)
    most = high * 1000 if column.unit == "kg" else high
    return np.isfinite(read) & (read >= low) & (read <= most)


def _read_numbers(column: Column, cells: RawColumn) -> NDArray[np.float64]:
    words = litter_words(cells) if column.name == "litter_size" else {}
    mark = decimal_mark(cells, False)
    read = np.full(len(cells.distinct), np.nan)
    for at, cell in enumerate(cells.distinct):
        text = str(cell).strip()
        if text.casefold().rstrip(".") in words:
            read[at] = words[text.casefold().rstrip(".")]
        elif isinstance(cell, int | float) or text[:1].isdigit():
            bare = text.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ .")
            read[at] = plain_number(bare, mark)[0] if bare else np.nan
    return np.where(read == np.floor(read), read, np.nan) if column.kind == "integer" else read


def _tells_in_words(cells: RawColumn) -> bool:
    """True where most cells say dead or alive whatever the heading asks."""
    told = [answer not in (UNREAD, NOTHING) for answer in read_died(cells, "either", {}, {}).state]
    return bool(told) and sum(told) >= NEARLY_ALL * len(told)


def words_left(
    table: str,
    tidy: Column,
    heading: str,
    cells: RawColumn,
    said: Mapping[str, str],
    tongues: tuple[str, ...],
) -> Iterator[Line]:
    """A line for each word of a column that is not known, with how often it stands there."""
    words, rows = words_taken(tidy), cells.uses
    if not words:
        return
    unplaced = _unplaced(tidy, heading, cells, said)
    for at in sorted(unplaced, key=lambda at: (-rows[at], at))[:MOST_WORDS]:
        word = plain(cells.distinct[at])
        like = UNLIKE if tidy.name in NEVER_BY_LIKENESS else like_word(tidy, word, words, tongues)
        if is_nothing(cells.distinct[at]) and not like.sure and tidy.name != "agent":
            continue
        near = like.candidates
        nearest = f"perhaps {' or '.join(near)}" if near else f"one of {', '.join(words_offered(tidy))}"
        asked = f"{rows[at]:,} cell{'' if rows[at] == 1 else 's'}; {nearest}"
        yield Line(
            f"{table}.words.{tidy.name}", word, like.meant if like.sure else OPEN, "" if like.sure else asked
        )


def _unplaced(tidy: Column, heading: str, cells: RawColumn, said: Mapping[str, str]) -> list[int]:
    """The distinct cells that no word of the column, of farms or of the map explains."""
    if tidy.name in ("died", "alive_now", "born_dead"):
        asked = outcome_asked(heading, "alive" if tidy.name == "alive_now" else "dead")
        state = read_died(cells, asked, said, {}).state
        return [at for at, answer in enumerate(state) if answer == UNREAD]
    if tidy.name == "born_alive":
        return [at for at, answer in enumerate(read_born_alive(cells, said)) if answer == UNREAD]
    if tidy.name == "litter_size":
        known = litter_words(cells, said)
        bare = [str(cell).strip().casefold().rstrip(".") for cell in cells.distinct]
        return [at for at, text in enumerate(bare) if text not in known and not NUMBER.fullmatch(text)]
    if tidy.name == "product":
        kinds = treatments_of(cells, said)
        return [at for at, kind in enumerate(kinds) if kind is None]
    if tidy.name == "agent":
        return [at for at, cell in enumerate(cells.distinct) if said_of(cell, said) is None]
    accepted = lexicon(tidy, tidy.words, said, cells)
    if tidy.name == "laboratory":
        read = [plain(cell) in accepted or said_of(cell, said) in tidy.words for cell in cells.distinct]
        return [at for at, known in enumerate(read) if not known]
    several = tidy.kind == "terms"
    return [
        at
        for at, cell in enumerate(cells.distinct)
        if plain(cell) not in accepted
        and not (tidy.name in OF_CAUSES and cause_of(str(cell), accepted))
        and not (several and any(sign in str(cell) for sign in ";,+/&"))
    ]
