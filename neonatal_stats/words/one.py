"""One animal is no several: the noun beside a count of 1, and the verb beside the noun, in their singular.

A template is written once, for several: "{n} {newborns} are undecided." Where the count that is filled in is 1 the noun
after it, and a verb right before or after both, take the singular; all other words of the template stay.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

ANIMALS = {"newborns": "newborn", "dams": "dam", "litters": "litter"}
ENGLISH_NOUNS = {
    "actions": "action", "animals": "animal", "births": "birth", "blanks": "blank", "carcasses": "carcass",
    "causes": "cause", "cells": "cell", "comparisons": "comparison", "days": "day", "deaths": "death",
    "examinations": "examination", "farms": "farm", "files": "file", "groups": "group", "hours": "hour",
    "lines": "line", "losses": "loss", "messages": "message", "mobs": "mob", "newborns": "newborn",
    "records": "record", "rows": "row", "samples": "sample", "seasons": "season", "slips": "slip", "studies": "study",
    "tables": "table", "tags": "tag", "treatments": "treatment", "weeks": "week",
}  # fmt: skip
ENGLISH_VERBS = {
    "are": "is", "belong": "belongs", "differ": "differs", "had": "had", "have": "has", "lie": "lies",
    "reach": "reaches", "stand": "stands", "were": "was",
}  # fmt: skip


TO_BE = ("are", "sind", "waren", "were", "wurden")
"""Verbs that take the count as their subject where they stand before it too, as in German main clauses."""


@cache
def _pattern(nouns: tuple[str, ...], verbs: tuple[str, ...]) -> re.Pattern[str]:
    several = "|".join((*(rf"\{{(?:{name})(?:_dative)?\}}" for name in _EITHER), *nouns))
    verb, before = "|".join(verbs), "|".join(one for one in verbs if one in TO_BE) or "(?!)"
    return re.compile(rf"(?:\b({before}) )?\{{(\w+)\}} ({several})(?!\w)(?: ({verb})\b)?")


_EITHER = (*ANIMALS, *(name.capitalize() for name in ANIMALS))


def of_one(spoken: str, values: Mapping[str, str], nouns: Mapping[str, str], verbs: Mapping[str, str]) -> str:
    """The template with the singular beside each count that is 1.

    >>> of_one("{n} {newborns} are undecided.", {"n": "1"}, ENGLISH_NOUNS, ENGLISH_VERBS)
    '{n} {newborn} is undecided.'
    >>> of_one("{n} {newborns} are undecided.", {"n": "11"}, ENGLISH_NOUNS, ENGLISH_VERBS)
    '{n} {newborns} are undecided.'
    """

    def said(match: re.Match[str]) -> str:
        before, count, noun, after = match.groups()
        if values.get(count) != "1":
            return match.group()
        one = "{" + _animal(noun.strip("{}").removesuffix("_dative")) + "}" if noun[0] == "{" else nouns[noun]
        parts = (before and verbs[before], "{" + count + "}", one, after and verbs[after])
        return " ".join(part for part in parts if part)

    return _pattern(tuple(nouns), tuple(verbs)).sub(said, spoken)


def _animal(several: str) -> str:
    one = ANIMALS[several.lower()]
    return one.capitalize() if several[0].isupper() else one
