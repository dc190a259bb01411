"""The known truth: a small invented flock, every value and every outcome written down before any file is made."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

COLUMNS = [
    "farm",
    "season",
    "species",
    "newborn_id",
    "dam_id",
    "breed",
    "born_at",
    "litter_size",
    "birth_order",
    "sex",
    "birth_weight_kg",
    "delivery",
    "dam_parity",
    "born_alive",
    "suck_reflex",
    "stood_after_min",
    "fed_after_min",
    "mothered_up",
    "died",
    "died_at",
    "cause",
    "last_seen_at",
]
FIRST_DAY = datetime(2026, 4, 1)
SEEN_UNTIL = datetime(2026, 6, 20, 9, 0)
FOLLOW_UP_H = 42 * 24

Newborn = dict[str, object]


def known_births(number: int, litters: int = 24) -> list[Newborn]:
    """Newborns of one flock, in the order in which they were written down; ages are in whole hours, by subtraction."""
    rng = np.random.default_rng(number)
    births: list[Newborn] = []
    for litter in range(litters):
        size = int(rng.choice([1, 2, 3], p=[0.4, 0.5, 0.1]))
        born = FIRST_DAY + timedelta(minutes=int(rng.integers(0, 25 * 1440)))
        common = {
            "farm": "Test Hill",
            "season": "2026",
            "species": "sheep",
            "dam_id": f"{900_000_000_000_100 + litter:015d}",
            "breed": str(rng.choice(["Hill, horned", "Café cross"])),
            "born_at": born,
            "litter_size": size,
            "dam_parity": int(rng.integers(1, 6)),
        }
        for order in range(1, size + 1):
            births.append(_newborn(rng, dict(common), order, len(births)))
    return births


def _newborn(rng: np.random.Generator, newborn: Newborn, order: int, place: int) -> Newborn:
    still = rng.random() < 0.06
    died = not still and rng.random() < 0.25
    born = newborn["born_at"]
    assert isinstance(born, datetime)
    age = timedelta(hours=int(rng.integers(30, 400)), minutes=int(rng.integers(0, 60)))
    newborn |= {
        "newborn_id": None if still else f"{place + 7:06d}",
        "birth_order": order,
        "sex": str(rng.choice(["female", "male"])),
        "birth_weight_kg": float(rng.integers(30, 60)) / 10,
        "delivery": str(
            rng.choice(["unassisted", "easy assist", "hard assist", "caesarean"], p=[0.7, 0.1, 0.1, 0.1])
        ),
        "born_alive": "no" if still else "yes",
        "suck_reflex": None if still else str(rng.choice(["strong", "weak", "not checked"])),
        "stood_after_min": None if still else float(rng.integers(8, 90)),
        "fed_after_min": None if still else float(rng.integers(20, 200)),
        "mothered_up": None if still else str(rng.choice(["yes", "yes", "no", "not judged"])),
        "died": "yes" if still or died else "no",
        "died_at": born + age if died else None,
        "cause": str(rng.choice(["infection", "accident"])) if died else "stillbirth" if still else None,
        "last_seen_at": None if still or died else SEEN_UNTIL,
    }
    return newborn


def expected_age_h(newborn: Newborn) -> float | None:
    """Whole hours watched: to death, 0 for the stillborn, at most the end of follow-up for the others."""
    born, died_at = newborn.get("born_at"), newborn.get("died_at")
    if newborn["born_alive"] == "no":
        return 0.0
    if newborn["died"] == "yes":
        if not isinstance(born, datetime) or not isinstance(died_at, datetime):
            return None
        return float((died_at - born) // timedelta(hours=1))
    return float(FOLLOW_UP_H) if isinstance(born, datetime) else None
