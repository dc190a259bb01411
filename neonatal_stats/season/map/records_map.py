"""A farm's own headings, words and units, and the tidy columns and words that they mean."""

from __future__ import annotations

import codecs
from collections.abc import Mapping
from dataclasses import dataclass, field
from os import PathLike
from pathlib import Path

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.toml_file import check_keys, load_toml, nearest, quoted, table_of, texts_of
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import ALSO_READ, COUNTS, OF_LITTER, TABLES, Column
from neonatal_stats.vocabulary.headings import column_of

Turn = tuple[float, float]
"""Times the first, plus the second."""

INTO: dict[str, dict[str, Turn]] = {
    "kg": {"kg": (1, 0), "g": (0.001, 0), "lb": (0.45359237, 0), "oz": (0.028349523125, 0)},
    "ml": {"ml": (1, 0), "l": (1000, 0), "dl": (100, 0), "cl": (10, 0)},
    "min": {"min": (1, 0), "h": (60, 0), "s": (1 / 60, 0)},
    "s": {"s": (1, 0), "min": (60, 0)},
    "days": {"d": (1, 0), "weeks": (7, 0)},
    "years": {"y": (1, 0), "months": (1 / 12, 0)},
    "degrees C": {"c": (1, 0), "f": (5 / 9, -160 / 9)},
    "g/l": {"g/l": (1, 0), "mg/ml": (1, 0), "mg/dl": (0.01, 0), "g/dl": (10, 0)},
    "g/dl": {"g/dl": (1, 0), "g/l": (0.1, 0), "mg/dl": (0.001, 0)},
    "m/s": {"m/s": (1, 0), "km/h": (1 / 3.6, 0), "mph": (0.44704, 0), "kn": (0.5144444444444445, 0)},
    "mm": {"mm": (1, 0), "cm": (10, 0), "in": (25.4, 0)},
    "%": {"%": (1, 0)},
}
SPELLED = {
    "kgs": "kg", "kilo": "kg", "kilos": "kg", "grams": "g", "gram": "g", "lbs": "lb", "pounds": "lb", "pound": "lb",
    "litre": "l", "litres": "l", "liter": "l", "liters": "l", "ltr": "l", "millilitres": "ml", "cc": "ml",
    "mins": "min", "minutes": "min", "minute": "min", "m": "min", "hours": "h", "hour": "h", "hrs": "h", "hr": "h",
    "sec": "s", "secs": "s", "seconds": "s", "days": "d", "day": "d", "weeks": "weeks", "wk": "weeks",
    "years": "y", "year": "y", "yrs": "y", "°c": "c", "degrees c": "c", "deg c": "c", "°f": "f", "degrees f": "f",
    "pct": "%", "percent": "%", "brix": "%", "% brix": "%", "inches": "in",
}  # fmt: skip
SECTIONS = ("columns", "words", "units", "fixed", "fill")
TOP = (*SECTIONS, "tables", "months", "join", "encoding", *TABLES)
JOINED = ("dam_id", "sire_id", "newborn_id", "litter_id", "farm")


def turn(column: Column, unit: str) -> Turn | None:
    """What turns a number in that unit into the column's own; None where the unit does not belong there."""
    spoken = " ".join(unit.casefold().rstrip(".").split())
    return INTO.get(column.unit, {}).get(SPELLED.get(spoken, spoken))


def accepted_units(column: Column) -> tuple[str, ...]:
    """The units that a map may name for this column."""
    return tuple(INTO.get(column.unit, {}))


def plain_heading(heading: object) -> str:
    """A heading without capitals and doubled spaces, for looking up."""
    return " ".join(str(heading).replace("_", " ").casefold().split())


@dataclass(frozen=True)
class TableMap:
    """The map of one table: headings to columns ("" = leave out), words, units of bare numbers, fixed values.

    ``fill`` says of columns that littermates share whether a blank means the same as above.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    fixed: Mapping[str, str] = field(default_factory=dict)
    fill: Mapping[str, bool] = field(default_factory=dict)

    def column_of(self, table: str, heading: str) -> str | None:
        """The tidy column that a heading means; "" where it is to be left out, None where it is not known."""
        meant = self.columns.get(plain_heading(heading))
        if meant is not None:
            return meant if meant == "" or meant in _names(table) else None
        return column_of(table, heading)


@dataclass(frozen=True)
class RecordsMap:
    """A map file. ``tables`` says which table a sheet or file holds; ``months`` names of months by number.

    ``join`` says, for a column of identities, which spelling of one identity stands for another; ``encodings`` names
    the encoding of files by their name, and under "" that of all files that are not Unicode.
    """

    by_table: Mapping[str, TableMap] = field(default_factory=dict)
    tables: Mapping[str, str] = field(default_factory=dict)
    months: Mapping[str, int] = field(default_factory=dict)
    join: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    encodings: Mapping[str, str] = field(default_factory=dict)

    def of(self, table: str) -> TableMap:
        """The map of one table."""
        return self.by_table.get(table, TableMap())


def read_map(path: str | PathLike[str], causes: tuple[str, ...] = terms.CAUSES) -> RecordsMap:
    """A map of headings and words from a TOML file.

    ``[columns]`` turns headings into tidy columns, ``[words.<column>]`` words into the column's own, ``[units]``
    names the unit of bare numbers, ``[fixed]`` gives a column one value throughout, ``[fill]`` says (true or
    false) whether a blank means the same as above, in a column that littermates share, ``[join]`` lists the spellings
    of one identity (``dam_id = [["100", "0100"]]``: the first is kept); the same sections but the last under
    ``[births.columns]`` and so on hold for one table. ``[tables]`` says which table a sheet or file holds and
    ``[months]`` which month a name means; ``encoding`` names the code page of text files, for all of them
    (``encoding = "cp1250"``) or by file (``[encoding]``). "" leaves a heading out, or a word missing.
    Raises `CannotRead`.
    """
    found = load_toml(path)
    name = Path(path).name
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
        _join(name, found),
        _encodings(f"{name}, [encoding]", found.get("encoding", {})),
    )


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
    for heading, meant in texts_of(place, own.get("columns", {})).items():
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
    )


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
    allowed = causes if column.name == "cause" else column.words
    if not allowed:
        raise CannotRead(f"{place}: {column.name} takes no list of words; remove the section.")
    words = texts_of(place, section)
    for word, meant in words.items():
        _still_open(place, word, meant)
        if meant and meant not in allowed:
            raise CannotRead(
                f"{place}: {quoted(word)} = {quoted(meant)} is not accepted{nearest(meant, allowed)}"
            )
    return words


def _still_open(place: str, said: str, meant: str) -> None:
    if meant == "?":
        raise CannotRead(
            f'{place}: {quoted(said)} is still open; write what it means, or "" to leave it out.'
        )


def _unit(place: str, column: Column, unit: object) -> str:
    if turn(column, str(unit)) is None:
        accepted = accepted_units(column)
        end = nearest(str(unit), accepted) if accepted else "; it takes no unit."
        raise CannotRead(f"{place}: {quoted(unit)} is no unit of {column.name}{end}")
    return str(unit)
