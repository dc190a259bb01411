"""How a heading numbers the newborns of a row: "Lamb 2 sex", "2nd lamb", "second kid", "B: sex", "Kid B sex"."""

from __future__ import annotations

import re

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
