"""Plausible values: what a number may be before a person should look at it again. All adjustable in the settings.

Birth weights of lambs and kids are common practice (1 to 6 kg); the wider outer limits here only catch slips of
unit or column. The rest are the founders' own wide limits, from memory and unchecked.
"""

from __future__ import annotations

from collections.abc import Mapping

Range = tuple[float, float]

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
}

BY_SPECIES: dict[str, dict[str, Range]] = {
    "sheep": {"birth_weight_kg": (0.5, 10), "gestation_d": (125, 165), "volume_ml": (5, 1000)},
    "goat": {"birth_weight_kg": (0.5, 9), "gestation_d": (125, 170), "volume_ml": (5, 1000)},
    "cattle": {"birth_weight_kg": (10, 80), "gestation_d": (230, 310), "volume_ml": (50, 6000)},
    "buffalo": {"birth_weight_kg": (10, 70), "gestation_d": (270, 345)},
    "deer": {"birth_weight_kg": (1, 25)},
    "camelid": {"birth_weight_kg": (2, 60), "gestation_d": (300, 420)},
}

# Where nearly all values of a column lie. A column of which many values lie outside, but would lie inside in another
# unit, is asked about. Founders' own wide limits, from memory and unchecked.
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
USUAL_BY_SPECIES: dict[str, dict[str, Range]] = {
    "sheep": {"birth_weight_kg": (1.2, 7.5), "volume_ml": (15, 1500), "gestation_d": (130, 160)},
    "goat": {"birth_weight_kg": (1.2, 7.5), "volume_ml": (15, 1500), "gestation_d": (130, 165)},
    "cattle": {"birth_weight_kg": (18, 62), "volume_ml": (150, 6000), "gestation_d": (240, 305)},
    "buffalo": {"birth_weight_kg": (15, 55), "volume_ml": (150, 6000), "gestation_d": (280, 340)},
}


def plausible(
    column: str, species: str, own: Mapping[str, Range], own_by_species: Mapping[str, Mapping[str, Range]]
) -> Range | None:
    """The plausible range of a column for a species: as set, else the default; None where there is none."""
    for ranges in (own_by_species.get(species, {}), own, BY_SPECIES.get(species, {}), ANY_SPECIES):
        if column in ranges:
            return ranges[column]
    return None


def widest(column: str) -> Range:
    """The plausible range over all species, endless where the column has none."""
    every = [by[column] for by in (ANY_SPECIES, *BY_SPECIES.values()) if column in by]
    return (
        (min(low for low, _ in every), max(high for _, high in every))
        if every
        else (float("-inf"), float("inf"))
    )


def usual(column: str, species: str) -> Range | None:
    """Where nearly all values of a column lie for a species; None where that is not known."""
    return USUAL_BY_SPECIES.get(species, {}).get(column) or USUAL_ANY_SPECIES.get(column)
