"""A drafted map: headings and words matched as far as they can be, the rest left open and shown."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from neonatal_stats.season.cells.parsed import is_nothing
from neonatal_stats.season.cells.words import lexicon, plain
from neonatal_stats.season.files.header import table_below
from neonatal_stats.season.files.meant import Paths, listed
from neonatal_stats.season.files.opened import all_grids
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.gathering.counted import counts_of_litters
from neonatal_stats.season.gathering.sheets import OPENED_BY, known_heading
from neonatal_stats.season.gathering.tidied import without_derived
from neonatal_stats.season.gathering.wide import numbered
from neonatal_stats.season.grid import Grid, RawColumn, RawTable
from neonatal_stats.season.map.records_map import RecordsMap, TableMap
from neonatal_stats.vocabulary.columns import TABLES, Column, column
from neonatal_stats.vocabulary.headings import heading_of

SURE = 90.0
CANDIDATE = 65.0
AHEAD = 5.0
OPEN = "?"
SHOWN = 4
MOST_WORDS = 40
HEAD = """# A map of these records' headings and words. Each line: what the records say = what it means here.
# "?" is still open: write the column or word that is meant, or "" to leave the heading out or the word missing.
# Headings and words that need no line here are not listed. Give 1 and 2 their meaning only from the farm's own list.
"""


@cache
def _spoken() -> dict[str, Any]:
    return tomllib.loads(
        files("neonatal_stats.season.map").joinpath("spoken.toml").read_text(encoding="utf-8")
    )


def headings_of(table: str) -> dict[str, str]:
    """Every spoken heading of a table, with the tidy column that it means."""
    spoken: dict[str, str] = {}
    for meant in TABLES[table]:
        for heading in (
            heading_of(meant),
            meant.name.replace("_", " "),
            *_spoken()["headings"].get(meant.name, ()),
        ):
            spoken.setdefault(heading.casefold(), meant.name)
    return spoken


def words_of(column: str, words: tuple[str, ...]) -> dict[str, str]:
    """Every spoken word of a column, with the column's own word that it means."""
    spoken = {word.casefold(): word for word in words}
    for word, several in _spoken()["words"].get(column, {}).items():
        if word in words:
            spoken.update({other: word for other in several if other not in spoken})
    return spoken


@dataclass(frozen=True)
class Likeness:
    """The nearest meaning, whether it is sure, and the meanings that come near."""

    meant: str
    sure: bool
    candidates: tuple[str, ...]


@cache
def like_heading(table: str, heading: str) -> Likeness:
    """The tidy column of a table that a heading is most like."""
    spoken = re.sub(r"[\s_.:#-]+", " ", heading).strip().casefold()
    return _like(spoken, headings_of(table))


def like_word(column: Column, word: str) -> Likeness:
    """The word of a column that a farm's word is most like; a number is like none."""
    if re.fullmatch(r"[\d.,]+", word):
        return Likeness("", False, ())
    return _like(word, words_of(column.name, column.words))


def like_values(table: str, values: tuple[str, ...]) -> tuple[str, ...]:
    """The columns of which every value of a column is surely a word; yes and no tell nothing."""
    asked = [column for column in TABLES[table] if column.words and column.kind == "term" and values[:50]]
    return tuple(
        column.name for column in asked if all(like_word(column, value).sure for value in values[:50])
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


@dataclass
class _Draft:
    """The sections of the map, each line with the remark that stands behind it."""

    table: str
    columns: dict[str, tuple[str, str]] = field(default_factory=dict)
    words: dict[str, dict[str, tuple[str, str]]] = field(default_factory=dict)


def draft_map(paths: Paths) -> str:
    """The text of a map (TOML) for some files, to be looked over and completed by a person.

    Headings and values are compared with the tidy ones and with how farms commonly write them. A close and unrivalled
    match is written; anything else is left open as "?", with the first values and the nearest candidates beside it.
    """
    drafts: dict[str, _Draft] = {}
    for grid in all_grids(listed(paths), ""):
        if (grid.height and not grid.headed) or grid.headings:
            raw = _table(grid)
            table = _likeliest_table(raw)
            _add(drafts.setdefault(table, _Draft(table)), raw)
    if not drafts:
        raise CannotRead(
            "The files hold no cell; the first row must hold headings, with one newborn a row below."
        )
    return HEAD + "".join(_printed(draft) for draft in drafts.values())


def _table(grid: Grid) -> RawTable:
    def known(heading: str) -> bool:
        return known_heading(RecordsMap(), heading) or any(like_heading(t, heading).sure for t in TABLES)

    return without_derived(table_below(grid, known))


def _likeliest_table(raw: RawTable) -> str:
    """The table of which most headings are surely or likely known."""
    scores = {}
    for table in TABLES:
        found = {like_heading(table, heading).meant for heading in raw.columns}
        scores[table] = len(found - {""}) + 2 * len(found & OPENED_BY[table])
    named = {
        table: score + 0.5 * (table.rstrip("s") in (raw.file + raw.sheet).casefold())
        for table, score in scores.items()
    }
    return max(named, key=lambda table: named[table])


def _add(draft: _Draft, raw: RawTable) -> None:
    own = TableMap()
    records = np.ones(len(raw.rows), dtype=bool)
    for finding in raw.findings:
        records[finding.at] = False
    taken = {own.column_of(draft.table, heading) for heading in raw.columns}
    counts = counts_of_litters(raw, own) if draft.table == "births" else frozenset()
    for heading, column_cells in raw.columns.items():
        if heading in counts:
            continue
        cells = _used(column_cells.take(np.flatnonzero(records)))
        name = own.column_of(draft.table, heading)
        if name is None and draft.table == "births" and (place := numbered(heading, own)):
            name = place[0]
        elif name is None:
            like = like_heading(draft.table, heading)
            name = like.meant if like.sure and like.meant not in taken else ""
            taken.add(name)
            draft.columns[heading] = (name or OPEN, "" if name else _beside(draft.table, cells, like))
        if name:
            _add_words(draft, column(draft.table, name), cells)


def _used(cells: RawColumn) -> RawColumn:
    """The column with only those distinct cells that stand in a row."""
    used = np.unique(cells.codes[cells.codes >= 0])
    return RawColumn(np.searchsorted(used, cells.codes), cells.distinct[used])


def _beside(table: str, cells: RawColumn, like: Likeness) -> str:
    """The first values of a column and the nearest candidates, for the person who completes the map."""
    values = [_short(cell) for cell in cells.distinct if cell is not None][:SHOWN]
    candidates = like.candidates or like_values(table, tuple(plain(cell) for cell in cells.distinct))
    nearest = f"; perhaps {' or '.join(candidates)}" if candidates else ""
    return f"holds {', '.join(values) or 'nothing'}{nearest}"


def _add_words(draft: _Draft, tidy: Column, cells: RawColumn) -> None:
    if not tidy.words:
        return
    accepted = lexicon(tidy, tidy.words, {})
    open_ = [cell for cell in cells.distinct if cell is not None and plain(cell) not in accepted]
    words = draft.words.setdefault(tidy.name, {})
    for cell in open_[:MOST_WORDS]:
        like = like_word(tidy, plain(cell))
        if (is_nothing(cell) and not like.sure) or (
            tidy.kind == "terms" and any(sign in str(cell) for sign in ";,+/&")
        ):
            continue
        nearest = (
            f"perhaps {' or '.join(like.candidates)}"
            if like.candidates
            else f"one of {', '.join(tidy.words)}"
        )
        words[plain(cell)] = (like.meant, "") if like.sure else (OPEN, nearest)


def _short(cell: object) -> str:
    text = " ".join("".join(sign if sign.isprintable() else " " for sign in str(cell)).split())
    return text if len(text) <= 30 else text[:27] + "..."


def _printed(draft: _Draft) -> str:
    sections = [_section(f"{draft.table}.columns", draft.columns)]
    sections += [_section(f"{draft.table}.words.{name}", words) for name, words in draft.words.items()]
    return "".join(sections)


def _section(name: str, lines: dict[str, tuple[str, str]]) -> str:
    if not lines:
        return ""
    printed = [
        f"{_key(said)} = {_key(meant)}{f'  # {beside}' if beside else ''}"
        for said, (meant, beside) in lines.items()
    ]
    return f"\n[{name}]\n" + "\n".join(printed) + "\n"


def _key(text: str) -> str:
    """A TOML string in one line, whatever the records hold."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(sign if sign.isprintable() else f"\\U{ord(sign):08X}" for sign in escaped) + '"'
