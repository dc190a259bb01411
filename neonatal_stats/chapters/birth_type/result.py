"""Losses by what was known at birth: every group against its comparison, crude and within birth type."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.measures.by_weight import ByWeight, loss_by_weight
from neonatal_stats.measures.compared import compared
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.occurrence import rates
from neonatal_stats.measures.stratified import adjusted_ratios, risk_differences
from neonatal_stats.measures.windows import watched_to_h
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice

FACTORS = {
    "birth_type": "single",
    "delivery": "unassisted",
    "born_by": "born naturally",
    "difficulty": "easy",
    "sex": "female",
    "weight_class": "middle",
    "parity_class": "second or third",
}
"""The columns compared, each with the group that the others are held against."""


@dataclass(frozen=True, eq=False)
class BirthType(Shown):
    """Losses by group.

    ``groups`` as `measures.compared`, with difference, difference_low, difference_high and adjusted,
    adjusted_low, adjusted_high, agree_p (within birth type); ``crossed`` the ``rates`` frame of birth type x
    delivery (empty where delivery was not written); ``weight`` the smooth loss against birth weight, or
    None; ``not_recorded`` newborns without each factor; ``end_h`` the last age watched.
    """

    groups: pd.DataFrame
    crossed: pd.DataFrame
    weight: ByWeight | None
    not_recorded: dict[str, int]
    whole: float
    end_h: float
    counted: Counted
    settings: Settings
    voice: Voice


def answer(season: Season) -> BirthType:
    """Compare every group that was known at birth; losses are of all born, the stillborn included."""
    births, settings = season.births, season.settings
    found = compared(births, FACTORS, "lost", level=settings.level, minimum=settings.minimum_group)
    within = ("birth_type",) if len(births["birth_type"].unique()) > 1 else ()
    found = pd.concat(
        [
            found,
            risk_differences(births, found, "lost", level=settings.level),
            adjusted_ratios(births, found, "lost", within=within, level=settings.level),
        ],
        axis=1,
    )
    cross = ("birth_type", "delivery")
    delivery = "delivery" in births and births["delivery"].notna().any()
    return BirthType(
        groups=found,
        crossed=rates(births, cross, "lost", level=settings.level) if delivery else pd.DataFrame(),
        weight=loss_by_weight(births, level=settings.level),
        not_recorded={name: int(births[name].isna().sum()) for name in FACTORS if name in births},
        whole=float(births["lost"].mean()),
        end_h=watched_to_h(births, settings),
        counted=Counted(len(births)),
        settings=settings,
        voice=voice_of(season),
    )
