"""Does a text name a row of totals? "Total 2024", "All mobs", "Grand total", "Herd total", "Gesamt".

Words that nothing but a total bears ("sum") are told from those that a mob counted as a whole may bear as well ("whole
flock", "all ewes"): the latter are a total only beside the parts of it.
"""

from __future__ import annotations

import re
from functools import cache

from neonatal_stats.vocabulary.fates import TOTALS
from neonatal_stats.vocabulary.spelling import folded

TOTAL, WHOLE = "total", "whole"


def _words(text: str) -> frozenset[str]:
    return frozenset(text.replace(",", " ").split())


SINGLE = frozenset(word for word in TOTALS if " " not in word and "-" not in word)
"""Words that name a total alone or as the last or first word: "Hill total", "Total 2024"."""
NOT_ALONE = _words("""
    media, mittel, som, count, nombre, nifer, median, mean
""")
FIRST = SINGLE - NOT_ALONE
ALL = _words("""
    all, overall, whole, entire, combined, together, every, alle, alles, ganze, ganzer, ganzes, ganzen, samtliche,
    tous, toutes, tout, toute, todos, todas, todo, tutti, tutte, alla, samtliga, wszystkie
""")
COUNTED = _words("""
    mob, mobs, hirsel, hirsels, heft, hefts, flock, flocks, herd, herds, group, groups, paddock, paddocks, camp,
    camps, block, blocks, farm, farms, station, property, place, year, years, season, seasons, ewe, ewes, doe,
    does, cow, cows, goat, goats, sheep, cattle, hogg, hoggs, age, ages, class, classes, breed, breeds, band,
    bands, lot, lots, batch, batches, field, fields, head, unit, total, the, of, for, in, and, a, herde, herden,
    teilherde, teilherden, gruppe, gruppen, koppel, koppeln, betrieb, betriebe, bestand, jahr, jahre, saison,
    schafe, ziegen, kuhe, mutterschafe, troupeau, troupeaux, groupes, rebanos, lotes, grupos,
    week, weeks, day, days, month, months, page, pages, sheet, so, far, to, date, up, until, end, pen, pens, shed,
    kw, woche, wochen, tag, tage, monat, monate, seite, bis, stand, semaine, semaines, jour, jours, mois,
    semana, semanas, dia, dias, mes, meses, pagina, settimana, giorno, mese, uke, vecka, uge
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
