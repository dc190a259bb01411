"""Invented farms of which it is known what happened on the calendar: an outbreak, a bad pen, a bad week, or nothing.

Newborns of a litter share a frailty; what a newborn risks falls with its age, as the ages of death in demo records do.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.season.model import Season
from tests.chapters.build import season

START = pd.Timestamp("2026-03-02")
PENS = ("Bank", "Croft", "Intake", "Top")
BY_AGE = np.r_[0.46, 0.10, 0.10, np.full(4, 0.04), np.full(35, 0.18 / 35)]
"""Shares of the risk after birth that belong to each day of age."""
FRAILTY = 0.6  # variance between litters
LATER = ("starvation-mismothering-exposure", "infection", "accident", "unknown")
OUT_OF_RISK_D = 10  # of age, when the infection no longer kills


@dataclass(frozen=True)
class Farm:
    """What is true of the farm; the defaults are a season in which nothing happens.

    risk : of those born alive, to the end. worse : ratio of risks in Bank. spell : the same for all on the days
    ``spell_days``. sick : share of those there on all days of ``sick_days`` that an infection kills in Croft.
    """

    dams: int = 350
    spread_d: int = 34
    risk: float = 0.09
    worse: float = 1.0
    spell: float = 1.0
    spell_days: tuple[int, int] = (10, 16)
    sick: float = 0.0
    sick_days: tuple[int, int] = (7, 14)


def farm_rows(farm: Farm, number: int) -> list[dict[str, Any]]:
    """The births of the farm, for `build.season`; another number gives other births of the same farm."""
    draw = np.random.default_rng([20260302, number])
    return [row for dam in range(farm.dams) for row in _litter(farm, dam, draw)]


def farm_season(farm: Farm, number: int, **settings: Any) -> Season:
    """The same as a season."""
    return season(farm_rows(farm, number), **settings)


def _litter(farm: Farm, dam: int, draw: np.random.Generator) -> list[dict[str, Any]]:
    size = int(draw.choice([1, 2, 3], p=[0.45, 0.45, 0.10]))
    born_day = int(np.clip(round(farm.spread_d * (0.4 + 0.19 * draw.normal())), 0, farm.spread_d))
    pen, frailty = str(draw.choice(PENS)), float(draw.gamma(1 / FRAILTY, FRAILTY))
    born_at = START + pd.Timedelta(days=born_day, minutes=int(draw.integers(60, 1380)))
    shared = {"dam_id": f"E{dam:04d}", "litter_size": size, "born_at": born_at, "group": pen}
    shared |= {"dam_parity": int(draw.integers(1, 6)), "born_alive": "yes"}
    return [shared | _fate(farm, pen, born_day, born_at, frailty, draw) for _ in range(size)]


def _fate(
    farm: Farm, pen: str, born_day: int, born_at: pd.Timestamp, frailty: float, draw: np.random.Generator
) -> dict[str, Any]:
    """The day and the cause of its death, or that it lived on."""
    days = born_day + np.arange(len(BY_AGE))
    hazard = -np.log1p(-farm.risk) * frailty * BY_AGE * (farm.worse if pen == "Bank" else 1.0)
    hazard = hazard * np.where((days >= farm.spell_days[0]) & (days < farm.spell_days[1]), farm.spell, 1.0)
    length = farm.sick_days[1] - farm.sick_days[0]
    ill = (days >= farm.sick_days[0]) & (days < farm.sick_days[1]) & (np.arange(len(days)) < OUT_OF_RISK_D)
    infection = -np.log1p(-farm.sick) / length * (ill & (pen == "Croft"))
    died = draw.random(len(days)) < -np.expm1(-(hazard + infection))
    if not died.any():
        return {"died": "no"}
    age = int(died.argmax())
    own = draw.random() < infection[age] / max(hazard[age] + infection[age], 1e-12)
    cause = "infection" if own else str(draw.choice(LATER, p=[0.5, 0.15, 0.15, 0.2]))
    at = (born_at + pd.Timedelta(days=age)).normalize() + pd.Timedelta(hours=23, minutes=59)
    return {"died": "yes", "died_at": at, "cause": cause}
