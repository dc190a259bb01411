"""A farm's own headings, words and units, and the tidy columns and words that they mean."""

from __future__ import annotations

import codecs
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from os import PathLike
from pathlib import Path

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.toml_file import check_keys, load_toml, nearest, quoted, table_of, texts_of
from neonatal_stats.vocabulary import fates, terms
from neonatal_stats.vocabulary.columns import (
    ALSO_READ,
    COUNTS,
    OF_CAUSES,
    OF_LITTER,
    TABLES,
    Column,
    column_of,
)
from neonatal_stats.vocabulary.farm_words import count_meant, possible_meanings, sure_meaning
from neonatal_stats.vocabulary.heading_words import NUMBER, count_meaning
from neonatal_stats.vocabulary.spelling import plain_word
from neonatal_stats.vocabulary.units import accepted_units, turn

SECTIONS = ("columns", "words", "units", "fixed", "fill")
TOP = (*SECTIONS, "tables", "months", "dates", "alive", "join", "encoding", *TABLES)
OPEN = "?"
AGAIN = re.compile(r"(.+) \[([2-9]|\d{2,4})\]")
"""The name of a further column under one heading: "Date [2]"."""
FATES = ("alive", "dead", "stillborn")
DEAD_BY = {"died": "yes", "born_dead": "yes", "alive_now": "no", "born_alive": "no"}
"""Which of yes and no means dead under a column that says what became of newborns."""
DECIDING_WORDS = (*DEAD_BY, "litter_size", "species", "left_reason")
"""Columns of which no word may stay open: they say what became of whom."""
DECIDING = (
    *DECIDING_WORDS,
    *(
        "newborn_id",
        "dam_id",
        "sire_id",
        "litter_id",
        "mob",
        "farm",
        "season",
        "birth_order",
        "cause",
        "age_at_death",
    ),
    *("age_at_death_h", "age_at_death_d", *(column.name for column in COUNTS)),
)
"""Columns that a heading may not be left open for: who, how many, and what became of them."""
LITTER_WORDS = tuple(map(str, range(1, 10)))
JOINED = ("dam_id", "sire_id", "newborn_id", "litter_id", "farm")


def plain_heading(heading: object) -> str:
    """A heading without capitals and doubled spaces, for looking up."""
    return " ".join(str(heading).replace("_", " ").casefold().split())


@dataclass(frozen=True)
class TableMap:
    """The map of one table: headings to columns ("" = leave out), words, units of bare numbers, fixed values.

    ``fill`` says of columns that littermates share whether a blank means the same as above, ``open_words`` which words
    of a column that decides nothing are still open ("?"): their cells count as not recorded; ``open_columns`` which
    headings are.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    fixed: Mapping[str, str] = field(default_factory=dict)
    fill: Mapping[str, bool] = field(default_factory=dict)
    open_words: Mapping[str, frozenset[str]] = field(default_factory=dict)
    open_columns: frozenset[str] = frozenset()

    def column_of(self, table: str, heading: str) -> str | None:
        """The tidy column that a heading means; "" where it is to be left out, None where it is not known.

        The map comes first, then the tidy columns' own headings, then how farms write them where that is sure.
        """
        if self.columns:  # most sheets are read without a map, and every heading is looked up for every table
            meant = self.columns.get(plain_heading(heading))
            if meant is None and self.left_out(heading):
                return ""
            if meant is not None:
                return meant if meant == "" or meant in _names(table) else None
        if AGAIN.fullmatch(heading):
            return None
        if (tidy := column_of(table, heading)) is not None:
            return tidy
        spoken = sure_meaning(table, heading)
        return spoken.column if spoken else None

    def only_spoken(self, table: str, heading: str) -> bool:
        """True where neither the map nor a tidy heading says what a heading means, only how farms write."""
        return plain_heading(heading) not in self.columns and column_of(table, heading) is None

    def left_out(self, heading: str) -> bool:
        """True for numbered headings that the map leaves out with one line, such as "Colour {n}"."""
        spoken = plain_heading(heading)
        left = (pattern for pattern, meant in self.columns.items() if not meant and "{n}" in pattern)
        return any(re.fullmatch(re.escape(pattern).replace(r"\{n\}", NUMBER), spoken) for pattern in left)

    def unit_of(self, table: str, column: str, heading: str) -> str:
        """The unit of a column's bare numbers: as the map says, else as the heading says; "" where neither does."""
        if column in self.units:
            return self.units[column]
        spoken = sure_meaning(table, heading)
        return spoken.unit if spoken and spoken.column == column else _unit_at_the_end(table, column, heading)


def _unit_at_the_end(table: str, column: str, heading: str) -> str:
    """The unit in a heading that the map knows: "Gew. (g)" = "birth_weight_kg" is in grams."""
    last = re.search(r"[(\[]\s*([^()\[\]]+?)\s*[)\]]\s*$|[\s_]([^\s_]+)$", heading)
    tidy = _names(table).get(column)
    unit = (last[1] or last[2] or "").strip("()[]") if last else ""
    return unit if tidy is not None and unit and turn(tidy, unit) is not None else ""


@dataclass(frozen=True)
class Alive:
    """What shows that a newborn lived where no column says so: any value in one of these headings' columns.

    ``no_value_means`` is "dead" where the farm says that those without a value died, else "" (not written).
    """

    any_value_in: tuple[str, ...] = ()
    no_value_means: str = ""


@dataclass(frozen=True)
class Years:
    """The year of dates that have none; months from ``first_month`` on belong to the year before."""

    year: int | None = None
    first_month: int = 13


@dataclass(frozen=True)
class RecordsMap:
    """A map file. ``tables`` says which table a sheet or file holds; ``months`` names of months by number.

    ``join`` says, for a column of identities, which spelling of one identity stands for another; ``encodings`` names
    the encoding of files by their name, and under "" that of all files that are not Unicode.
    """

    by_table: Mapping[str, TableMap] = field(default_factory=dict)
    tables: Mapping[str, str] = field(default_factory=dict)
    months: Mapping[str, int] = field(default_factory=dict)
    alive: Alive = Alive()
    dates: Years = Years()
    join: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    encodings: Mapping[str, str] = field(default_factory=dict)

    def of(self, table: str) -> TableMap:
        """The map of one table."""
        return self.by_table.get(table, TableMap())


def read_map(
    path: str | PathLike[str], causes: tuple[str, ...] = terms.CAUSES, unfinished: bool = False
) -> RecordsMap:
    """A map of headings and words from a TOML file.

    ``[columns]`` turns headings into tidy columns, ``[words.<column>]`` words into the column's own, ``[units]``
    names the unit of bare numbers, ``[fixed]`` gives a column one value throughout, ``[fill]`` says (true or
    false) whether a blank means the same as above, in a column that littermates share; the same sections under
    ``[births.columns]`` and so on hold for one table. ``[tables]`` says which table a sheet or file holds and
    ``[months]`` which month a name means, ``[dates]`` the year of dates without one, ``[alive]`` which columns show by
    any value that a newborn lived, ``[join]`` lists the spellings of one identity (``dam_id = [["100", "0100"]]``:
    the first is kept); ``encoding`` names the code page of text files, for all of them (``encoding = "cp1250"``) or
    by file (``[encoding]``). "" leaves a heading out, or a word missing. "?" is still open: it is left away where the
    map may be ``unfinished`` (as `map --map` goes on from it). Raises `CannotRead`.
    """
    return map_of(Path(path).name, load_toml(path), causes, unfinished)


def map_of(
    name: str, found: Mapping[str, object], causes: tuple[str, ...] = terms.CAUSES, unfinished: bool = False
) -> RecordsMap:
    """The map that a TOML file of that name holds, see `read_map`."""
    if unfinished:
        found = {key: _without_open(value) for key, value in found.items()}
    check_keys(name, found, TOP)
    shared = {key: value for key, value in found.items() if key in SECTIONS}
    _known_somewhere(name, shared)
    by_table = {}
    for table in TABLES:
        own = table_of(f"{name}, [{table}]", found.get(table, {}))
        check_keys(f"{name}, [{table}]", own, SECTIONS)
        by_table[table] = _table_map(name, table, shared, own, causes)
    tables = texts_of(f"{name}, [tables]", found.get("tables", {}))
    for sheet, table in tables.items():
        if table and table not in TABLES:
            raise CannotRead(
                f"{name}, [tables]: {quoted(sheet)} = {quoted(table)} is no table{nearest(table, TABLES)}"
            )
    return RecordsMap(
        by_table,
        {plain_heading(k): v for k, v in tables.items()},
        _months(name, found),
        _alive(name, found),
        _dates(name, found),
        _join(name, found),
        _encodings(f"{name}, [encoding]", found.get("encoding", {})),
    )


def _without_open(value: object) -> object:
    if not isinstance(value, dict):
        return value
    return {key: _without_open(inner) for key, inner in value.items() if inner != OPEN}


def _alive(name: str, found: Mapping[str, object]) -> Alive:
    place = f"{name}, [alive]"
    section = table_of(place, found.get("alive", {}))
    check_keys(place, section, ("any_value_in", "no_value_means"))
    headings = section.get("any_value_in", [])
    if not isinstance(headings, list) or not all(isinstance(heading, str) for heading in headings):
        raise CannotRead(f'{place}: any_value_in must be a list of headings such as ["weaning weight"].')
    otherwise = str(section.get("no_value_means", ""))
    if otherwise not in ("", "dead"):
        raise CannotRead(
            f'{place}: no_value_means must be "dead" or "" (not written), found {quoted(otherwise)}.'
        )
    return Alive(tuple(plain_heading(heading) for heading in headings), otherwise)


def _dates(name: str, found: Mapping[str, object]) -> Years:
    place = f"{name}, [dates]"
    section = table_of(place, found.get("dates", {}))
    check_keys(place, section, ("year", "first_month"))
    for key, value in section.items():
        _still_open(place, key, str(value))
        low, high = (1980, 2099) if key == "year" else (1, 12)
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise CannotRead(f"{place}: {key} must be a number from {low} to {high}, found {quoted(value)}.")
    year, first = section.get("year"), section.get("first_month", 13)
    return Years(year if isinstance(year, int) else None, first if isinstance(first, int) else 13)


def _encodings(place: str, said: object) -> dict[str, str]:
    """One encoding for all text files, or one by file."""
    by_file = {"": said} if isinstance(said, str) else texts_of(place, said)
    for encoding in by_file.values():
        try:
            known = codecs.lookup(encoding)._is_text_encoding
        except (LookupError, ValueError):
            known = False
        if not known:
            raise CannotRead(
                f"{place}: {quoted(encoding)} is no encoding; write one such as utf-8, cp1252 (Western), cp1250 or "
                "iso8859_2 (Central European), cp1257 (Baltic), cp850 (DOS) or mac_roman."
            )
    return by_file


def _months(name: str, found: Mapping[str, object]) -> dict[str, int]:
    months = {}
    for word, number in table_of(f"{name}, [months]", found.get("months", {})).items():
        if not isinstance(number, int) or not 1 <= number <= 12:
            raise CannotRead(
                f"{name}, [months]: {quoted(word)} must be a number from 1 to 12, found {quoted(number)}."
            )
        months[word.casefold()] = number
    return months


def _join(name: str, found: Mapping[str, object]) -> dict[str, dict[str, str]]:
    joined: dict[str, dict[str, str]] = {}
    section = table_of(f"{name}, [join]", found.get("join", {}))
    check_keys(f"{name}, [join]", section, JOINED)
    for column, groups in section.items():
        spelled = [group for group in groups if _spellings(group)] if isinstance(groups, list) else []
        if spelled != groups:
            raise CannotRead(
                f"{name}, [join]: {column} must list the spellings of each identity, "
                f'as in {column} = [["100", "0100"]].'
            )
        joined[column] = {word: group[0] for group in spelled for word in group[1:]}
    return joined


def _spellings(group: object) -> bool:
    return isinstance(group, list) and len(group) > 1 and all(isinstance(word, str) for word in group)


def _known_somewhere(name: str, shared: Mapping[str, object]) -> None:
    """Every column that the shared sections speak of must stand in some table."""
    everywhere = list(dict.fromkeys(name for table in TABLES for name in _names(table)))
    for heading, meant in texts_of(f"{name}, [columns]", shared.get("columns", {})).items():
        if meant == OPEN and not any(decides(table, heading) for table in TABLES):
            continue
        _still_open(f"{name}, [columns]", heading, meant)
        if meant and meant not in everywhere:
            raise CannotRead(
                f"{name}, [columns]: {quoted(heading)} = {quoted(meant)} is no column{nearest(meant, everywhere)}"
            )
    for section in ("words", "units", "fixed"):
        check_keys(
            f"{name}, [{section}]", table_of(f"{name}, [{section}]", shared.get(section, {})), everywhere
        )


def _table_map(
    name: str, table: str, shared: Mapping[str, object], own: Mapping[str, object], causes: tuple[str, ...]
) -> TableMap:
    known = _names(table)
    place = f"{name}, [{table}"
    columns = texts_of(f"{name}, [columns]", shared.get("columns", {})) | texts_of(
        f"{place}.columns]", own.get("columns", {})
    )
    open_columns = frozenset(
        plain_heading(heading)
        for heading, meant in columns.items()
        if meant == OPEN and not decides(table, heading)
    )
    columns = {
        heading: meant for heading, meant in columns.items() if plain_heading(heading) not in open_columns
    }
    for heading, meant in texts_of(place, own.get("columns", {})).items():
        if heading not in columns:
            continue
        _still_open(f"{place}.columns]", heading, meant)
        if meant and meant not in known:
            raise CannotRead(
                f"{place}.columns]: {quoted(heading)} = {quoted(meant)} is no column of {table}{nearest(meant, known)}"
            )
    sections = {}
    for section in ("words", "units", "fixed"):
        mine = table_of(f"{place}.{section}]", own.get(section, {}))
        check_keys(f"{place}.{section}]", mine, known)
        common = table_of(f"{name}, [{section}]", shared.get(section, {}))
        sections[section] = {k: v for k, v in common.items() if k in known} | dict(mine)
    return TableMap(
        {plain_heading(heading): meant for heading, meant in columns.items()},
        {c: _words(f"{name}, [words.{c}]", known[c], w, causes) for c, w in sections["words"].items()},
        {c: _unit(f"{name}, [units]", known[c], u) for c, u in sections["units"].items()},
        texts_of(f"{name}, [fixed]", sections["fixed"]),
        _fill(f"{name}, [fill]", shared.get("fill", {})) | _fill(f"{place}.fill]", own.get("fill", {})),
        {c: _open_words(w) for c, w in sections["words"].items() if c not in DECIDING_WORDS},
        open_columns,
    )


def stops(section: str, said: str) -> bool:
    """True where a line of a map that is left open ("?") stops the reading."""
    table, _, rest = (
        section.partition(".") if section.partition(".")[0] in TABLES else ("births", "", section)
    )
    if rest == "columns":
        return decides(table, said)
    return not rest.startswith("words.") or rest.removeprefix("words.") in DECIDING_WORDS


def decides(table: str, heading: str) -> bool:
    """True where a heading may say who an animal is, when something was, how many there are or what became of them.

    Left open, such a heading stops the reading; any other is left out and asked about.
    """
    plain = heading.replace("{n}", " ").strip()
    possible = {meaning.column for meaning in possible_meanings(table, plain)}
    if table == "births":
        possible |= {meaning.column for meaning in possible_meanings(table, heading)}
    births = table == "births"
    asks = fates.asks_for(plain)
    asked = asks not in ("", "examined") or (births and (bool(asks) or fates.stage_asked(plain) is not None))
    counted = "{n}" in heading or count_meant(plain) is not None or bool(count_meaning(plain))
    known = _names(table)
    told = any(
        name in DECIDING or known[name].kind in ("moment", "date") for name in possible if name in known
    )
    return asked or told or (births and counted and not possible)


def _open_words(section: object) -> frozenset[str]:
    """The words of a section that are still open."""
    said = section if isinstance(section, Mapping) else {}
    return frozenset(plain_word(str(word)) for word, meant in said.items() if meant == OPEN)


def meanings_of(section: str, said: str) -> tuple[str, ...]:
    """What may be written behind a line of a section of a map: columns, words or units; none where anything may."""
    table = section.partition(".")[0] if section.partition(".")[0] in TABLES else "births"
    rest = section.removeprefix(f"{table}.")
    names = _names(table)
    if rest == "columns":
        return tuple(names)
    if rest == "units" and said in names:
        return accepted_units(names[said])
    column = names.get(rest.removeprefix("words."))
    if column is None:
        return ()
    return words_taken(column)


def words_taken(column: Column) -> tuple[str, ...]:
    """The words that a column takes; under an agent what became of the samples, of a product which treatment it is.

    Of an outcome those that cannot be taken for their opposite first: dead, alive, stillborn.
    """
    if column.name == "litter_size":
        return LITTER_WORDS
    if column.words and column.name in ("died", "alive_now"):
        return (*FATES, terms.LEFT, "unknown", *column.words)
    if column.words and column.name in ("born_alive", "born_dead"):
        return ("alive", "stillborn", "unknown", *column.words)
    return {"agent": terms.LABORATORY, "product": terms.TREATMENTS}.get(column.name, column.words)


def words_offered(column: Column) -> tuple[str, ...]:
    """The words that are offered to a person; yes and no only where nobody can take them for their opposite."""
    taken = words_taken(column)
    return tuple(word for word in taken if word not in terms.YES_NO) if column.name in DEAD_BY else taken


def _fill(place: str, section: object) -> dict[str, bool]:
    """Columns that littermates share, each with whether its blanks are filled from above."""
    named = table_of(place, section)
    check_keys(place, named, OF_LITTER)
    for column, down in named.items():
        if not isinstance(down, bool):
            raise CannotRead(f"{place}: {column} must be true or false, found {quoted(down)}.")
    return {column: bool(down) for column, down in named.items()}


def _names(table: str) -> dict[str, Column]:
    also = (*COUNTS, *ALSO_READ) if table == "births" else ()
    return {column.name: column for column in (*TABLES[table], *also)}


def _words(place: str, column: Column, section: object, causes: tuple[str, ...]) -> dict[str, str]:
    allowed = causes if column.name in OF_CAUSES else words_taken(column)
    if not allowed:
        raise CannotRead(f"{place}: {column.name} takes no list of words; remove the section.")
    words = texts_of(place, section)
    if column.name not in DECIDING_WORDS:
        words = {word: meant for word, meant in words.items() if meant != OPEN}
    for word, meant in words.items():
        _still_open(place, word, meant)
        if meant and meant not in allowed:
            raise CannotRead(
                f"{place}: {quoted(word)} = {quoted(meant)} is not accepted{nearest(meant, allowed)}"
            )
        _must_not_contradict(place, column, word, meant)
    spoken: dict[str, str] = {}
    for word, meant in words.items():
        if spoken.setdefault(plain_word(word), meant) != meant:
            raise CannotRead(
                f"{place}: {quoted(word)} stands there twice with two meanings; capitals make no difference, "
                "write it once."
            )
    return spoken


def _must_not_contradict(place: str, column: Column, word: str, meant: str) -> None:
    """Refuse a map that makes a word for dead a life, or one for alive a death."""
    if column.name not in DEAD_BY or not meant:
        return
    dead = meant in ("dead", "stillborn", DEAD_BY[column.name])
    says = fates.says_itself(word)
    if (says == "dead" and (meant in ("alive", terms.LEFT) or meant == _other(DEAD_BY[column.name]))) or (
        says == "alive" and dead
    ):
        raise CannotRead(
            f"{place}: {quoted(word)} = {quoted(meant)} says that a newborn {'lived' if says == 'dead' else 'died'} of "
            f'which {quoted(word)} is written; write "{says}" if the word means what it says, or mend the cells.'
        )


def _other(answer: str) -> str:
    return "no" if answer == "yes" else "yes"


def _still_open(place: str, said: str, meant: str) -> None:
    if meant == OPEN:
        raise CannotRead(
            f'{place}: {quoted(said)} is still open; write what it means, or "" to leave it out.'
        )


def _unit(place: str, column: Column, unit: object) -> str:
    _still_open(place, column.name, str(unit))
    if turn(column, str(unit)) is None:
        accepted = accepted_units(column)
        end = nearest(str(unit), accepted) if accepted else "; it takes no unit."
        raise CannotRead(f"{place}: {quoted(unit)} is no unit of {column.name}{end}")
    return str(unit)
