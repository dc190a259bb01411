"""Letters compared without capitals and accents: whole texts of cells, and the bare words of headings."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "æ": "ae", "ß": "ss", "đ": "d", "ð": "d", "þ": "th", "œ": "oe", "’": "'", "`": "'"}
)
TWO_LETTERS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ø": "oe", "å": "aa"})


def words(text: str) -> frozenset[str]:
    """The words of a text that are parted by spaces."""
    return frozenset(text.split())


LITTLE = words("""
    of the de del la le les el los las du des da do dos das di della delle dei dell dello der den det
    dem van het een yr i av af au aux al alla in im na o y s
""")


def unaccented(text: str) -> str:
    """Small letters without their accents and strokes."""
    if text.isascii():
        return text.replace("`", "'")
    plain = unicodedata.normalize("NFKD", text.translate(LETTERS))
    return "".join(sign for sign in plain if not unicodedata.combining(sign))


def plain_word(word: str) -> str:
    """A word without capitals, doubled spaces, underscores and a closing point.

    >>> plain_word(" Still_born. "), plain_word("A")
    ('still born', 'a')
    """
    return " ".join(word.replace("_", " ").casefold().split()).removesuffix(".")


@lru_cache(10_000)
def folded(text: str) -> str:
    """Text without capitals, accents, underscores, doubled spaces and closing signs.

    >>> folded(" Mort-né ! "), folded("DØD"), folded("żyje.")
    ('mort-ne', 'dod', 'zyje')
    """
    return " ".join(unaccented(text.casefold()).replace("_", " ").split()).strip(" .!,;:\"'")


@lru_cache(10_000)
def bare_words(text: str) -> str:
    """Words without capitals, accents and signs.

    >>> bare_words("Fødselsdato"), bare_words("N° agneau"), bare_words("date de naissance")
    ('fodselsdato', 'n agneau', 'date naissance')
    """
    return _words_alone(unaccented(_small(text)))


def accented_words(text: str) -> str:
    """The same with their accents."""
    return _words_alone(_small(text))


def ways(text: str) -> set[str]:
    """The unaccented ways to write a word: "größe" is "grosse" and "groesse"."""
    return {bare_words(text), bare_words(text.casefold().translate(TWO_LETTERS))}


def _small(text: str) -> str:
    return unicodedata.normalize("NFKC", text.replace("°", " ").replace("º", " ")).casefold()


def _words_alone(text: str) -> str:
    """Words alone, without signs and without articles before other words ("died on" and "mort le" stay)."""
    text = re.sub(r"\b(?:d|l|dell|all|nell)['’`´]", " ", text)
    words = "".join(sign if sign.isalnum() else " " for sign in text).split()
    return " ".join([*(word for word in words[:-1] if word not in LITTLE), *words[-1:]])
