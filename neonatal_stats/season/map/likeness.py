"""Which column a heading is most like, by its words and by its cells, and which word a farm's word is most like."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.dates import clocks_in, take_apart
from neonatal_stats.season.cells.fates import NOTHING, UNREAD, read_died
from neonatal_stats.season.cells.numbers import decimal_mark, litter_words, plain_number
from neonatal_stats.season.cells.parsed import lexicon, plain, tells
from neonatal_stats.season.cells.years import bare_days
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.gathering import litters
from neonatal_stats.season.gathering.counted import numbers
from neonatal_stats.season.gathering.dead_counts import MOST, reckoned
from neonatal_stats.season.gathering.litters import numbered
from neonatal_stats.season.grid import RawColumn, RawTable
from neonatal_stats.season.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary import species as ranges
from neonatal_stats.vocabulary.columns import ALIKE, TABLES, Column
from neonatal_stats.vocabulary.farm_words import count_meant, known_column, spoken_headings, words_of
from neonatal_stats.vocabulary.spelling import bare_words
from neonatal_stats.vocabulary.stage_words import count_meaning
from neonatal_stats.vocabulary.units import turn

SURE = 90.0
CANDIDATE = 76.0
AHEAD = 5.0
NEARLY_ALL, FEWER, PROVEN = 0.8, 0.6, 0.95
OUTCOMES = {"died": "dead", "alive_now": "alive", "born_alive": "alive", "born_dead": "dead"}
FOR_THE_DEAD = (
    "died_at",
    "died_on",
    "found_dead_at",
    "age_at_death",
    "age_at_death_h",
    "age_at_death_d",
    "cause",
)


@dataclass(frozen=True)
class Likeness:
    """The nearest meaning, whether it is sure, and the meanings that come near."""

    meant: str
    sure: bool
    candidates: tuple[str, ...]


@cache
def like_heading(table: str, heading: str, tongues: tuple[str, ...] = ()) -> Likeness:
    """The tidy column of a table that a heading is most like, as farms write in these languages (none = any)."""
    return _like(bare_words(heading), spoken_headings(table, tongues))


def like_word(column: Column, word: str, words: tuple[str, ...], tongues: tuple[str, ...] = ()) -> Likeness:
    """The word of a column that a farm's word is most like; a number is like none."""
    if not any(sign.isalpha() for sign in word):
        return Likeness("", False, ())
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
        return Likeness("", False, ())
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


def counts_by_words(table: RawTable, own: TableMap) -> dict[str, str]:
    """Headings that count one dam's newborns by their single words, where every dam has one row and nothing is of one
    newborn; none where they count no births and no fates, or two of them the same.
    """
    code = litters.dams(table, own)
    single = any(litters.is_filled(table, own, name) for name in litters.OF_NEWBORN)
    if code is None or not litters.one_row_a_dam(code) or single:
        return {}
    found: dict[str, str] = {}
    for heading, cells in table.columns.items():
        meant = count_meant(heading) or count_meaning(heading)
        known = own.column_of("births", heading) if plain_heading(heading) in own.columns else None
        if meant and meant != ALIKE and known is None and _few_whole_numbers(cells):
            found[heading] = meant
    names = list(found.values())
    of_births = {"newborns_born", "newborns_born_alive"} & set(names)
    return found if of_births and len(found) > 1 and len(set(names)) == len(names) else {}


def counts_by_sums(table: RawTable, own: TableMap) -> dict[str, str]:
    """Born and dead where every dam has one row and one number is always that of the living and the dead beside it.

    The sums prove what "calves" or "litter" leaves open, even where the row names the tags of all its young. The living
    then are the born less the dead, "".
    """
    code = litters.dams(table, own)
    if code is None or not litters.one_row_a_dam(code) or own.columns:
        return {}
    whole = {h: numbers(cells) for h, cells in table.columns.items() if _few_whole_numbers(cells)}
    says = {heading: count_meant(heading) or count_meaning(heading) for heading in whole}
    dead = [heading for heading, name in says.items() if name in READINGS["dead"] or name == "dead"]
    alive = [heading for heading, name in says.items() if name in READINGS["alive"] or name == "alive"]
    born = [heading for heading in whole if heading not in (*dead, *alive)]
    if len(dead) != 1 or len(alive) != 1 or not (whole[dead[0]] > 0).any():
        return {}
    summed = whole[dead[0]] + whole[alive[0]]
    proven = [h for h in born if (whole[h] > 1).any() and (whole[h] == summed)[code >= 0].mean() >= PROVEN]
    lost = "newborns_lost" if says[dead[0]] == "dead" else says[dead[0]]
    return {proven[0]: "newborns_born", dead[0]: lost, alive[0]: ""} if len(proven) == 1 else {}


def counts_of_born(table: RawTable, heading: str) -> bool:
    """True where numbers, 0 and some over 1, are nowhere more than those of a column that counts the born."""
    many = numbers(table.columns[heading])
    if not _few_whole_numbers(table.columns[heading]) or not ((many > 1).any() and (many == 0).any()):
        return False
    return any(
        (count_meant(other) or count_meaning(other)) in ("newborns_born", "newborns_born_alive")
        and _few_whole_numbers(cells)
        and not (many > numbers(cells)).any()
        for other, cells in table.columns.items()
        if other != heading
    )


def _few_whole_numbers(cells: RawColumn) -> bool:
    """True where nearly every filled cell is a whole number that a litter may have."""
    if not cells.filled.any():
        return False
    many = numbers(cells)[cells.filled]
    return bool(((many == np.floor(many)) & (many >= 0) & (many <= MOST)).mean() >= NEARLY_ALL)


READINGS = {
    "alive": ("newborns_born_alive", "newborns_reared"),
    "dead": ("newborns_born_dead", "newborns_died", "newborns_lost"),
}


def proven_count(table: RawTable, counted: Mapping[str, str], heading: str) -> str:
    """What a count of "dead" or "alive" counts, where the sums allow one reading alone; "" where they allow more."""
    names = [name for name in READINGS[counted[heading]] if name not in counted.values()]
    allowed = [name for name in names if counts_agree(table, {**counted, heading: name}, declared=True)]
    return allowed[0] if len(allowed) == 1 else ""


def counts_agree(table: RawTable, counted: Mapping[str, str], declared: bool = False) -> bool:
    """True where the counts can be read in one way, and that is what nearly every row says."""
    by_name = {name: numbers(table.columns[heading]) for heading, name in counted.items()}
    try:
        found = reckoned(table.place, counted, by_name, declared)
    except CannotRead:
        return False
    return bool(found.wrong.mean() <= 1 - NEARLY_ALL)


def proven_counts(table: RawTable, own: TableMap) -> list[str]:
    """Columns that nobody knows whose numbers, summed over a dam's rows, give the litter size where the rows do not."""
    size_at = litters.heading_of(table, own, "litter_size")
    code = litters.dams(table, own)
    if size_at is None or code is None or litters.is_filled(table, own, "newborn_id"):
        return []
    size, known, rows = numbers(table.columns[size_at]), code >= 0, litters.rows_of_dam(code)
    litter = np.maximum(code, 0)
    found = []
    for heading in open_counts(table, own):
        many = np.where(known, np.nan_to_num(numbers(table.columns[heading])), 0)
        summed = np.bincount(litter, many)[litter]
        if known.any() and (summed == size)[known].mean() >= PROVEN > (rows == size)[known].mean():
            found.append(heading)
    return found


def open_counts(table: RawTable, own: TableMap) -> list[str]:
    """Columns that nobody knows and that hold whole numbers from 1 on in every row, some above 1."""
    found = []
    for heading, cells in table.columns.items():
        if own.columns.get(plain_heading(heading)) is not None or not cells.filled.any():
            continue
        if own.column_of("births", heading) is not None or numbered(heading, own) is not None:
            continue
        many = numbers(cells)[cells.filled]
        whole = bool((many == np.floor(many)).all() and (many >= 1).all() and (many > 1).any())
        if whole and len(many) >= PROVEN * len(cells.codes):
            found.append(heading)
    return found
