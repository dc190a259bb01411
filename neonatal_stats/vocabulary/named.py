"""Does a text name a season, or a row of totals? "2024/25", "Autumn 24"; "Total 2024", "All mobs", "Gesamt".

Words that nothing but a total bears ("sum") are told from those that a mob counted as a whole may bear as well ("whole
flock", "all ewes"): the latter are a total only beside the parts of it.
"""

from __future__ import annotations

import re
from functools import cache

from neonatal_stats.vocabulary.farm_words import spoken_section
from neonatal_stats.vocabulary.fates import TOTALS
from neonatal_stats.vocabulary.spelling import folded, unaccented, ways, words

TOTAL, WHOLE = "total", "whole"
YEAR = r"(?:19[89]\d|20\d\d)(?:\s?[/–-]\s?(?:20)?\d\d)?"
NAMED = re.compile(
    rf"(?:(?P<before>[^\W\d_]+)[\s.'’-]*)?(?P<year>{YEAR}|[’']?\d\d(?:/\d\d)?)(?:[\s-]*(?P<after>[^\W\d_]+))?"
)
IN_A_NAME = re.compile(rf"(?<!\d){YEAR}(?!\d)")


SINGLE = frozenset(word for word in TOTALS if " " not in word and "-" not in word)
"""Words that name a total alone or as the last or first word: "Hill total", "Total 2024"."""
NOT_ALONE = words("""
    media mittel som count nombre nifer median mean
""")
FIRST = SINGLE - NOT_ALONE
ALL = words("""
    all overall whole entire combined together every alle alles ganze ganzer ganzes ganzen samtliche
    tous toutes tout toute todos todas todo tutti tutte alla samtliga wszystkie
""")
COUNTED = words("""
    mob mobs hirsel hirsels heft hefts flock flocks herd herds group groups paddock paddocks camp
    camps block blocks farm farms station property place year years season seasons ewe ewes doe
    does cow cows goat goats sheep cattle hogg hoggs age ages class classes breed breeds band
    bands lot lots batch batches field fields head unit total the of for in and a herde herden
    teilherde teilherden gruppe gruppen koppel koppeln betrieb betriebe bestand jahr jahre saison
    schafe ziegen kuhe mutterschafe troupeau troupeaux groupes rebanos lotes grupos
    week weeks day days month months page pages sheet so far to date up until end pen pens shed
    kw woche wochen tag tage monat monate seite bis stand semaine semaines jour jours mois
    semana semanas dia dias mes meses pagina settimana giorno mese uke vecka uge
""")
CARRIED = frozenset((
    "c f", "b f", "c fwd", "b fwd", "carried forward", "brought forward", "carry forward", "carried over", "c over",
    "brought down", "ubertrag", "a reporter", "suma y sigue", "a riportare",
))  # fmt: skip
"""Sums that go over to the next page, as bookkeepers write them."""
LONGEST = 40


@cache
def total_named(text: str) -> str:
    """ "total" where the words name nothing but a total, "whole" where they may name a whole mob; else "".

    >>> [total_named(text) for text in ("Total 2024", "Grand total", "2025 total:", "Hill total", "Gesamt")]
    ['total', 'total', 'total', 'total', 'total']
    >>> [total_named(text) for text in ("All mobs", "whole flock", "All ewes 2025", "overall")]
    ['whole', 'whole', 'whole', 'whole']
    >>> [total_named(text) for text in ("Subtotal week 1", "Week total", "c/f", "Zwischensumme KW 12")]
    ['total', 'total', 'total', 'total']
    >>> [total_named(text) for text in ("Summit", "Allotment", "All Saints", "Whole Moor", "Total Dam", "2025")]
    ['', '', '', '', '', '']
    """
    words = re.findall(r"[^\W\d_]+", folded(text))
    if not words:
        return ""
    others = [word for word in words if word not in SINGLE]
    if " ".join(words) in CARRIED:
        return TOTAL
    if " ".join(words) in TOTALS or set(words) <= SINGLE or (words[-1] in FIRST and len(words) <= 4):
        return TOTAL
    if words[0] in FIRST and (words[1] in ("of", "for") or all(w in COUNTED or w in ALL for w in others)):
        return TOTAL
    whole = any(word in ALL for word in words) and all(word in ALL or word in COUNTED for word in words)
    return WHOLE if whole else ""


@cache
def _of_seasons() -> frozenset[str]:
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
    return set(beside) <= _of_seasons() and (bool(beside) or re.fullmatch(YEAR, found["year"]) is not None)


def season_in(name: str) -> str:
    """The one year, with the season's word beside it if there is one, that the name of a sheet holds; "" without one.

    >>> season_in("Marking 2024"), season_in("Autumn 2025"), season_in("2024 and 2025"), season_in("Sheet1")
    ('2024', 'Autumn 2025', '', '')
    """
    if names_a_season(name):
        return " ".join(name.split())
    years = set(IN_A_NAME.findall(name))
    return years.pop() if len(years) == 1 else ""
