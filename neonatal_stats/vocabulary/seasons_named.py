"""Seasons as farms name them: "2025", "2024/25", "Spring 2024", "Autumn 24"; and the year in the name of a sheet."""

from __future__ import annotations

import re
from functools import cache

from neonatal_stats.vocabulary.farm_words import spoken_section
from neonatal_stats.vocabulary.spelling import unaccented, ways

YEAR = r"(?:19[89]\d|20\d\d)(?:\s?[/–-]\s?(?:20)?\d\d)?"
NAMED = re.compile(
    rf"(?:(?P<before>[^\W\d_]+)[\s.'’-]*)?(?P<year>{YEAR}|[’']?\d\d(?:/\d\d)?)(?:[\s-]*(?P<after>[^\W\d_]+))?"
)
IN_A_NAME = re.compile(rf"(?<!\d){YEAR}(?!\d)")


@cache
def _words() -> frozenset[str]:
    return frozenset(
        way
        for spoken in spoken_section("season_words").values()
        for word in spoken["words"]
        for way in ways(word)
    )


def names_a_season(text: str) -> bool:
    """True for a year, two years in a row, or a word for a season beside a year.

    >>> [names_a_season(text) for text in ("2025", "2024/25", "Spring 2024", "Autumn 24", "2025 Herbst")]
    [True, True, True, True, True]
    >>> [names_a_season(text) for text in ("Paddock 12", "24", "Mob 2025", "1250")]
    [False, False, False, False]
    """
    found = NAMED.fullmatch(" ".join(text.split()))
    if found is None:
        return False
    beside = [unaccented(word.casefold()) for word in (found["before"], found["after"]) if word]
    return set(beside) <= _words() and (bool(beside) or re.fullmatch(YEAR, found["year"]) is not None)


def season_in(name: str) -> str:
    """The one year, with the season's word beside it if there is one, that the name of a sheet holds; "" without one.

    >>> season_in("Marking 2024"), season_in("Autumn 2025"), season_in("2024 and 2025"), season_in("Sheet1")
    ('2024', 'Autumn 2025', '', '')
    """
    if names_a_season(name):
        return " ".join(name.split())
    years = set(IN_A_NAME.findall(name))
    return years.pop() if len(years) == 1 else ""
