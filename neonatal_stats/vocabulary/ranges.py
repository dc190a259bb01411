"""Plausible values: what a number may be before a person should look at it again. All adjustable in the settings.

Birth weights of lambs and kids are common practice (1 to 6 kg); the wider outer limits here only catch slips of
unit or column. The rest are the founders' own wide limits, from memory and unchecked.
"""

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
}

BY_SPECIES: dict[str, dict[str, Range]] = {
    "sheep": {"birth_weight_kg": (0.5, 10), "gestation_d": (125, 165), "volume_ml": (5, 1000)},
    "goat": {"birth_weight_kg": (0.5, 9), "gestation_d": (125, 170), "volume_ml": (5, 1000)},
    "cattle": {"birth_weight_kg": (10, 80), "gestation_d": (230, 310), "volume_ml": (50, 6000)},
    "buffalo": {"birth_weight_kg": (10, 70), "gestation_d": (270, 345)},
    "deer": {"birth_weight_kg": (1, 25)},
    "camelid": {"birth_weight_kg": (2, 60), "gestation_d": (300, 420)},
}
