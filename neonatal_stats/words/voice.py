"""The voice of one report: its language, its spelling, its species' own words, its numbers; and what it says.

One animal is no several: a template is written once, for several ("{n} {newborns} are undecided."). Where the count
that is filled in is 1, the noun after it, and a verb right before or after both, take the singular; its other words
stay.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Protocol

from neonatal_stats.season.settings import Settings
from neonatal_stats.tables.printing import NumberWords, Printer
from neonatal_stats.vocabulary import species as animals
from neonatal_stats.vocabulary.languages import ENGLISH, language_file, languages, regional
from neonatal_stats.vocabulary.terms import SEASON_NOT_RECORDED

UNDATED = "the undated season"
"""What a season is called of which neither a date nor a name was written."""


@dataclass(frozen=True)
class Catalogue:
    """A language file: its templates, its species' words in the order of its forms, its words in numbers.

    ``problems`` are the sentences of the set-aside list, see `words.problems`; ``one_noun`` and ``one_verb`` are the
    singular of words that stand beside a count, see `of_one`.
    """

    templates: dict[str, str]
    problems: dict[str, str]
    forms: tuple[str, ...]
    species: Mapping[str, tuple[str, ...]]
    numbers: NumberWords
    one_noun: Mapping[str, str]
    one_verb: Mapping[str, str]


@cache
def catalogue(language: str) -> Catalogue:
    """The catalogue of a language; for English it has no templates, since they stand in the code."""
    if language == ENGLISH:
        return Catalogue({}, {}, animals.FORMS, animals.ENGLISH, NumberWords(), ENGLISH_NOUNS, ENGLISH_VERBS)
    if language not in languages():
        raise ValueError(f"language: there is no file for {language!r}; there are {', '.join(languages())}")
    file = tomllib.loads(language_file(language).read_text(encoding="utf-8"))
    species = {name: tuple(words) for name, words in file["species"].items()}
    forms = species.pop("forms", animals.FORMS)
    numbers = NumberWords(**file["numbers"])
    one = (file.get("one_noun", {}), file.get("one_verb", {}))
    return Catalogue(file["templates"], file["problems"], forms, species, numbers, *one)


class Said(str):
    """A text with the English ``template`` it was made from and the ``values``, as printed, that were filled in.

    A value may itself have been said. Everywhere else it is the text it shows.
    """

    template: str
    values: Mapping[str, str]

    def __new__(cls, text: str, template: str = "", values: Mapping[str, str] | None = None) -> Said:
        said = super().__new__(cls, text)
        said.template, said.values = template, dict(values or {})
        return said

    def filled(self) -> Iterator[tuple[str, str]]:
        """Name and printed value of everything that was filled in, through all that was said inside it.

        >>> once = Said("3 of 7 twins", "{counts} {who}", {"counts": "3 of 7", "who": Said("twins", "twins")})
        >>> list(Said("Lost: 3 of 7 twins", "Lost: {lost}", {"lost": once}).filled())
        [('counts', '3 of 7')]
        """
        for name, value in self.values.items():
            if isinstance(value, Said):
                yield from value.filled()
            else:
                yield name, value


@dataclass(frozen=True)
class Voice(Printer):
    """How a report speaks, and how it prints numbers: ``voice.say("{a} of age", a=voice.age(6))``.

    ``species`` is "" where several species stand together. ``windows`` are the ends of the windows of loss in hours,
    each with the name that the settings give it: such an age has that name wherever it is printed. ``region`` is whose
    words of the trade are used, in English.
    """

    number_words: NumberWords = field(init=False, repr=False, compare=False)
    language: str = ENGLISH
    spelling: str = "british"
    species: str = ""
    windows: tuple[tuple[float, str], ...] = ()
    region: str = ""
    _animals: dict[str, str] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        spoken = catalogue(self.language)
        words = spoken.species.get(self.species, spoken.species[""])
        named = dict(zip(spoken.forms, words, strict=True))
        named |= regional(self.region, self.species) if self.language == ENGLISH else {}
        capital = {key.capitalize(): word[:1].upper() + word[1:] for key, word in named.items()}
        object.__setattr__(self, "_animals", named | capital)
        object.__setattr__(self, "number_words", spoken.numbers)

    def say(self, template: str, **values: str) -> str:
        """The template in this voice, with the species' words and the printed values filled in.

        Values arrive printed (by this voice). Headings write {Newborns} where they want a capital; a whole
        sentence that starts with a placeholder gets its capital by itself. A noun beside a count of 1 is said in the
        singular, and a season without a name as such. The text is a `Said`.

        >>> Voice(species="sheep").say("{n} {newborns} are undecided.", n="1")
        '1 lamb is undecided.'
        """
        spoken = self._spoken(template)
        if "1" in values.values():
            known = catalogue(self.language)
            spoken = of_one(spoken, values, known.one_noun, known.one_verb)
        shown = {name: self.word(value) for name, value in values.items()}
        text = spoken.format(**{**self._animals, **shown})
        whole = spoken[:1] == "{" and template[-1:] in ".?!"
        return Said(text[:1].upper() + text[1:] if whole else text, template, values)

    def word(self, text: str) -> str:
        """A text of the records as it is said; only what stands for a season without a name is not the farm's."""
        return self.say(UNDATED) if text == SEASON_NOT_RECORDED else text

    def _spoken(self, template: str) -> str:
        if self.language == ENGLISH:
            return american(template) if self.spelling == "american" else template
        return catalogue(self.language).templates.get(template, template)

    def _age(self, age_h: float) -> tuple[str, str]:
        """The number and its unit, as a window that ends then is named; see `Printer.age`.

        >>> Voice(windows=((48.0, "48 h"),)).age_span(24, 48)
        '24 to 48\\xa0h'
        """
        named = dict(self.windows).get(age_h)
        if named is None:
            return super()._age(age_h)
        number, _, unit = named.rpartition(" ")
        return number, unit


def joined(texts: Iterable[str], between: str = " ") -> str:
    """Several texts one after the other; what each of them said is kept.

    >>> joined(["Lost: 3.", "Born: 7."])
    'Lost: 3. Born: 7.'
    """
    parts = list(texts)
    names = [f"part_{place}" for place in range(len(parts))]
    template = between.join(f"{{{name}}}" for name in names)
    return Said(between.join(parts), template, dict(zip(names, parts, strict=True)))


class Spoken(Protocol):
    """Whatever can be spoken of: a season, and the result of a chapter."""

    @property
    def settings(self) -> Settings: ...

    @property
    def species(self) -> str: ...


def voice_of(spoken_of: Spoken) -> Voice:
    """The voice in which a season, or a chapter's result, is put into words."""
    settings = spoken_of.settings
    windows = tuple((hour, name) for name, hour in settings.windows_h.items())
    return _voice(settings.language, settings.spelling, spoken_of.species, windows, settings.region)


_voice = cache(Voice)

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


AMERICAN = {
    "behaviour": "behavior",
    "caesarean": "cesarean",
    "caesareans": "cesareans",
    "centre": "center",
    "colour": "color",
    "fibre": "fiber",
    "foetus": "fetus",
    "foetuses": "fetuses",
    "grey": "gray",
    "haemorrhage": "hemorrhage",
    "judgement": "judgment",
    "labour": "labor",
    "litre": "liter",
    "litres": "liters",
    "metre": "meter",
    "metres": "meters",
    "neighbour": "neighbor",
    "neighbours": "neighbors",
    "programme": "program",
    "recognised": "recognized",
    "standardisation": "standardization",
    "standardise": "standardize",
    "standardised": "standardized",
    "standardising": "standardizing",
    "summarised": "summarized",
    "towards": "toward",
}


@cache
def american(template: str) -> str:
    """An English template in American spelling and words; the placeholders in braces stay as they are.

    >>> american("Caesarean: {colour} is standardised.")
    'Cesarean: {colour} is standardized.'
    >>> american("Ask a veterinary surgeon.")
    'Ask a veterinarian.'
    """
    template = template.replace("veterinary surgeon", "veterinarian")
    return "".join(part if part[:1] == "{" else re.sub("[A-Za-z]+", _word, part)
                   for part in re.split(r"(\{[^}]*\})", template))  # fmt: skip


def _word(match: re.Match[str]) -> str:
    word = match.group()
    other = AMERICAN.get(word.lower(), word)
    return other.capitalize() if word[0].isupper() and other != word else other
