"""The dams of an enterprise: each season most come back a litter older, some leave, first-timers join."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan

PARITY_SHARES = (0.22, 0.20, 0.17, 0.15, 0.11, 0.08, 0.07)
LAST_PARITY = 7
LEAVES_SHARE = 0.13
FIRST_AGE_Y = {"sheep": 2, "goat": 1, "cattle": 2}


def dams_by_season(plan: Plan, draws: Draws) -> list[pd.DataFrame]:
    """One frame per season, a row a dam: number, parity, age_y, condition, lasting effect on log hazard."""
    count = int(plan["dams"])
    parity = draws.pick(range(1, LAST_PARITY + 1), PARITY_SHARES, count).astype(int)
    flock = _newcomers(plan, draws, first_number=1, parity=parity)
    seasons = [_as_seen(flock, plan, draws)]
    for _ in plan["seasons"][1:]:
        stays = ~draws.yes(LEAVES_SHARE, count) & (flock["parity"].to_numpy() < LAST_PARITY)
        kept = flock[stays].assign(parity=lambda old: old["parity"] + 1)
        first = int(flock["number"].max()) + 1
        joined = _newcomers(plan, draws, first, np.ones(count - len(kept), dtype=int))
        flock = pd.concat([kept, joined], ignore_index=True)
        seasons.append(_as_seen(flock, plan, draws))
    return seasons


def _newcomers(plan: Plan, draws: Draws, first_number: int, parity: np.ndarray) -> pd.DataFrame:
    number = np.arange(first_number, first_number + len(parity))
    effect = plan["effects"]["dam_sd"] * draws.normal(len(parity))
    return pd.DataFrame({"number": number, "parity": parity, "dam_effect": effect})


def _as_seen(flock: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    condition = np.clip(np.round(2 * (2.9 + 0.5 * draws.normal(len(flock)))) / 2, 1.5, 4.5)
    age = flock["parity"] + FIRST_AGE_Y[plan["species"]] - 1
    return flock.assign(age_y=age, condition=condition).reset_index(drop=True)
