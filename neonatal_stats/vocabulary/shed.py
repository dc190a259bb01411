"""The sheet for the shed: its fields, how wide each is on paper, and the codes to ring, in each language that has them.

One line holds a litter, its newborns side by side as a, b and c; what became of a dead one stands on a slip of its own.
The codes are this package's own and stand, with the headings, under ``[shed]`` and ``[shed_codes]`` in the files of
`spoken`: what writes the sheet and what reads it take them from there, so that neither can drift from the other. A
column that is kept only to group by needs none: it stands there under its own name.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache

from neonatal_stats.vocabulary.columns import Column, column, heading_of
from neonatal_stats.vocabulary.factors import KEPT_TO_GROUP
from neonatal_stats.vocabulary.farm_words import spoken_section
from neonatal_stats.vocabulary.species import SPECIES

LETTERS = "abc"
"""The newborns of one line; a further one takes the next line, with the same dam."""
FATE = "died"
DEAD_AT_BIRTH, DIED_LATER, ALIVE = "dead at birth", "died later", "alive"
SLIP_FIELDS: tuple[str, ...] = (
    "dam_id",
    "letter",
    "newborn_id",
    "found_dead_at",
    "last_alive_at",
    "age_at_death",
)
SLIP_FIELDS += ("lay", "cause", "cause_basis")
"""What a slip asks about a dead newborn, in its order."""


@dataclass(frozen=True)
class Field:
    """One field of a line: the column of births, its width on paper in mm, and whether littermates share it."""

    name: str
    width_mm: float
    of_litter: bool = False


SIGNS: Mapping[str, tuple[str, ...]] = {
    "feeds": ("newborn_id", "fed_at"),
    "samples": ("newborn_id", "sampled_at"),
    "weather": ("at", "temperature_c"),
}
"""Tables that stand beside litters and slips, each with the columns that its sheet is known by."""

FIELDS = (
    Field("dam_id", 15.5, True),
    Field("dam_parity", 11, True),
    Field("dam_age_y", 11, True),
    Field("dam_condition", 13, True),
    Field("sire_id", 17, True),
    Field("breed", 17, True),
    Field("group", 14, True),
    Field("born_at", 20.5, True),
    Field("gestation_d", 12, True),
    Field("birth_place", 10, True),
    *(Field(entry.name, 14, True) for entry in KEPT_TO_GROUP),
    Field("litter_size", 11, True),
    Field("newborn_id", 14),
    Field("premature", 9),
    Field("delivery", 17.5),
    Field("sex", 8),
    Field("birth_weight_kg", 10),
    Field("breathing_after_s", 11),
    Field("resuscitation", 20),
    Field("suck_reflex", 10.5),
    Field("stood_after_min", 10),
    Field("fed_after_min", 10),
    Field("meconium_after_min", 11),
    Field("handled", 9),
    Field("mothered_up", 8.5),
    Field("rectal_temperature_c", 14),
    Field("warmed", 9),
    Field("rearing", 10.5),
    Field(FATE, 11),
)
BY_NAME: Mapping[str, Field] = {one.name: one for one in FIELDS}
NEEDED = ("dam_id", "born_at", FATE)
"""Fields of every sheet: without them no newborn, no age and no outcome."""
_USUAL = "dam_id born_at newborn_id delivery sex suck_reflex fed_after_min mothered_up died"
_SINGLY = "dam_id dam_parity born_at newborn_id delivery sex birth_weight_kg suck_reflex fed_after_min died"
USUAL: Mapping[str, tuple[str, ...]] = {
    one.name: tuple((_SINGLY if one.singly else _USUAL).split()) for one in SPECIES
}
"""The fields of a species where nobody chooses; mothering-up only where newborns usually stay with the dam. Of those
that mostly bear one, a line holds one newborn, and a twin stands on the next."""


@dataclass(frozen=True)
class ShedWords:
    """Headings and codes of one language: by field, and by field and code the tidy word."""

    language: str
    headings: Mapping[str, str]
    codes: Mapping[str, Mapping[str, str]]
    sheets: Mapping[str, str] = field(default_factory=dict)
    beside: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def of_species(self, name: str) -> str:
        """What a species is called on a sheet.

        >>> shed_words("en").of_species("goat"), shed_words("de").of_species("goat")
        ('goat', 'Ziege')
        """
        return self.words.get("species", {}).get(name, name)

    def sheet(self, name: str) -> str:
        """What a sheet of the workbook is called: "litters", "slips", "help" or a table that stands beside them.

        >>> shed_words("en").sheet("feeds"), shed_words("de").sheet("feeds")
        ('feeds', 'Tränken')
        """
        return self.sheets.get(name, name)

    def heading_beside(self, table: str, column: Column) -> str:
        """The heading of a column of feeds, samples or weather."""
        return self.beside.get(table, {}).get(column.name) or heading_of(column)

    def choices(self, column: Column) -> list[str]:
        """The words that such a column is chosen from, in the sheet's language."""
        own = self.words.get(column.name, {})
        return [own.get(word, word) for word in column.words]

    def chosen(self, name: str, cell: str) -> str | None:
        """The tidy word that was chosen; None where it is none of the sheet's own.

        >>> shed_words("de").chosen("source", "vorrat")
        'stored'
        """
        known = {said.casefold(): word for word, said in self.words.get(name, {}).items()}
        return known.get(cell.strip().casefold())

    def heading(self, name: str, letter: str = "", species: str = "") -> str:
        """The heading of a field in the workbook; the codes stand in it, so that it is like no other.

        >>> shed_words("en").heading("suck_reflex", "b"), shed_words("en").heading("dam_id", species="sheep")
        ('b: suck (a w s)', 'dam (sheep)')
        """
        text = f"{letter}: {self.headings[name]}" if letter else self.headings[name]
        beside = " ".join(self.codes.get(name, ())) or (self.of_species(species) if species else "")
        return f"{text} ({beside})" if beside else text

    def meant(self, name: str, cell: str) -> str | None:
        """The tidy word (several joined with "; ") that a code or codes stand for; None where they are no codes.

        "Not by 06:30" in the sheet's language is "not by 06:30" for the readers.

        >>> shed_words("en").meant("suck_reflex", "W"), shed_words("en").meant("resuscitation", "a r")
        ('weak', 'airway cleared; stimulated')
        """
        late = re.fullmatch(rf"{self.headings['not_by']}\s*(\d.*)", cell.strip().casefold())
        if late and name.endswith("_after_min"):
            return f"not by {late[1]}"
        known = {code.casefold(): word for code, word in self.codes.get(name, {}).items()}
        parts = [part for part in re.split(r"[\s;,+/]+", cell.casefold()) if part]
        if not parts or (len(parts) > 1 and name != "resuscitation") or not set(parts) <= set(known):
            return None
        return "; ".join(known[part] for part in parts)


@cache
def shed_words(language: str) -> ShedWords:
    """The sheet's words in one language; KeyError where a language has none."""
    headings, codes = (spoken_section(name)[language] for name in ("shed", "shed_codes"))
    own = {entry.name: heading_of(column("births", entry.name)) for entry in KEPT_TO_GROUP}
    beside = (spoken_section(name).get(language, {}) for name in ("shed_sheets", "shed_beside", "shed_words"))
    return ShedWords(language, {**own, **headings}, codes, *beside)


def shed_languages() -> tuple[str, ...]:
    """The languages in which a sheet is written and read, English first."""
    return tuple(spoken_section("shed"))


@dataclass(frozen=True)
class Meant:
    """What a heading of a sheet means: the field, the newborn's letter ("" for the litter), the species if it says."""

    name: str
    letter: str = ""
    species: str = ""


@cache
def _known(language: str, form: str) -> dict[str, Meant]:
    own = shed_words(language)
    if form == "slips":
        return {_plain(own.heading(name)): Meant(name) for name in SLIP_FIELDS}
    found = {_plain(own.heading("litter")): Meant("litter")}
    found |= {_plain(own.heading("dam_id", species=kind)): Meant("dam_id", "", kind) for kind in USUAL}
    for one in FIELDS:
        for letter in ("",) if one.of_litter else ("", *LETTERS):
            found[_plain(own.heading(one.name, letter))] = Meant(one.name, letter)
    return found


def meanings(headings: Iterable[str]) -> tuple[str, ShedWords, dict[str, Meant]] | None:
    """The form ("litters" or "slips") that a sheet's headings are those of, its words, and what each means.

    None for any other sheet. Litters are known by the dam and by what became of them with its codes; slips by the
    heading of what was examined, with its codes.
    """
    spoken = {heading: _plain(heading) for heading in headings}
    for language in shed_languages():
        for form, sign in (("slips", "cause_basis"), ("litters", FATE)):
            known = _known(language, form)
            meant = {heading: known[way] for heading, way in spoken.items() if way in known}
            names = {one.name for one in meant.values()}
            if {"dam_id", sign} <= names:
                return form, shed_words(language), meant
    return None


def meanings_beside(headings: Iterable[str]) -> tuple[str, ShedWords, dict[str, str]] | None:
    """The table beside litters and slips whose headings, in a language that has its own, these are; its columns.

    None for any other sheet, and for one with English headings, which are those of the table itself.
    """
    spoken = {heading: _plain(heading) for heading in headings}
    for language in shed_languages():
        own = shed_words(language)
        for table, named in own.beside.items():
            known = {_plain(said): name for name, said in named.items()}
            meant = {heading: known[way] for heading, way in spoken.items() if way in known}
            if set(SIGNS[table]) <= set(meant.values()):
                return table, own, meant
    return None


def help_sheets() -> frozenset[str]:
    """The names of the sheet that says how to fill in the others, in languages that have their own."""
    return frozenset(shed_words(language).sheet("help") for language in shed_languages()) - {"help"}


@cache
def _beside_alone() -> frozenset[str]:
    """Headings of tables beside litters and slips that no farm would write by chance."""
    return frozenset(
        _plain(named[name])
        for language in shed_languages()
        for table, named in shed_words(language).beside.items()
        for name in SIGNS[table]
    )


@cache
def is_shed_heading(heading: str) -> bool:
    """True for a heading of a sheet that no farm would write by chance: with codes, or with a newborn's letter."""
    way = _plain(heading)
    return way in _beside_alone() or any(
        way in known and (known[way].letter or known[way].name in shed_words(tongue).codes)
        for tongue in shed_languages()
        for known in (_known(tongue, "litters"), _known(tongue, "slips"))
    )


def _plain(heading: str) -> str:
    """The heading's letters and digits alone, without capitals."""
    return " ".join(re.findall(r"\w+", heading.casefold()))
