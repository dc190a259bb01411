"""A farm's own headings and words, and the tidy columns and words that they mean."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from os import PathLike
from pathlib import Path

from neonatal_stats.season.mapping.toml_file import check_keys, load_toml, nearest, quoted, table_of, texts_of
from neonatal_stats.season.mapping.units import accepted_units, turn
from neonatal_stats.season.trouble import CannotRead
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import COUNTS, TABLES, Column
from neonatal_stats.vocabulary.headings import column_of

SECTIONS = ("columns", "words", "units", "fixed")
TOP = (*SECTIONS, "tables", "months", *TABLES)


def plain_heading(heading: object) -> str:
    """A heading without capitals and doubled spaces, for looking up."""
    return " ".join(str(heading).replace("_", " ").casefold().split())


@dataclass(frozen=True)
class TableMap:
    """The map of one table: headings to columns ("" = leave out), words, units of bare numbers, fixed values."""

    columns: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    fixed: Mapping[str, str] = field(default_factory=dict)

    def column_of(self, table: str, heading: str) -> str | None:
        """The tidy column that a heading means; "" where it is to be left out, None where it is not known."""
        meant = self.columns.get(plain_heading(heading))
        if meant is not None:
            return meant if meant == "" or meant in _names(table) else None
        return column_of(table, heading)


@dataclass(frozen=True)
class RecordsMap:
    """A map file. ``tables`` says which table a sheet or file holds; ``months`` names of months by number."""

    by_table: Mapping[str, TableMap] = field(default_factory=dict)
    tables: Mapping[str, str] = field(default_factory=dict)
    months: Mapping[str, int] = field(default_factory=dict)

    def of(self, table: str) -> TableMap:
        """The map of one table."""
        return self.by_table.get(table, TableMap())


def read_map(path: str | PathLike[str], causes: tuple[str, ...] = terms.CAUSES) -> RecordsMap:
    """A map of headings and words from a TOML file.

    ``[columns]`` turns headings into tidy columns, ``[words.<column>]`` words into the column's own, ``[units]``
    names the unit of bare numbers, ``[fixed]`` gives a column one value throughout; the same sections under
    ``[births.columns]`` and so on hold for one table. ``[tables]`` says which table a sheet or file holds and
    ``[months]`` which month a name means. "" leaves a heading out, or a word missing. Raises `CannotRead`.
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
    return RecordsMap(by_table, {plain_heading(k): v for k, v in tables.items()}, _months(name, found))


def _months(name: str, found: Mapping[str, object]) -> dict[str, int]:
    months = {}
    for word, number in table_of(f"{name}, [months]", found.get("months", {})).items():
        if not isinstance(number, int) or not 1 <= number <= 12:
            raise CannotRead(
                f"{name}, [months]: {quoted(word)} must be a number from 1 to 12, found {quoted(number)}."
            )
        months[word.casefold()] = number
    return months


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
    )


def _names(table: str) -> dict[str, Column]:
    counts = COUNTS if table == "births" else ()
    return {column.name: column for column in (*TABLES[table], *counts)}


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
