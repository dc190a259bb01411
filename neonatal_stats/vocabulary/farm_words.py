"""How farms write headings and words, in twelve languages: the files of the folder `spoken`, one a language.

A heading is *sure* where every language that knows it means the same column: the readers take it as it stands. What
means one thing in one language and another in the next, or several things at once ("Date", "Status"), is only offered
to the draft of a map, which looks at the cells. Letters are compared with their accents first and without them next.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

from neonatal_stats.vocabulary import columns
from neonatal_stats.vocabulary.columns import Column, heading_of
from neonatal_stats.vocabulary.spelling import accented_words, bare_words, ways, words
from neonatal_stats.vocabulary.units import plain_unit, turn

LONGEST = 200
IN_BRACKETS = words("""
    y n yes no j o m f w v h s t b e r u x ja nein nee nej nei oui non si sim nao tak nie dd mm yy yyyy jj jjjj aa
    aaaa tt rr rrrr hh ss 24h 24 1 2 3 4 5 0 date datum optional am pm id tag eid
""")
Word = TypeVar("Word", str, int)
ROLES = {"newborn": "newborn_id", "dam": "dam_id", "sire": "sire_id"}
AGE = "age_at_death"
ENDS = {"h": "_h", "min": "_h", "d": "_d", "weeks": "_d"}
"""The end of the column that keeps an age, by the unit of its numbers."""
AT_SAMPLING = ("age_at_sampling_d", "age_at_sampling_h")
SECTION = {table: "headings" if table == "births" else table for table in columns.TABLES}
PERHAPS = {"births": "perhaps"} | {table: f"perhaps_{table}" for table in columns.LISTS}
"""The sections of headings that only the draft of a map places, by their cells."""
OF_THE_BIRTH = ("farm", "species", "dam_parity", "litter_size", "delivery")
"""Columns of further tables whose unsure headings are those of births."""
SAME_WORDS = {"keeper_cause": "cause"}
"""Columns that take the words of another."""


@cache
def _files() -> dict[str, dict[str, Any]]:
    """Every language's file by its code, English first."""
    folder = files("neonatal_stats.vocabulary").joinpath("spoken")
    names = sorted(found.name for found in folder.iterdir() if found.name.endswith(".toml"))
    names.sort(key=lambda name: name != "en.toml")
    return {
        name.removesuffix(".toml"): tomllib.loads(folder.joinpath(name).read_text(encoding="utf-8"))
        for name in names
    }


def spoken_section(name: str) -> dict[str, dict[str, Any]]:
    """One section of every language's file that has it, by the language's code."""
    return {tongue: spoken[name] for tongue, spoken in _files().items() if name in spoken}


Meanings = dict[str, dict[str, set[str]]]
"""Key of a heading: columns that it may mean, each with the languages that say so."""


@dataclass(frozen=True)
class _Index:
    accented: Meanings
    folded: Meanings

    def enter(self, heading: str, column: str, tongue: str) -> None:
        self.accented.setdefault(accented_words(heading), {}).setdefault(column, set()).add(tongue)
        for way in ways(heading):
            self.folded.setdefault(way, {}).setdefault(column, set()).add(tongue)

    def of(self, heading: str) -> dict[str, set[str]]:
        """With its accents where it has any and is known so, else without."""
        exact, plain = (
            self.accented.get(accented_words(heading), {}),
            self.folded.get(bare_words(heading), {}),
        )
        return exact if exact and not heading.isascii() else plain


@cache
def _index(table: str, section: str) -> _Index:
    index = _Index({}, {})
    for column in columns.TABLES[table] if section == SECTION[table] else ():
        for heading in (
            (column.name, heading_of(column).partition(" (")[0]) if not column.name.startswith(AGE) else ()
        ):
            index.enter(heading.replace("_", " "), column.name, "en")
    known = {column.name for column in columns.TABLES[table]}
    for tongue, spoken in _files().items():
        for name, headings in _headings(table, section, spoken):
            for heading in headings:
                index.enter(heading, name, tongue)
        if section == SECTION[table] and table in ("births", *columns.LISTS):
            for role, noun in _nouns(spoken):
                if ROLES[role] in known:
                    index.enter(noun, ROLES[role], tongue)
    return index


def _headings(table: str, section: str, spoken: Mapping[str, Any]) -> Iterator[tuple[str, list[str]]]:
    """A section's headings by column; a table that stands alone is also spoken of as births are, but for its own."""
    own = spoken.get(section, {})
    yield from own.items()
    if table not in columns.LISTS:
        return
    sure = section == SECTION[table]
    names = {column.name for column in columns.TABLES[table]} - set(columns.OWN_WORDS)
    taken = {heading for headings in own.values() for heading in headings}
    for name, headings in spoken.get(SECTION["births"] if sure else PERHAPS["births"], {}).items():
        if name in names and (sure or name in OF_THE_BIRTH):
            yield name, [heading for heading in headings if heading not in taken]


def _nouns(spoken: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for by_role in spoken.get("nouns", {}).values():
        for role, nouns in by_role.items():
            for noun in nouns:
                yield role, noun


@cache
def _id_words() -> frozenset[str]:
    return frozenset(
        word
        for spoken in _files().values()
        for phrase in spoken.get("id", {}).get("words", ())
        for way in ways(phrase)
        for word in way.split()
    )


def is_identity(words: str) -> bool:
    """True for words that name an identity alone: "tag", "ear tag no", "Ohrmarke"."""
    return bool(words.strip()) and all(word in _id_words() for word in bare_words(words).split())


@cache
def newborn_nouns() -> tuple[str, ...]:
    """Words for a newborn in every language, without accents, the longest first."""
    nouns = {
        way
        for spoken in _files().values()
        for role, noun in _nouns(spoken)
        if role == "newborn"
        for way in ways(noun)
    }
    return tuple(sorted(nouns, key=lambda noun: (-len(noun), noun)))


def _of_animal(heading: str) -> dict[str, set[str]]:
    """ "Lamb tag", "Rhif oen", "Lammnummer": a word for an animal beside or joined to a word for an identity."""
    words = bare_words(heading).split()
    rest = [word for word in words if word not in _id_words()]
    animals = _index("births", "headings").folded
    if rest and len(rest) < len(words):
        return _only_animals(animals.get(" ".join(rest), {}))
    for sign in range(2, len(words[0])) if len(words) == 1 else ():
        stem, end = words[0][:sign], words[0][sign:]
        if end in _id_words() and len(end) > 1:
            for joined in (stem, stem.removesuffix("e"), stem.removesuffix("s")):
                if found := _only_animals(animals.get(joined, {})):
                    return found
    return {}


def _only_animals(found: dict[str, set[str]]) -> dict[str, set[str]]:
    return {column: tongues for column, tongues in found.items() if column in ROLES.values()}


def _meanings(table: str, heading: str, section: str) -> dict[str, set[str]]:
    if found := _index(table, section).of(heading):
        return found
    animal = _of_animal(heading) if section != PERHAPS.get(table) else {}
    return {
        name: by for name, by in animal.items() if name in {column.name for column in columns.TABLES[table]}
    }


def _splits(heading: str) -> Iterator[tuple[str, str]]:
    """The heading with what may be a unit taken off its end; then as a whole; then without a remark in brackets."""
    spoken = heading.strip()[:LONGEST]
    if found := re.fullmatch(r"(.+?)[\s,;:]*[(\[{]\s*(?:in\s+)?([^()\[\]{}]*?)\s*[)\]}]\s*", spoken):
        yield found[1], found[2]
        if set(bare_words(found[2]).split()) <= IN_BRACKETS:
            yield found[1], ""
    if found := re.fullmatch(r"(.+?)[\s,_-]+(?:in[\s_]+)?([^\s_,]+?)\.?", spoken):
        yield found[1], found[2]
    yield spoken, ""


@dataclass(frozen=True)
class Meaning:
    """The column that a heading means and the unit that it names ("" = none)."""

    column: str
    unit: str = ""


@cache
def sure_meaning(table: str, heading: str) -> Meaning | None:
    """The one column that a heading means in every language that knows it, or None.

    >>> sure_meaning("births", "Geburtsgewicht (g)"), sure_meaning("births", "Fecha de nacimiento")
    (Meaning(column='birth_weight_kg', unit='g'), Meaning(column='born_at', unit=''))
    >>> sure_meaning("births", "Date") is None
    True
    """
    for text, unit in _splits(heading):
        meant = _meanings(table, text, SECTION[table])
        found = {_in_unit(table, name, unit) for name in meant if unit or len(meant) == 1}
        if len(found) == 1 and (only := next(iter(found))):
            return only
    return None


def _in_unit(table: str, name: str, unit: str) -> Meaning | None:
    """A column with its unit; None where it knows no such unit. An age at death takes the column of its unit."""
    if name == AGE and unit:
        ending = ENDS.get(plain_unit(unit), "")
        return Meaning(AGE + ending, plain_unit(unit)) if ending else None
    if unit and turn(known_column(table, name), unit) is None:
        return None
    return Meaning(_of_that_unit(table, name, unit), plain_unit(unit) if unit else "")


def _of_that_unit(table: str, name: str, unit: str) -> str:
    """Of an age that may be kept in hours or in whole days, the column of its unit."""
    stem, end = name[:-2], ENDS.get(plain_unit(unit), "") if unit else ""
    known = {column.name for column in columns.TABLES[table]}
    return stem + end if end and {stem + "_h", stem + "_d"} <= known else name


def known_column(table: str, name: str) -> Column:
    """A column of a table, or one of those that only the readers know."""
    also = (*columns.COUNTS, *columns.ALSO_READ) if table == "births" else ()
    found: Column = next(column for column in (*columns.TABLES[table], *also) if column.name == name)
    return found


def possible_meanings(table: str, heading: str, tongues: tuple[str, ...] = ()) -> tuple[Meaning, ...]:
    """Every column that a heading may mean; where the sheet's languages know it, those that they say."""
    for text, unit in _splits(heading):
        both = _gathered(
            (column, tongue)
            for section in _sections(table)
            for column, by in _meanings(table, text, section).items()
            for tongue in by
        )
        meant = {column: by for column, by in both.items() if by & set(tongues)} or both
        if table == "samples" and AGE in _meanings("births", text, PERHAPS["births"]):
            meant = meant | {name: set() for name in AT_SAMPLING}  # a bare "age" says no unit
        found = dict.fromkeys(known for column in meant if (known := _in_unit(table, column, unit)))
        if found:
            return tuple(found)
    return ()


def _gathered(said: Iterable[tuple[str, Word]]) -> dict[str, set[Word]]:
    """Everything that each spelling may mean."""
    meant: dict[str, set[Word]] = {}
    for way, word in said:
        meant.setdefault(way, set()).add(word)
    return meant


def _only(said: Iterable[tuple[str, Word]]) -> dict[str, Word]:
    """What each spelling means that means one thing alone."""
    return {way: next(iter(words)) for way, words in _gathered(said).items() if len(words) == 1}


@cache
def spoken_headings(table: str, tongues: tuple[str, ...]) -> dict[str, str]:
    """Every heading of a table without accents, in these languages (none = any), with the one column that it means."""
    return _only(
        (way, name)
        for section in _sections(table)
        for way, meant in _index(table, section).folded.items()
        for name, by in meant.items()
        if not tongues or by & set(tongues)
    )


MOST_WORDS_MORE = 2


@cache
def near_by_words(table: str, heading: str) -> tuple[str, ...]:
    """The columns that a heading with a word or two more than one that is known may mean: "Feet walked on"."""
    text = next(iter(_splits(heading)))[0]
    spoken = set(bare_words(text).split())
    found: dict[str, int] = {}
    for known, meant in _index(table, SECTION[table]).folded.items():
        words_ = set(known.split())
        if len(meant) == 1 and words_ < spoken and len(spoken - words_) <= MOST_WORDS_MORE:
            found.setdefault(next(iter(meant)), max(len(word) for word in words_))
    return tuple(name for name in sorted(found, key=lambda name: -found[name]) if found[name] > 2)[:3]


@cache
def animals_and_groups() -> tuple[frozenset[str], frozenset[str]]:
    """Words for a dam, and for a group of animals or all of them, without accents."""
    dams, groups = set[str](), set[str]()
    for spoken in _files().values():
        dams |= {way for role, noun in _nouns(spoken) if role == "dam" for way in ways(noun)}
        said = [*spoken.get("headings", {}).get("group", ()), *spoken.get("perhaps", {}).get("group", ())]
        groups |= {way for word in said for way in ways(word) if " " not in way}
        groups |= {way for word in spoken.get("all", {}).get("words", ()) for way in ways(word)}
    return frozenset(dams), frozenset(groups)


def _sections(table: str) -> tuple[str, ...]:
    return (SECTION[table], PERHAPS[table]) if table in PERHAPS else (SECTION[table],)


def tongues_of(headings: Iterable[str]) -> tuple[str, ...]:
    """The languages that know most of a sheet's headings."""
    counted: Counter[str] = Counter()
    for heading in headings:
        for text, _ in _splits(heading):
            meant = {**_meanings("births", text, "perhaps"), **_meanings("births", text, "headings")}
            if meant:
                counted.update(set().union(*meant.values()))
                break
    most = max(counted.values(), default=0)
    return tuple(tongue for tongue in _files() if counted[tongue] == most > 0)


@cache
def _left_out() -> frozenset[str]:
    return frozenset(
        way
        for spoken in _files().values()
        for heading in spoken.get("left_out", {}).get("headings", ())
        for way in ways(heading)
    )


def is_no_column(heading: str) -> bool:
    """True for headings of things that no column holds, such as the weight at weaning."""
    return any(bare_words(text) in _left_out() for text, _ in _splits(heading))


@cache
def counts() -> dict[str, str]:
    """What a heading of numbers counts: newborns born, born dead and so on; "dead" where it is not clear whom."""
    return _only(
        (way, name)
        for spoken in _files().values()
        for name, headings in spoken.get("counts", {}).items()
        for heading in headings
        for way in (accented_words(heading), *ways(heading))
    )


def count_meant(heading: str) -> str | None:
    """What a column of this heading would count if it held numbers, or None."""
    return counts().get(accented_words(heading)) or counts().get(bare_words(heading))


Words = dict[str, str]


@cache
def words_of(column: Column, tongues: tuple[str, ...] = (), perhaps: bool = False) -> Words:
    """Farms' words for a column's own words, by the word without capitals and signs.

    A word that two languages use for different things is left out unless ``tongues`` names the sheet's languages;
    ``perhaps`` adds those that only a draft should offer.
    """
    own = SAME_WORDS.get(column.name, column.name)
    names = dict.fromkeys(("yes_no" if column.kind == "yes_no" else own, own))
    return _only(
        (spelt, word)
        for tongue, spoken in _files().items()
        if not tongues or tongue in tongues
        for section in (("words", "perhaps_words") if perhaps else ("words",))
        for name in names
        for word, said in spoken.get(section, {}).get(name, {}).items()
        if word in column.words
        for way in said
        for spelt in (_accented_word(way), *ways(way))
    )


def _accented_word(word: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", word).casefold().split())


@cache
def litter_sizes() -> dict[str, tuple[int, ...]]:
    """Words for a litter, without accents: how many newborns they may mean ("t" is a twin, or a triplet)."""
    meant = _gathered(
        (way, int(size))
        for spoken in _files().values()
        for size, words in spoken.get("litter", {}).items()
        for word in words
        for way in (_accented_word(word), *ways(word))
    )
    return {way: tuple(sorted(sizes)) for way, sizes in meant.items()}


@cache
def months() -> dict[str, int]:
    """Names of months in every language, with and without accents, by number."""
    return _only(
        (way, number)
        for spoken in _files().values()
        for number, names in enumerate(spoken["months"]["words"], start=1)
        for name in names
        for way in (name, *ways(name))
    )


@cache
def weekdays() -> frozenset[str]:
    """Names of days of the week in every language, with and without accents."""
    return frozenset(
        way
        for spoken in _files().values()
        for name in spoken.get("weekdays", {}).get("words", ())
        for way in (name, *ways(name))
    )


@cache
def _species_nouns() -> dict[str, str]:
    """Words for an animal that only one species has, with the species."""
    only = _only(
        (way, species)
        for spoken in _files().values()
        for species, by_role in spoken.get("nouns", {}).items()
        for nouns in by_role.values()
        for noun in nouns
        for way in ways(noun)
    )
    return {way: species for way, species in only.items() if species != "any"}


def species_spoken_of(texts: Iterable[str]) -> str:
    """The one species that headings or names of sheets speak of ("Ewe", "Lammnummer"), or ""."""
    found = Counter[str]()
    for text in texts:
        words = [word for word in bare_words(text).split() if word not in _id_words()]
        several = {word.removesuffix("s") for word in words if word.endswith("s") and word != "does"}
        kinds = {_species_nouns().get(word) for word in {*words, *several}} - {None}
        found.update(kind for kind in kinds if kind)
    return next(iter(found)) if len(found) == 1 else ""
