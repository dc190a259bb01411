"""The voice of one report: its language, its spelling and its species' own words.

Every text that a person reads is an English template given to `Voice.say`; a language file holds the same
templates with their translation, so that one file is the whole vocabulary.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from functools import cache

from neonatal_stats.tables.number_words import NumberWords, numbers_in
from neonatal_stats.vocabulary.languages import ENGLISH, language_file, languages
from neonatal_stats.words import species as animals
from neonatal_stats.words.spelling import american


@dataclass(frozen=True)
class Catalogue:
    """A language file: its templates, its species' words in the order of its forms, its words in numbers.

    ``problems`` are the sentences of the set-aside list, see `words.problems`.
    """

    templates: dict[str, str]
    problems: dict[str, str]
    forms: tuple[str, ...]
    species: Mapping[str, tuple[str, ...]]
    numbers: NumberWords


@cache
def catalogue(language: str) -> Catalogue:
    """The catalogue of a language; for English it has no templates, since they stand in the code."""
    if language == ENGLISH:
        return Catalogue({}, {}, animals.KEYS, animals.ENGLISH, NumberWords())
    if language not in languages():
        raise ValueError(f"language: there is no file for {language!r}; there are {', '.join(languages())}")
    file = tomllib.loads(language_file(language).read_text(encoding="utf-8"))
    species = {name: tuple(words) for name, words in file["species"].items()}
    forms = species.pop("forms", animals.KEYS)
    return Catalogue(file["templates"], file["problems"], forms, species, NumberWords(**file["numbers"]))


@dataclass(frozen=True)
class Voice:
    """How a report speaks. ``species`` is "" where several species stand together."""

    language: str = "en"
    spelling: str = "british"
    species: str = ""
    _animals: dict[str, str] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        spoken = catalogue(self.language)
        words = spoken.species.get(self.species, spoken.species[""])
        named = dict(zip(spoken.forms, words, strict=True))
        capital = {key.capitalize(): word[:1].upper() + word[1:] for key, word in named.items()}
        object.__setattr__(self, "_animals", named | capital)

    def say(self, template: str, **values: str) -> str:
        """The template in this voice, with the species' words and the printed values filled in.

        Values arrive printed (by `tables.printing`). Headings write {Newborns} where they want a capital; a whole
        sentence that starts with a placeholder gets its capital by itself.
        """
        spoken = self._spoken(template)
        text = spoken.format(**{**self._animals, **values})
        whole = spoken[:1] == "{" and template[-1:] in ".?!"
        return text[:1].upper() + text[1:] if whole else text

    def _spoken(self, template: str) -> str:
        if self.language == ENGLISH:
            return american(template) if self.spelling == "american" else template
        return catalogue(self.language).templates.get(template, template)

    def numbers(self) -> AbstractContextManager[None]:
        """Inside this block numbers are printed in the voice's language."""
        return numbers_in(catalogue(self.language).numbers)
