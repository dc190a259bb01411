"""Which column a heading is most like, and which word a farm's word is most like."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from neonatal_stats.season.cells.words import plain
from neonatal_stats.vocabulary.columns import TABLES, Column
from neonatal_stats.vocabulary.farm_words import folded, spoken_headings, words_of

SURE = 90.0
CANDIDATE = 76.0
AHEAD = 5.0


@dataclass(frozen=True)
class Likeness:
    """The nearest meaning, whether it is sure, and the meanings that come near."""

    meant: str
    sure: bool
    candidates: tuple[str, ...]


@cache
def like_heading(table: str, heading: str, tongues: tuple[str, ...] = ()) -> Likeness:
    """The tidy column of a table that a heading is most like, as farms write in these languages (none = any)."""
    return _like(folded(heading), spoken_headings(table, tongues))


def like_word(column: Column, word: str, words: tuple[str, ...], tongues: tuple[str, ...] = ()) -> Likeness:
    """The word of a column that a farm's word is most like; a number is like none."""
    if not any(sign.isalpha() for sign in word):
        return Likeness("", False, ())
    known = {word: word for word in words}
    for spoken in (words_of(column, tongues, perhaps=True), words_of(column, perhaps=True)):
        for way, meant in spoken.items():
            if meant in words:
                known.setdefault(way, meant)
    if (exact := known.get(plain(word)) or known.get(folded(word))) is not None:
        return Likeness(exact, True, (exact,))
    return _like(folded(word), known)


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
