"""How farms write headings and words in English: what a drafted map is matched against (spoken.toml)."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.headings import heading_of


@cache
def _spoken() -> dict[str, Any]:
    return tomllib.loads(
        files("neonatal_stats.season.drafting").joinpath("spoken.toml").read_text(encoding="utf-8")
    )


def headings_of(table: str) -> dict[str, str]:
    """Every spoken heading of a table, with the tidy column that it means."""
    spoken: dict[str, str] = {}
    for column in TABLES[table]:
        for heading in (
            heading_of(column),
            column.name.replace("_", " "),
            *_spoken()["headings"].get(column.name, ()),
        ):
            spoken.setdefault(heading.casefold(), column.name)
    return spoken


def words_of(column: str, words: tuple[str, ...]) -> dict[str, str]:
    """Every spoken word of a column, with the column's own word that it means."""
    spoken = {word.casefold(): word for word in words}
    for word, several in _spoken()["words"].get(column, {}).items():
        if word in words:
            spoken.update({other: word for other in several if other not in spoken})
    return spoken
