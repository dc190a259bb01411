"""The species: their own words, and what a number may be before a person should look at it again.

A species is one entry here and its words in each language: in the language files (`[species]`, and its name among the
terms) and, where the sheet for the shed speaks the language, its word there (`vocabulary.spoken`). Ranges are all
adjustable in the settings. Birth weights of lambs and kids are common practice (1 to 6 kg); the wider outer limits here
only catch slips of unit or column. The rest are the founders' own wide limits, from memory and unchecked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

Range = tuple[float, float]

FORMS = (
    "newborn", "newborns", "dam", "dams", "birthing", "herd", "male", "litter", "litters", "first_timers", "joined",
    "marking", "weaning", "crop",
)  # fmt: skip
"""The placeholders that a species' words fill, in this order: {newborn} is a lamb, {birthing} lambing, {male} a ram;
{litter} and {litters} are what a dam's births are counted in; {first_timers} are the dams with their first, {joined}
those that were put to the male; {marking} and {weaning} are when newborns are counted later, and {crop} is what the
trade calls the number then for each hundred dams joined. Regions have words of their own (`vocabulary.languages`).
"""


def _forms(plain: str, first_timers: str, joined: str, marking: str = "marking") -> tuple[str, ...]:
    """A species' words in the order of `FORMS`: the single words, then those of several words or common to most."""
    return (*plain.split(), first_timers, joined, marking, "weaning", "rearing percentage")


SEVERAL_SPECIES = _forms(
    "newborn newborns dam dams birthing herd male litter litters",
    "dams with their first litter",
    "put to the male",
)
"""The words where several species stand together."""


@dataclass(frozen=True)
class SpeciesEntry:
    """One species: its name in the records, its English words in the order of `FORMS`, its ranges by column.

    ``carried`` is the whole months from joining to birth (common textbook figures, rounded): they name the season of a
    mob where no later date does. ``singly`` is said of those that mostly bear one. ``plausible`` is what a number may
    be, over `ANY_SPECIES`. ``usual`` is where nearly all values of a column lie: a column of which many values lie
    outside, but would lie inside in another unit, is asked about. ``not_asked`` are columns that nobody takes of every
    newborn of the species (common practice): they are read, and never asked for.
    """

    name: str
    words: tuple[str, ...]
    plausible: Mapping[str, Range]
    usual: Mapping[str, Range]
    carried: int
    singly: bool = False
    not_asked: tuple[str, ...] = ()


SPECIES: tuple[SpeciesEntry, ...] = (
    SpeciesEntry(
        "sheep",
        _forms(
            "lamb lambs ewe ewes lambing flock ram litter litters",
            "ewes with their first litter",
            "put to the ram",
        ),
        {"birth_weight_kg": (0.5, 10), "gestation_d": (125, 165), "volume_ml": (5, 1000)},
        {"birth_weight_kg": (1.2, 7.5), "volume_ml": (15, 1500), "gestation_d": (130, 160)},
        carried=5,
    ),
    SpeciesEntry(
        "goat",
        _forms(
            "kid kids doe does kidding herd buck litter litters",
            "does with their first litter",
            "put to the buck",
        ),
        {"birth_weight_kg": (0.5, 9), "gestation_d": (125, 170), "volume_ml": (5, 1000)},
        {"birth_weight_kg": (1.2, 7.5), "volume_ml": (15, 1500), "gestation_d": (130, 165)},
        carried=5,
    ),
    SpeciesEntry(
        "cattle",
        _forms(
            "calf calves cow cows calving herd bull calving calvings",
            "heifers and first-calvers",
            "put to the bull",
        ),
        {"birth_weight_kg": (10, 80), "gestation_d": (230, 310), "volume_ml": (50, 6000)},
        {"birth_weight_kg": (18, 62), "volume_ml": (150, 6000), "gestation_d": (240, 305)},
        carried=9,
        singly=True,
        not_asked=("breathing_after_s",),
    ),
    SpeciesEntry(
        "buffalo",
        _forms(
            "calf calves cow cows calving herd bull calving calvings",
            "heifers and first-calvers",
            "put to the bull",
        ),
        {"birth_weight_kg": (10, 70), "gestation_d": (270, 345)},
        {"birth_weight_kg": (15, 55), "volume_ml": (150, 6000), "gestation_d": (280, 340)},
        carried=10,
        singly=True,
        not_asked=("breathing_after_s",),
    ),
    SpeciesEntry(
        "deer",
        _forms(
            "calf calves hind hinds calving herd stag calving calvings",
            "first-calving hinds",
            "put to the stag",
            marking="tagging",
        ),
        {"birth_weight_kg": (1, 25), "gestation_d": (190, 320)},
        {"birth_weight_kg": (1.2, 20), "gestation_d": (195, 310)},
        carried=8,
        singly=True,
        not_asked=("breathing_after_s", "suck_reflex", "rectal_temperature_c"),
    ),
    SpeciesEntry(
        "camelid",
        _forms(
            "cria crias dam dams birthing herd male birth births",
            "dams with their first cria",
            "put to the male",
            marking="tagging",
        ),
        {"birth_weight_kg": (2, 60), "gestation_d": (300, 420)},
        {"birth_weight_kg": (3.5, 50), "gestation_d": (310, 415)},
        carried=11,
        singly=True,
    ),
)

ENGLISH: Mapping[str, tuple[str, ...]] = {"": SEVERAL_SPECIES, **{one.name: one.words for one in SPECIES}}
BY_SPECIES: dict[str, dict[str, Range]] = {one.name: dict(one.plausible) for one in SPECIES}
USUAL_BY_SPECIES: dict[str, dict[str, Range]] = {one.name: dict(one.usual) for one in SPECIES}
CARRIED: Mapping[str, int] = {one.name: one.carried for one in SPECIES}
SINGLY = frozenset(one.name for one in SPECIES if one.singly)
"""Species that mostly bear one."""

COMMON = ("sheep", "goat", "cattle", "buffalo")
"""The species that a sheet which names none is held against: deer and camelids overlap the others too widely."""

COUNTED_BY_MOB = (
    "joined", "scanned", "scanned_dry", "scanned_single", "scanned_twin", "scanned_triplet", "foetuses", "born",
    "born_dead", "marked", "weaned", "dams_died",
)  # fmt: skip
"""What is counted of a mob: a number below none, or over 200,000, is a slip."""

ANY_SPECIES: dict[str, Range] = {
    "litter_size": (1, 9),
    "birth_order": (1, 9),
    "gestation_d": (100, 420),
    "dam_parity": (1, 20),
    "dam_age_y": (0.5, 25),
    "dam_condition": (1, 5),
    "breathing_after_s": (0, 1800),
    "rectal_temperature_c": (20, 43),
    "volume_ml": (5, 6000),
    "brix_pct": (0, 45),
    "igg_g_per_l": (0, 250),
    "total_protein_g_per_dl": (2, 12),
    "temperature_c": (-50, 55),
    "wind_m_per_s": (0, 60),
    "rain_mm": (0, 500),
    "stood_after_min": (0, 4320),
    "fed_after_min": (0, 4320),
    "meconium_after_min": (0, 10080),
    "age_at_death_h": (0, 17520),
    "age_at_death_d": (0, 730),
    "age_at_sampling_h": (0, 17520),
    "age_at_sampling_d": (0, 730),
    "milked_after_h": (0, 336),
    **dict.fromkeys(COUNTED_BY_MOB, (0, 200_000)),
}

USUAL_ANY_SPECIES: dict[str, Range] = {
    "breathing_after_s": (2, 900),
    "stood_after_min": (3.01, 2880),
    "fed_after_min": (3.01, 2880),
    "meconium_after_min": (3.01, 2880),
    "rectal_temperature_c": (28, 43),
    "dam_age_y": (1, 16),
    "total_protein_g_per_dl": (2.5, 12),
    "igg_g_per_l": (1, 200),
}


def plausible(
    column: str, species: str, own: Mapping[str, Range], own_by_species: Mapping[str, Mapping[str, Range]]
) -> Range | None:
    """The plausible range of a column for a species: as set, else the default; None where there is none."""
    for ranges in (own_by_species.get(species, {}), own, BY_SPECIES.get(species, {}), ANY_SPECIES):
        if column in ranges:
            return ranges[column]
    return None


def usual(column: str, species: str) -> Range | None:
    """Where nearly all values of a column lie for a species; None where that is not known."""
    return USUAL_BY_SPECIES.get(species, {}).get(column) or USUAL_ANY_SPECIES.get(column)


def widest(column: str) -> Range:
    """The plausible range over all species, endless where the column has none."""
    every = [by[column] for by in (ANY_SPECIES, *BY_SPECIES.values()) if column in by]
    if not every:
        return float("-inf"), float("inf")
    return min(low for low, _ in every), max(high for _, high in every)
