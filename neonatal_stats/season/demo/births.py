"""Who was truly born: litters, deliveries, weights, vigour, and which were born dead."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan
from neonatal_stats.season.demo.weather import first_moment
from neonatal_stats.vocabulary import terms

SIRES = 8
GESTATION_D = {"sheep": (147.0, 2.2), "goat": (150.0, 2.5), "cattle": (284.0, 5.0)}
PREMATURE_DAYS_EARLY = 6


def newborns(dams: pd.DataFrame, season: str, plan: Plan, draws: Draws) -> pd.DataFrame:
    """One row per newborn of one season, in order of birth, with what was true at birth."""
    litters = _litters(dams, season, plan, draws)
    frame = litters.loc[litters.index.repeat(litters["litter_size"])].reset_index(drop=True)
    n = len(frame)
    frame["birth_order"] = frame.groupby("litter").cumcount() + 1
    wait_min = np.where(frame["birth_order"] > 1, 8 + 25 * draws.uniform(n), 0.0)
    waited = pd.Series(wait_min).groupby(frame["litter"]).cumsum()
    frame["born"] = frame["litter_born"] + pd.to_timedelta(waited.round(), unit="min")
    frame["sex"] = draws.pick(["female", "male"], [0.49, 0.51], n)
    frame["weight_z"] = 0.6 * draws.normal(n) + 0.8 * frame["litter_z"] + 0.2 * (frame["sex"] == "male")
    mean = np.asarray(plan["weight_kg"])[frame["litter_size"] - 1]
    frame["weight_kg"] = np.maximum(mean + plan["weight_sd_kg"] * frame["weight_z"], 0.35 * mean)
    frame["delivery"] = _deliveries(frame, draws)
    frame["difficult"] = frame["delivery"].isin(terms.DIFFICULT_DELIVERIES)
    frame["suck_reflex"] = _vigour(frame, plan, draws)
    frame["stillborn"] = _stillborn(frame, plan["effects"], draws)
    return frame.sort_values(["born", "litter", "birth_order"], ignore_index=True)


def _litters(dams: pd.DataFrame, season: str, plan: Plan, draws: Draws) -> pd.DataFrame:
    n = len(dams)
    shares = plan.get("more_litters_in", {}).get(season, plan["litter_shares"])
    day = np.clip(0.40 + 0.19 * draws.normal(n), 0, 1) * plan["spread_d"] + draws.uniform(n)
    mean, spread = GESTATION_D[plan["species"]]
    early = np.where(draws.yes(0.02, n), 8 + 8 * draws.uniform(n), 0.0)
    frame = dams.assign(
        season=season,
        litter=np.arange(n),
        litter_size=draws.pick(range(1, len(shares) + 1), shares, n).astype(int),
        litter_born=first_moment(plan, season) + pd.to_timedelta(np.round(day * 1440), unit="min"),
        gestation_d=np.round(mean + spread * draws.normal(n) - early),
        litter_z=draws.normal(n) - 0.12 * early,
        litter_effect=plan["effects"]["litter_sd"] * draws.normal(n),
        surgery=_surgery(plan, draws, n),
        sire=draws.pick(range(1, SIRES + 1), [1.0] * SIRES, n),
        breed=draws.pick(plan["breeds"], [0.7, 0.3], n),
        group=draws.pick(plan["groups"], [1.0] * len(plan["groups"]), n),
        outdoors=draws.yes(plan["outdoors_share"], n),
    )
    frame["premature"] = frame["gestation_d"] < mean - PREMATURE_DAYS_EARLY - spread
    frame["birth_type"] = np.asarray(terms.BIRTH_TYPES, dtype=object)[np.minimum(frame["litter_size"], 4) - 1]
    frame["first_litter"] = frame["parity"] == 1
    return frame


def _surgery(plan: Plan, draws: Draws, n: int) -> np.ndarray:
    caesarean, embryotomy = plan["surgical_share"], plan["embryotomy_share"]
    return draws.pick(["", "caesarean", "embryotomy"], [1 - caesarean - embryotomy, caesarean, embryotomy], n)


def _deliveries(frame: pd.DataFrame, draws: Draws) -> np.ndarray:
    odds = np.where(frame["first_litter"], 1.6, 1.0) * np.where(frame["weight_z"] > 1.2, 2.0, 1.0)
    u = draws.uniform(len(frame))
    hard, turned, easy = 0.035 * odds, 0.03 * np.where(frame["litter_size"] > 1, 1.5, 1.0), 0.08 * odds
    steps = [u < hard, u < hard + turned, u < hard + turned + easy]
    found = np.select(steps, ["hard assist", "malpresentation corrected", "easy assist"], "unassisted")
    return np.where(frame["surgery"] != "", frame["surgery"], found).astype(object)


def _vigour(frame: pd.DataFrame, plan: Plan, draws: Draws) -> np.ndarray:
    raised = np.exp(0.45 * np.maximum(0.0, -frame["weight_z"].to_numpy()))
    raised = raised * np.where(frame["difficult"], 2.0, 1.0) * np.where(frame["premature"], 3.0, 1.0)
    absent = np.minimum(plan["absent_share"] * raised, 0.4)
    weak = np.minimum(plan["weak_share"] * raised, 0.5)
    u = draws.uniform(len(frame))
    return np.select([u < absent, u < absent + weak], ["absent", "weak"], "strong").astype(object)


def _stillborn(frame: pd.DataFrame, effects: Plan, draws: Draws) -> np.ndarray:
    share = effects["stillborn_share"]
    log_odds = np.full(len(frame), np.log(share / (1 - share))) + frame["dam_effect"] + frame["litter_effect"]
    log_odds += log_effects(frame, effects["stillborn_odds"])
    return np.asarray(draws.yes((1 / (1 + np.exp(-log_odds))).to_numpy(), len(frame)))


def log_effects(frame: pd.DataFrame, effects: dict[str, float]) -> np.ndarray:
    """The sum of the logs of those planted ratios that apply to each newborn."""
    applies = {
        "first litter": frame["first_litter"],
        "difficult": frame["difficult"],
        "handled": frame.get("handled", pd.Series(False, index=frame.index)),
        "male": frame["sex"] == "male",
        "triplet": frame["birth_type"].isin(["triplet", "four or more"]),
        "not_mothered": frame.get("not_mothered", pd.Series(False, index=frame.index)),
    }
    said = [name for name in ("birth_type", "delivery", "suck_reflex") if name in frame]
    total = np.zeros(len(frame))
    for word, ratio in effects.items():
        named = (frame[said] == word).any(axis=1)
        total += np.log(ratio) * np.asarray(applies.get(word, named), dtype=float)
    return total
