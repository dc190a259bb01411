"""The tidy columns of a season's records: what each holds, in which unit, in which words.

The readers, the checks, the blank shed sheet and the published table schema are all made from this one list,
so that they cannot drift apart. Each column has a readable heading, "birth weight (kg)" for birth_weight_kg: the blank
sheets print it and the readers accept it, so that a sheet reads back with no map. A unit in a heading must be the
column's own: "birth weight (lb)" is no tidy column, and never becomes one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal

from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.factors import KEPT_TO_GROUP

Kind = Literal["text", "moment", "date", "number", "integer", "yes_no", "term", "terms", "elapsed"]


@dataclass(frozen=True)
class Column:
    """One tidy column.

    ``kind`` says how a cell is read: ``moment`` is a local date and time (or a date alone, precision kept),
    ``elapsed`` is minutes after birth, a clock time, or "not by HH:MM"; ``terms`` holds several words.
    """

    name: str
    kind: Kind
    meaning: str
    unit: str = ""
    words: tuple[str, ...] = ()


def _term(name: str, words: tuple[str, ...], meaning: str) -> Column:
    return Column(name, "term", meaning, words=words)


def _yes_no(name: str, meaning: str) -> Column:
    return Column(name, "yes_no", meaning, words=terms.YES_NO)


BIRTHS = (
    Column("farm", "text", "The farm; several may stand in one table"),
    Column("season", "text", "The season the birth belongs to, for example 2026"),
    _term("species", terms.SPECIES, "The kind of animal"),
    Column("newborn_id", "text", "The newborn's identity, kept as text; a stillborn may have none"),
    Column("dam_id", "text", "The dam's identity; dam within season is the litter"),
    Column("sire_id", "text", "The sire's identity"),
    Column("breed", "text", "Breed or cross"),
    Column("litter_id", "text", "The litter, where the dam is unknown or gave birth twice in a season"),
    Column("born_at", "moment", "Local date and time of birth"),
    Column("born_on", "date", "Date of birth, where no time was kept"),
    Column("litter_size", "integer", "Newborns in the litter, those born dead included", "newborns"),
    Column("birth_order", "integer", "First born is 1"),
    _term("sex", terms.SEXES, "Sex"),
    Column("birth_weight_kg", "number", "Weight at birth", "kg"),
    Column("gestation_d", "number", "Length of gestation", "days"),
    _yes_no("premature", "Born before term, where the length of gestation was not kept"),
    _term("delivery", terms.DELIVERIES, "How it was born"),
    Column("dam_parity", "integer", "1 = the dam's first litter", "litters"),
    Column("dam_age_y", "number", "The dam's age", "years"),
    Column("dam_condition", "number", "The dam's body condition score, 1 to 5", "score"),
    _term("birth_place", terms.BIRTH_PLACES, "Where it was born"),
    Column("group", "text", "Pen, paddock or mob"),
    _yes_no("born_alive", "Alive at birth"),
    Column("breathing_after_s", "number", "Time to regular breathing", "s"),
    Column("resuscitation", "terms", "What was done to start it breathing", words=terms.RESUSCITATIONS),
    _term("suck_reflex", terms.SUCK_REFLEXES, "Suck reflex at about 10 minutes"),
    Column("stood_after_min", "elapsed", "Time to standing", "min"),
    Column("fed_after_min", "elapsed", "Time to the first feed of colostrum", "min"),
    Column("meconium_after_min", "elapsed", "Time to meconium passed", "min"),
    _yes_no("handled", "Touched by a person before the dam had licked and fed it"),
    _term("mothered_up", terms.MOTHERED_UP, "Accepted by its dam; no = rejected, abandoned or mismothered"),
    _term("rearing", terms.REARINGS, "Who reared it"),
    Column(
        "rectal_temperature_c", "number", "Rectal temperature at the first check that took one", "degrees C"
    ),
    _yes_no("warmed", "Warmed by the keeper"),
    _yes_no("died", "Died within the time it was watched"),
    Column("died_at", "moment", "Local date and time of death"),
    Column("last_alive_at", "moment", "Last seen alive before it was found dead"),
    Column("found_dead_at", "moment", "Found dead"),
    Column("age_at_death_h", "number", "Age at death, where it was kept instead of a time of death", "h"),
    Column("age_at_death_d", "number", "Age at death in whole days, where that is all that was kept", "days"),
    _term("cause", terms.CAUSES, "Cause of loss, one per death"),
    _term("cause_basis", terms.CAUSE_BASES, "What the cause rests on"),
    Column("left_at", "moment", "Left alive (sold, moved, lent)"),
    _term("left_reason", terms.LEFT_REASONS, "Why it left"),
    Column("last_seen_at", "moment", "Last seen alive; watching ends here"),
    *(Column(entry.name, "text", entry.meaning) for entry in KEPT_TO_GROUP),
    Column("remarks", "text", "What else was noted; never read as an outcome"),
)

OF_LITTER: tuple[str, ...] = (
    "farm",
    "season",
    "species",
    "dam_id",
    "sire_id",
    "breed",
    "litter_id",
    "born_at",
    "born_on",
)
OF_LITTER += ("litter_size", "dam_parity", "dam_age_y", "dam_condition", "birth_place", "group")
"""Columns of births that littermates share, so that a book may write them on a litter's first row alone."""

FEEDS = (
    Column("newborn_id", "text", "The newborn fed"),
    Column("fed_at", "moment", "When"),
    Column("volume_ml", "number", "How much", "ml"),
    _term("source", terms.FEED_SOURCES, "Where the colostrum came from"),
    Column("brix_pct", "number", "Brix of the colostrum", "%"),
    Column("igg_g_per_l", "number", "IgG of the colostrum", "g/l"),
    Column("person", "text", "Who fed it"),
    Column("farm", "text", "The farm; needed only where identities repeat between farms"),
)

_FARM = Column("farm", "text", "The farm; needed only where identities repeat between farms")
_SPECIES = _term("species", terms.SPECIES, "The kind of animal, where no births say it")
_DAM = Column("dam_id", "text", "The dam's identity")
_PARITY = Column("dam_parity", "integer", "1 = the dam's first litter", "litters")

SAMPLES = (
    Column("newborn_id", "text", "The newborn sampled"),
    Column("sampled_at", "moment", "When the blood was drawn"),
    Column("igg_g_per_l", "number", "Serum IgG", "g/l"),
    Column("total_protein_g_per_dl", "number", "Serum total protein", "g/dl"),
    Column("brix_pct", "number", "Serum Brix", "%"),
    _FARM,
    _term("turbidity", terms.TURBIDITIES, "The laboratory's class of a turbidity test"),
    _term("source", terms.FEED_SOURCES, "Where the newborn's colostrum came from"),
    _SPECIES,
    _DAM,
    _PARITY,
    Column("litter_size", "integer", "Newborns in the litter, those born dead included", "newborns"),
    _term("delivery", terms.DELIVERIES, "How it was born"),
    Column("born_at", "moment", "Local date and time of birth, where no births say it"),
    Column("born_on", "date", "Date of birth, where no time was kept"),
    Column("age_at_sampling_h", "number", "Age at sampling, where it was kept instead of times", "h"),
    Column("age_at_sampling_d", "number", "Age at sampling in whole days, where that is all", "days"),
)
"""From ``source`` on: what a list that stands alone, without births, may say of the newborn itself."""

COLOSTRUM = (
    _DAM,
    _FARM,
    _SPECIES,
    _PARITY,
    Column("born_at", "moment", "When the dam gave birth"),
    Column("milked_at", "moment", "When it was milked"),
    Column("milked_after_h", "number", "Hours from birth to milking, where they were kept", "h"),
    _term("source", terms.FEED_SOURCES, "Where the colostrum came from"),
    Column("brix_pct", "number", "Brix of the colostrum", "%"),
    Column("igg_g_per_l", "number", "IgG of the colostrum", "g/l"),
    Column("newborn_id", "text", "The newborn that drank it"),
)

EXAMINATIONS = (
    Column("newborn_id", "text", "The newborn examined"),
    _DAM,
    _FARM,
    _SPECIES,
    Column("examined_at", "moment", "When it was examined"),
    Column("born_at", "moment", "Local date and time of birth, where no births say it"),
    Column("born_on", "date", "Date of birth, where no time was kept"),
    Column("died_at", "moment", "Local date and time of death, where no births say it"),
    Column("age_at_death_h", "number", "Age at death, where it was kept instead of a time", "h"),
    Column("age_at_death_d", "number", "Age at death in whole days, where that is all", "days"),
    _yes_no("autolysed", "Decayed in the womb: discoloured, dried up or softened"),
    _yes_no("breathed", "Air in the lungs"),
    _yes_no("walked", "Worn or soiled soles"),
    _yes_no("fed", "Milk in the stomach or gut"),
    _term("fat_reserves", terms.FAT_RESERVES, "Fat about the kidneys and the heart"),
    _term("cord", terms.CORD_STATES, "Placenta or navel cord"),
    Column("finding", "text", "What was found, in the examiner's words"),
    _term("cause", terms.CAUSES, "Cause of loss according to the examination"),
    _term("cause_basis", terms.CAUSE_BASES, "What that cause rests on; post-mortem unless said"),
    _term("keeper_cause", terms.CAUSES, "What the keeper had thought, where no births say it"),
    _term("laboratory", terms.LABORATORY, "What became of the samples sent to a laboratory"),
    Column("agent", "text", "The agent that the laboratory found"),
    Column("person", "text", "Who examined it"),
    Column("reference", "text", "The number of the submission, the case or the laboratory's report"),
)

TREATMENTS = (
    Column("newborn_id", "text", "The newborn treated; blank where its dam was"),
    Column("dam_id", "text", "The dam treated, or the newborn's dam"),
    _FARM,
    _SPECIES,
    Column("given_at", "moment", "When"),
    Column("treatment", "terms", "What was done", words=terms.TREATMENTS),
    Column("rectal_temperature_c", "number", "Rectal temperature before it", "degrees C"),
    Column("product", "text", "The product, in the farm's words"),
    Column("person", "text", "Who did it"),
)

WEATHER = (
    Column("farm", "text", "The farm"),
    Column("at", "moment", "Day or hour of the record"),
    Column("temperature_c", "number", "Air temperature", "degrees C"),
    Column("wind_m_per_s", "number", "Wind speed", "m/s"),
    Column("rain_mm", "number", "Rain in the day or hour", "mm"),
)

MOBS = (
    Column("farm", "text", "The farm; several may stand in one table"),
    Column("season", "text", "The season of the births, for example 2026"),
    _term("species", terms.SPECIES, "The kind of animal"),
    Column("mob", "text", "The mob's name: dams that were run, scanned and counted together"),
    Column("joined_on", "date", "When the male went in"),
    Column("joined", "integer", "Dams put to the male", "dams"),
    Column("scanned_on", "date", "When the dams were scanned"),
    Column("scanned", "integer", "Dams scanned, those not in young among them", "dams"),
    Column("scanned_dry", "integer", "Dams scanned and not in young", "dams"),
    Column("scanned_single", "integer", "Dams scanned with one", "dams"),
    Column("scanned_twin", "integer", "Dams scanned with two", "dams"),
    Column("scanned_triplet", "integer", "Dams scanned with three or more", "dams"),
    Column(
        "foetuses",
        "integer",
        "Foetuses scanned, where the dams with one, two, three were not written",
        "foetuses",
    ),
    Column("born", "integer", "Newborns born, those born dead among them", "newborns"),
    Column("born_dead", "integer", "Of those born, born dead", "newborns"),
    Column("marked_on", "date", "When newborns were counted at marking, docking or tailing"),
    Column("marked", "integer", "Newborns alive at marking, docking or tailing", "newborns"),
    Column("weaned_on", "date", "When they were weaned"),
    Column("weaned", "integer", "Newborns weaned", "newborns"),
    Column("dams_died", "integer", "Dams that died between joining and weaning", "dams"),
    Column("remarks", "text", "What else was noted; never read as a count"),
)
"""One row a mob and season, nothing known of single newborns."""

COUNTS = (
    Column("newborns_born", "integer", "Born to this dam, those born dead included", "newborns"),
    Column("newborns_born_alive", "integer", "Of these, born alive", "newborns"),
    Column("newborns_born_dead", "integer", "Of these, born dead", "newborns"),
    Column("newborns_died", "integer", "Of those born alive, died later", "newborns"),
    Column("newborns_lost", "integer", "Born dead or died later", "newborns"),
    Column("newborns_reared", "integer", "Of those born, still alive at the end: reared, weaned", "newborns"),
)
"""Columns of a sheet that only counts newborns for each dam; it is expanded to births when it is read."""

ALIKE = "newborns_in_row"
ALSO_READ = (
    _yes_no("alive_now", "Alive when the records were written; no = dead at an unknown time"),
    _yes_no("born_dead", "Born dead"),
    Column("died_on", "date", "Date of death, where its time stands in a column of its own"),
    Column("age_at_death", "number", "Age at death, each cell with its unit"),
    Column(ALIKE, "integer", "How many newborns the row stands for, all alike", "newborns"),
)
"""Columns of births that farms keep and a map may name; the readers turn them into the tidy ones."""

TABLES: dict[str, tuple[Column, ...]] = {
    "births": BIRTHS,
    "feeds": FEEDS,
    "samples": SAMPLES,
    "weather": WEATHER,
    "colostrum": COLOSTRUM,
    "examinations": EXAMINATIONS,
    "treatments": TREATMENTS,
    "mobs": MOBS,
}
EVENTS = ("feeds", "samples", "colostrum", "examinations", "treatments")
"""The tables of which a row belongs to a newborn, or to its dam."""
LISTS = ("samples", "colostrum", "examinations", "treatments")
"""The lists of single animals that may stand without births."""
ALONE = ("mobs", *LISTS)
"""The tables that can be read and reviewed where there are no births."""


OWN_WORDS = ("fed", "cause", "cause_basis", "newborn_id")
"""Columns that further tables share by name with births, but whose headings mean something else there."""
OF_CAUSES = ("cause", "keeper_cause")
"""Columns that take the causes of the settings."""


def column(table: str, name: str) -> Column:
    """The column of that name; KeyError names the table where there is none."""
    for found in TABLES[table]:
        if found.name == name:
            return found
    raise KeyError(f"{table} has no column {name!r}")


UNIT_SUFFIXES = (
    "_g_per_dl",
    "_g_per_l",
    "_m_per_s",
    "_pct",
    "_min",
    "_kg",
    "_ml",
    "_mm",
    "_c",
    "_d",
    "_h",
    "_s",
    "_y",
)
UNIT_SPELLINGS = {
    "°c": "degrees c",
    "c": "degrees c",
    "degree c": "degrees c",
    "percent": "%",
    "minutes": "min",
}


def heading_of(column: Column) -> str:
    """The heading a person reads.

    >>> heading_of(column("births", "birth_weight_kg")), heading_of(column("births", "dam_id"))
    ('birth weight (kg)', 'dam id')
    """
    for suffix in UNIT_SUFFIXES:
        if column.unit and column.name.endswith(suffix):
            return f"{column.name.removesuffix(suffix).replace('_', ' ')} ({column.unit})"
    return column.name.replace("_", " ")


def heading_said(column: Column) -> str:
    """The heading as a report says it, its unit as the trade writes it; in a farm's file it needs no degree sign.

    >>> heading_said(column("births", "rectal_temperature_c"))
    'rectal temperature (°C)'
    """
    return heading_of(column).replace("degrees C", "°C")


@lru_cache(maxsize=4096)
def column_of(table: str, heading: str) -> str | None:
    """The tidy column that a heading names, or None: its own name or its readable heading.

    Capitals, spaces, underscores and hyphens make no difference.

    >>> column_of("births", "Birth weight (kg)"), column_of("births", "birth_weight_kg")
    ('birth_weight_kg', 'birth_weight_kg')
    >>> column_of("births", "birth weight (lb)") is None
    True
    """
    return _names_by_heading(table).get(_plain(heading))


@cache
def _names_by_heading(table: str) -> dict[str, str]:
    names = {_plain(column.name): column.name for column in TABLES[table]}
    return names | {_plain(heading_of(column)): column.name for column in TABLES[table]}


def _plain(heading: str) -> str:
    words = re.sub(r"[\s_\-]+", " ", heading).strip().casefold()
    bare, bracket, unit = words.partition("(")
    if not bracket:
        return words
    unit = unit.rstrip(" )").strip()
    return f"{bare.strip()} ({UNIT_SPELLINGS.get(unit, unit)})"
