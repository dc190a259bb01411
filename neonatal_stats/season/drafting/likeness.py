"""How like a heading or a word is to those known: a close and unrivalled match is sure, all else is a candidate."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from neonatal_stats.season.drafting.spoken import headings_of, words_of
from neonatal_stats.vocabulary.columns import TABLES, Column

SURE = 90.0
CANDIDATE = 65.0
AHEAD = 5.0


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
