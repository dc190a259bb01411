"""What single words and numbers of a heading say, where nobody wrote it so before: "No. of ewes to tup", "Lamb 2 sex".

Only the draft of a map asks for the meaning of single words: a stage, whom it counts and whether they died. Counts are
of a mob, or of one dam's newborns. How a heading numbers the newborns of a row is known to every reader of a sheet.
"""

from __future__ import annotations

import re
from functools import cache

from neonatal_stats.vocabulary.farm_words import spoken_section
from neonatal_stats.vocabulary.spelling import bare_words, ways

CLASSES = ("dry", "triplet", "twin", "single")
STAGES = ("weaned", "marked", "born", "foetuses", "scanned", "joined")
DATED = ("joined", "scanned", "marked", "weaned")
WORDS = {
    1: ("first", "erstes", "erster", "erste"),
    2: ("second", "zweites", "zweiter", "zweite"),
    3: ("third", "drittes", "dritter", "dritte"),
    4: ("fourth", "viertes", "vierter", "vierte"),
}
LETTERS = "abcd"
SPELT = {word: number for number, words in WORDS.items() for word in words}
SPELT |= {letter: place for place, letter in enumerate(LETTERS, start=1)}
ORDINAL = rf"[1-9](?:st|nd|rd|th)\b|\b(?:{'|'.join(word for words in WORDS.values() for word in words)})\b"
LETTER = rf"(?:(?<=\s)|^)[{LETTERS}](?=[:.)-]|$)|(?<=\w\s)[{LETTERS}](?=\s)"
"""A letter that stands alone, at the end, before a sign or between two words."""
NUMBER = rf"(?:[1-9](?:st|nd|rd|th)?|{'|'.join(SPELT)})"
"""What may stand where a pattern of a map says {n}."""


@cache
def _kinds() -> dict[str, frozenset[str]]:
    """The single words of each kind, in every language, without accents."""
    found: dict[str, set[str]] = {}
    for by_kind in spoken_section("stage_words").values():
        for kind, said in by_kind.items():
            found.setdefault(kind, set()).update(way for word in said for way in ways(word))
    return {kind: frozenset(said) for kind, said in found.items()}


def _said(heading: str) -> set[str]:
    spoken = set(bare_words(heading).split())
    return {kind for kind, words in _kinds().items() if spoken & words}


@cache
def count_meaning(heading: str) -> str:
    """What of one dam's newborns a heading's words count; "dead" and "alive" where they do not say when; "" if none.

    >>> count_meaning("No. dropped"), count_meaning("Dropped dead"), count_meaning("Kids dead before weaning")
    ('newborns_born', 'newborns_born_dead', 'newborns_died')
    >>> count_meaning("Live kids"), count_meaning("Tailed"), count_meaning("Wormed")
    ('alive', 'newborns_reared', '')
    """
    said = _said(heading)
    born, reared = "born" in said, bool(said & {"marked", "weaned"})
    if "date" in said or said & {"dry", "scanned", "joined"} or ("dams" in said and "newborns" not in said):
        return ""
    if "stillborn" in said or ("dead" in said and born and "alive" not in said):
        return "newborns_born_dead"
    if "dead" in said:
        return "newborns_died" if "later" in said or reared else "dead"
    if "alive" in said:
        return "newborns_born_alive" if born else "newborns_reared" if reared else "alive"
    if reared:
        return "newborns_reared"
    return "newborns_born" if born or said >= {"total", "newborns"} else ""


@cache
def mob_meaning(heading: str) -> str:
    """The column of mobs that the words of a heading speak of; "" where they speak of none, or of several.

    >>> mob_meaning("No. of ewes to tup"), mob_meaning("Carrying trips"), mob_meaning("Ewes lost in year")
    ('joined', 'scanned_triplet', 'dams_died')
    >>> mob_meaning("Twin lambs tailed"), mob_meaning("Shepherd")
    ('', '')
    """
    said = _said(heading)
    classes = [one for one in CLASSES if one in said]
    stages = [one for one in STAGES if one in said]
    if "date" in said:
        return f"{stages[0]}_on" if len(stages) == 1 and stages[0] in DATED else ""
    if "dead" in said:
        return _dead(said, stages)
    if classes:
        counts_dams = not set(stages) - {"scanned"} and not ("newborns" in said and "dams" not in said)
        return f"scanned_{classes[0]}" if len(classes) == 1 and counts_dams else ""
    if stages:
        return _stage(said, stages)
    for kind in ("mob", "season"):
        if kind in said:
            return kind
    return ""


def _dead(said: set[str], stages: list[str]) -> str:
    if "dams" in said and "newborns" not in said and set(stages) <= {"weaned"}:
        return "dams_died"
    return "born_dead" if stages == ["born"] else ""


def _stage(said: set[str], stages: list[str]) -> str:
    if stages == ["scanned"] and "newborns" in said and "dams" not in said:
        return "foetuses"
    if set(stages) == {"foetuses", "scanned"}:
        return "foetuses"
    of_newborns = set(stages) & {"weaned", "marked", "born", "foetuses"}
    if len(stages) > 1 or (of_newborns and "dams" in said and "newborns" not in said):
        return ""
    return stages[0]


def number_of(text: str) -> int:
    """The number that such a word means.

    >>> number_of("2"), number_of("2nd"), number_of("second"), number_of("b")
    (2, 2, 2, 2)
    """
    return SPELT.get(text) or int(text[0])


def numbers_spelt(spoken: str) -> str:
    """A heading in small letters with the number of its newborn as a digit.

    >>> numbers_spelt("2nd lamb sex"), numbers_spelt("first kid"), numbers_spelt("lamb b"), numbers_spelt("a: sex")
    ('2 lamb sex', '1 kid', 'lamb 2', '1: sex')
    >>> numbers_spelt("kid c weight")
    'kid 3 weight'
    """
    return re.sub(f"{ORDINAL}|{LETTER}", lambda found: str(number_of(found[0])), spoken)


def pattern_of(heading: str) -> str:
    """A heading with {n} where the number of a newborn stands; as it is where none does.

    >>> pattern_of("Lamb 2 sex"), pattern_of("2nd lamb wt"), pattern_of("B: weight"), pattern_of("Weight")
    ('Lamb {n} sex', '{n} lamb wt', '{n}: weight', 'Weight')
    >>> pattern_of("Kid B kg")
    'Kid {n} kg'
    """
    for number in (ORDINAL, r"[1-9](?=\D*$)", LETTER):
        if re.search(number, heading, re.IGNORECASE):
            return re.sub(number, "{n}", heading, count=1, flags=re.IGNORECASE)
    return heading
