"""An invented flock of a few hundred, large enough for comparisons: for tests of form, not of values."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.season.model import Season
from neonatal_stats.vocabulary.terms import CAUSE_BASES, CAUSES, DELIVERIES
from tests.chapters.build import season

EWES = 160


@cache
def flock() -> Season:
    """The same flock every time: triplets and hard births are lost more, deaths lie between checks."""
    return season(flock_rows())


def flock_rows() -> list[dict[str, Any]]:
    """Its births, for a season with settings of its own."""
    random = np.random.default_rng(11)
    return [row for ewe in range(EWES) for row in _litter(random, ewe)]


def _litter(random: np.random.Generator, ewe: int) -> list[dict[str, Any]]:
    size = int(random.choice([1, 2, 3], p=[0.3, 0.5, 0.2]))
    born_at = pd.Timestamp("2026-03-02") + pd.Timedelta(minutes=int(random.integers(28 * 1440)))
    parity = int(random.integers(1, 7))
    shared = {"dam_id": f"E{ewe}", "litter_size": size, "born_at": born_at, "dam_parity": parity}
    return [shared | _newborn(random, size) for _ in range(size)]


def _newborn(random: np.random.Generator, size: int) -> dict[str, Any]:
    delivery = str(random.choice(DELIVERIES, p=[0.75, 0.1, 0.07, 0.04, 0.03, 0.01]))
    row = {
        "delivery": delivery,
        "sex": str(random.choice(["female", "male"])),
        "birth_weight_kg": round(float(random.normal(5.2 - 0.7 * size, 0.6)), 1)
        if random.random() < 0.9
        else None,
        "born_alive": "yes",
    }
    risk = 0.06 + 0.12 * (size == 3) + 0.25 * (delivery != "unassisted")
    return row | (_lost(random) if random.random() < risk else _kept(random))


def _lost(random: np.random.Generator) -> dict[str, Any]:
    if random.random() < 0.3:
        return {"born_alive": "no", "died": "yes", "cause": "stillbirth"}
    cause = str(random.choice(CAUSES[1:]))
    found = float(random.choice([random.exponential(10), random.exponential(200)])) + 4
    checks = {"alive_after_h": found - 4, "found_after_h": found}
    return {"died": "yes", "cause": cause, "cause_basis": str(random.choice(CAUSE_BASES)), **checks}


def _kept(random: np.random.Generator) -> dict[str, Any]:
    if random.random() < 0.05:
        return {"left_after_h": float(random.uniform(50, 900)), "left_reason": "sold"}
    return {"died": "no"}
