"""What was true: weather, dams, births, first hours, deaths; nobody on a farm knows all of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.demo.scenario import Draws, Plan, plan_of, scenario
from neonatal_stats.vocabulary import terms

DAYS_AFTER_LAST_BIRTH = 5
PARITY_SHARES = (0.22, 0.20, 0.17, 0.15, 0.11, 0.08, 0.07)
LAST_PARITY = 7
LEAVES_SHARE = 0.13
FIRST_AGE_Y = {"sheep": 2, "goat": 1, "cattle": 2}
SIRES = 8
GESTATION_D = {"sheep": (147.0, 2.2), "goat": (150.0, 2.5), "cattle": (284.0, 5.0)}
PREMATURE_DAYS_EARLY = 6
Array = np.ndarray
CHILL_HOURS = 72
CHILL_FROM = 900.0
LATE_FEED_H = 8.0


def first_moment(plan: Plan, season: str) -> pd.Timestamp:
    """Midnight before the first births; a season that starts in autumn is named by the year it ends."""
    month = int(plan["first_day"][:2])
    year = int(season) - 1 if month >= 9 else int(season)
    return pd.Timestamp(f"{year}-{plan['first_day']}")


def hourly_weather(plan: Plan, season: str, draws: Draws) -> pd.DataFrame:
    """Columns at, temperature_c, wind_m_per_s, rain_mm (an hour's), from two days before the first birth."""
    days = int(plan["spread_d"]) + 2 + 2 + DAYS_AFTER_LAST_BIRTH
    start = first_moment(plan, season) - pd.Timedelta(days=2)
    at = pd.date_range(start, periods=days * 24, freq="h")
    day = np.repeat(np.arange(days), 24)
    temperature = 6.0 + 0.06 * day + 2.5 * draws.normal(days)[day] + 3.5 * np.sin((at.hour - 9) * np.pi / 12)
    wind = 3.5 * np.exp(0.4 * draws.normal(days)[day] + 0.2 * draws.normal(len(day)))
    wet_day = draws.yes(0.35, days)[day]
    rain = np.where(wet_day & draws.yes(0.4, len(day)), 0.7 * draws.exponential(len(day)), 0.0)
    frame = pd.DataFrame({"at": at, "temperature_c": temperature, "wind_m_per_s": wind, "rain_mm": rain})
    return _with_bad_spell(frame, day - 2, plan, season, draws).round(
        {"temperature_c": 1, "wind_m_per_s": 1, "rain_mm": 1}
    )


def _with_bad_spell(
    frame: pd.DataFrame, day: np.ndarray, plan: Plan, season: str, draws: Draws
) -> pd.DataFrame:
    spell = plan.get("bad_weather", {})
    if spell.get("season") != season:
        return frame
    inside = (day >= spell["from_day"]) & (day < spell["from_day"] + spell["days"])
    n = int(inside.sum())
    frame.loc[inside, "temperature_c"] -= 6.0
    frame.loc[inside, "wind_m_per_s"] += 8.0 + draws.normal(n)
    frame.loc[inside, "rain_mm"] += np.where(draws.yes(0.6, n), 1.8 * draws.exponential(n), 0.0)
    return frame.assign(wind_m_per_s=frame["wind_m_per_s"].clip(lower=0.0))


def chill_kj_per_m2_h(weather: pd.DataFrame) -> np.ndarray:
    """Heat lost by a wet newborn lamb in each hour, the rain taken as the day's running sum."""
    rain_in_day = weather["rain_mm"].rolling(24, min_periods=1).sum().to_numpy()
    wind = np.sqrt(weather["wind_m_per_s"].to_numpy())
    by_wind = (11.7 + 3.1 * wind) * (40.0 - weather["temperature_c"].to_numpy())
    return np.asarray(by_wind + 481.0 * (1.0 - np.exp(-0.04 * rain_in_day)))


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


def with_first_hours(births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    """The newborns with handled, not_mothered, breathing_s and stood_h, fed_h, meconium_h since birth."""
    n, effects = len(births), plan["effects"]
    assisted = births["delivery"] != "unassisted"
    frame = births.assign(handled=draws.yes(np.where(assisted, 0.75, 0.10), n))
    frame["not_mothered"] = _not_mothered(frame, effects, draws)
    slower = np.exp(log_effects(frame, effects["slower"]))
    vigour = {word: ratio for word, ratio in effects["slower"].items() if word != "not_mothered"}
    slow = np.exp(log_effects(frame, vigour))
    stood = effects["stood_median_min"] * slow * np.exp(0.55 * draws.normal(n)) / 60
    lag = effects["fed_lag_median_min"] * slower * np.exp(0.6 * draws.normal(n)) / 60
    overlooked = (
        draws.yes(effects["overlooked_share"], n) * effects["overlooked_mean_h"] * draws.exponential(n)
    )
    frame["stood_h"] = stood
    frame["fed_h"] = np.minimum(stood + lag + overlooked, _latest_feed_h(draws, n))
    frame["meconium_h"] = 1.1 * np.sqrt(slow) * np.exp(0.5 * draws.normal(n))
    frame["breathing_s"] = np.maximum(4, 14 * slow * np.exp(0.5 * draws.normal(n)))
    frame["temperature_c"] = 39.2 - 0.9 * (slow > 1) - 0.12 * frame["fed_h"] + 0.5 * draws.normal(n)
    return frame


def _not_mothered(frame: pd.DataFrame, effects: Plan, draws: Draws) -> Array:
    share, n = effects["not_mothered_share"], len(frame)
    if share == 0:
        return np.zeros(n, dtype=bool)
    log_odds = np.log(share / (1 - share)) + log_effects(frame, effects["not_mothered_odds"])
    return np.asarray(draws.yes(1 / (1 + np.exp(-log_odds)), n))


def _latest_feed_h(draws: Draws, n: int) -> Array:
    latest = scenario()["ages"]["fed_at_latest_h"]
    return np.asarray(latest - 4 * draws.uniform(n))


def with_deaths(births: pd.DataFrame, weather: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    """The newborns with death_h (hours since birth; inf where it lived on), fed (before death) and cause."""
    hours = np.arange(scenario()["ages"]["watched_h"])
    hazard = _hazards(births, weather, plan["effects"], hours)
    death = _time_of_death(hazard, draws.exponential(len(births)))
    death = np.where(births["stillborn"], 0.0, death)
    frame = births.assign(death_h=death, fed=births["fed_h"] < death)
    frame = frame.assign(cause=_causes(frame, draws))
    return with_outbreak(frame, plan, draws) if "outbreak" in plan else frame


def with_outbreak(births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    """The newborns with what an infection in one group does to those there on its days, at the ages that it kills."""
    told = plan["outbreak"]
    begins = first_moment(plan, births["season"].iloc[0]) + pd.Timedelta(days=told["from_day"])
    lasts = 24.0 * told["days"]
    born_before = ((begins - births["born"]).dt.total_seconds() / 3600).to_numpy()
    first = np.maximum(born_before, told["from_age_h"])
    last = np.minimum(born_before + lasts, told["to_age_h"])
    age = first + draws.exponential(len(births)) * lasts / -np.log1p(-told["share"])
    there = (births["group"] == told["group"]).to_numpy() & ~births["stillborn"].to_numpy()
    ill = there & (age < last) & (age < births["death_h"].to_numpy())
    return births.assign(
        death_h=np.where(ill, age, births["death_h"]), cause=births["cause"].mask(ill, told["cause"])
    )


def _hazards(births: pd.DataFrame, weather: pd.DataFrame, effects: Plan, hours: Array) -> Array:
    bands = np.searchsorted(scenario()["ages"]["hazard_from_h"], hours, side="right") - 1
    base = np.asarray(effects["hazard_per_h"])[bands]
    lasting = log_effects(births, effects["hazard"]) + births["dam_effect"] + births["litter_effect"]
    fed_h = births["fed_h"].to_numpy()[:, None]
    unfed_share = np.clip(fed_h - hours[None, :], 0.0, 1.0)
    late = np.where(fed_h > LATE_FEED_H, effects["hazard_fed_after_8_h"], 1.0)
    by_feed = unfed_share * effects["hazard_unfed"] + (1.0 - unfed_share) * late
    hazard = base[None, :] * np.exp(lasting.to_numpy())[:, None] * by_feed
    hazard[:, :CHILL_HOURS] *= _by_chill(births, weather, effects)
    return np.asarray(hazard)


def _by_chill(births: pd.DataFrame, weather: pd.DataFrame, effects: Plan) -> Array:
    chill = np.maximum(chill_kj_per_m2_h(weather) - CHILL_FROM, 0.0) / 100.0
    first = ((births["born"] - weather["at"].iloc[0]) / pd.Timedelta(hours=1)).astype(int).to_numpy()
    hour = np.minimum(first[:, None] + np.arange(CHILL_HOURS)[None, :], len(chill) - 1)
    felt = chill[hour] * births["outdoors"].to_numpy()[:, None]
    return np.asarray(effects["hazard_per_100_chill"] ** felt)


def _time_of_death(hazard: Array, threshold: Array) -> Array:
    upto = np.cumsum(hazard, axis=1)
    hour = (upto < threshold[:, None]).sum(axis=1)
    row, inside = np.arange(len(hour)), hour < hazard.shape[1]
    at = np.minimum(hour, hazard.shape[1] - 1)
    part = 1.0 - (upto[row, at] - threshold) / hazard[row, at]
    return np.where(inside, at + np.clip(part, 0.0, 1.0), np.inf)


def _causes(frame: pd.DataFrame, draws: Draws) -> pd.Series:
    mixes, n = scenario()["causes"], len(frame)
    age = frame["death_h"]
    when = np.select([age < 24, age < 168], ["first_day", "first_week"], "later")
    early_difficult = frame["difficult"] & (age < 24) & draws.yes(0.6, n)
    hungry = ~frame["fed"] & (age >= 3) & draws.yes(0.7, n)
    which = np.select([early_difficult, hungry], ["difficult", "unfed"], when)
    cause = pd.Series("", index=frame.index, dtype=object)
    for name, mix in mixes.items():
        cause = cause.mask(which == name, pd.Series(draws.pick(list(mix), list(mix.values()), n)))
    cause = cause.mask((cause == "predation") & ~frame["outdoors"], "accident")
    return cause.mask(frame["stillborn"], "stillbirth").where(np.isfinite(age))


@dataclass(frozen=True, eq=False)
class Truth:
    """One season of one enterprise as it truly was; ages in hours, ``death_h`` inf for survivors."""

    enterprise: str
    season: str
    births: pd.DataFrame
    weather: pd.DataFrame


def clean_truth(enterprise: str) -> list[Truth]:
    """The seasons of one enterprise, in order; the same at every call.

    >>> [truth.season for truth in clean_truth("suckler_cows")]
    ['2026']
    """
    plan = plan_of(enterprise)
    number, position = scenario()["generator_number"], plan["position"]
    seasons = []
    dams = dams_by_season(plan, Draws(number, position, 0))
    for season, flock in zip(plan["seasons"], dams, strict=True):
        draws = Draws(number, position, int(season))
        weather = hourly_weather(plan, season, draws)
        births = newborns(flock, season, plan, draws)
        births = with_deaths(with_first_hours(births, plan, draws), weather, plan, draws)
        left = _left_h(births, enterprise, draws)
        gathered = first_moment(plan, season) + pd.Timedelta(days=plan["gathered_after_d"])
        seasons.append(Truth(enterprise, season, births.assign(left_h=left, gathered=gathered), weather))
    return seasons


def _left_h(births: pd.DataFrame, enterprise: str, draws: Draws) -> np.ndarray:
    shares = births["sex"].map(plan_of(enterprise)["left_share"]).to_numpy(dtype=float)
    n = len(births)
    age = 24 * (6 + 12 * draws.uniform(n))
    leaves = draws.yes(shares, n) & (births["death_h"].to_numpy() > age)
    return np.where(leaves, age, np.inf)
