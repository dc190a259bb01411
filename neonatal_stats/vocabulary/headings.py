"""Readable headings for the tidy columns, and the way back: "birth weight (kg)" is birth_weight_kg.

The blank sheets print these headings and the readers accept them, so that a sheet reads back with no map. A
unit in a heading must be the column's own: "birth weight (lb)" is no tidy column, and never becomes one.
"""

from __future__ import annotations

import re
from functools import cache

from neonatal_stats.vocabulary.columns import TABLES, Column

UNIT_SUFFIXES = (
    "_g_per_dl",
    "_g_per_l",
    "_m_per_s",
    "_pct",
    "_min",
    "_kg",
    "_ml",
    "_mm",
    "_c",
    "_d",
    "_h",
    "_s",
    "_y",
)
UNIT_SPELLINGS = {
    "°c": "degrees c",
    "c": "degrees c",
    "degree c": "degrees c",
    "percent": "%",
    "minutes": "min",
}


def heading_of(column: Column) -> str:
    """The heading a person reads.

    >>> from neonatal_stats.vocabulary.columns import column
    >>> heading_of(column("births", "birth_weight_kg")), heading_of(column("births", "dam_id"))
    ('birth weight (kg)', 'dam id')
    """
    for suffix in UNIT_SUFFIXES:
        if column.unit and column.name.endswith(suffix):
            return f"{column.name.removesuffix(suffix).replace('_', ' ')} ({column.unit})"
    return column.name.replace("_", " ")


def column_of(table: str, heading: str) -> str | None:
    """The tidy column that a heading names, or None: its own name or its readable heading.

    Capitals, spaces, underscores and hyphens make no difference.

    >>> column_of("births", "Birth weight (kg)"), column_of("births", "birth_weight_kg")
    ('birth_weight_kg', 'birth_weight_kg')
    >>> column_of("births", "birth weight (lb)") is None
    True
    """
    return _names_by_heading(table).get(_plain(heading))


@cache
def _names_by_heading(table: str) -> dict[str, str]:
    names = {_plain(column.name): column.name for column in TABLES[table]}
    return names | {_plain(heading_of(column)): column.name for column in TABLES[table]}


def _plain(heading: str) -> str:
    words = re.sub(r"[\s_\-]+", " ", heading).strip().casefold()
    bare, bracket, unit = words.partition("(")
    if not bracket:
        return words
    unit = unit.rstrip(" )").strip()
    return f"{bare.strip()} ({UNIT_SPELLINGS.get(unit, unit)})"
