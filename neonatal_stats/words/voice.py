"""The voice of one report: its language, its spelling and its species' own words.

Every text that a person reads is an English template given to `Voice.say`; a language file holds the same
templates with their translation, so that one file is the whole vocabulary.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from functools import cache
from importlib import resources

from neonatal_stats.words import species as animals

AMERICAN = {
    "colour": "color",
    "grey": "gray",
    "labour": "labor",
    "standardised": "standardized",
    "standardisation": "standardization",
    "recognised": "recognized",
    "litre": "liter",
    "litres": "liters",
    "caesarean": "cesarean",
    "caesareans": "cesareans",
    "programme": "program",
    "centre": "center",
    "behaviour": "behavior",
    "haemorrhage": "hemorrhage",
}


@cache
def catalogue(language: str) -> dict[str, dict[str, str]]:
    """The language file: tables `templates` and `species`; empty for English."""
    if language == "en":
        return {"templates": {}}
    path = resources.files("neonatal_stats.words") / "languages" / f"{language}.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


@dataclass(frozen=True)
class Voice:
    """How a report speaks. ``species`` is "" where several species stand together."""

    language: str = "en"
    spelling: str = "british"
    species: str = ""
    _animals: dict[str, str] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        spoken = animals.ENGLISH if self.language == "en" else catalogue(self.language)["species"]
        words = spoken.get(self.species, spoken[""])
        named = dict(zip(animals.KEYS, words, strict=True))
        capital = {key.capitalize(): word[:1].upper() + word[1:] for key, word in named.items()}
        object.__setattr__(self, "_animals", named | capital)

    def say(self, template: str, **values: str) -> str:
        """The template in this voice, with the species' words and the printed values filled in.

        Values arrive printed (by `tables.printing`). Headings write {Newborns} where they want a capital; a whole
        sentence that starts with a placeholder gets its capital by itself.
        """
        spoken = catalogue(self.language)["templates"].get(template, template)
        text = spoken.format(**{**self._animals, **values})
        if self.language == "en" and self.spelling == "american":
            text = re.sub(r"[A-Za-z]+", _american, text)
        whole = template[:1] == "{" and template[-1:] in ".?!"
        return text[:1].upper() + text[1:] if whole else text


def _american(match: re.Match[str]) -> str:
    word = match.group()
    other = AMERICAN.get(word.lower(), word)
    return other.capitalize() if word[0].isupper() and other != word else other
