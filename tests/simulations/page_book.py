"""What the keeper writes of an invented flock, as a season ready to be reviewed; no file is written or read.

Births are heaped to round minutes. Most deaths are found at a round: last seen alive at one, found dead at the
next. What had not happened before death is written "not by" that time. Blank cells are blank by chance alone: of
those that died no more often than of those that lived.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import PROBLEM_COLUMNS
from neonatal_stats.season.following.follow import follow, with_first_feed
from neonatal_stats.season.ledger import Balance, Source
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from tests.simulations.page_flock import SPREAD_D, Draw, Floats, Plan

FIRST_YEAR = 2023
ROUNDS, LATER_ROUND = (6.0, 10.0, 14.0, 18.0, 22.0), (8.0,)
SEEN_FIRST_DAY, SEEN_LATER = 0.3, 0.1  # of deaths, to the minute
BASES = {"keeper's opinion": 0.55, "vet's opinion": 0.15, "post-mortem": 0.12, "none": 0.18}
MOTHERING_JUDGED_AT_H, REARED_FROM_H = 12.0, 24.0
NOT_BY_LATEST_H = 23.0
WATCHED_D = 84.0
LEAVES_ALIVE, OUT_OF_SIGHT = 0.012, 0.015
FIRST_HOURS = (
    "breathing_after_s",
    "suck_reflex",
    "stood_after_min",
    "fed_after_min",
    "meconium_after_min",
    "handled",
    "mothered_up",
)
ELAPSED = ("stood", "fed", "meconium")
HAND_FED, FED_AGAIN, FEEDS_AT_MOST, HOURS_BETWEEN = 0.22, 0.75, 3, 3.5
SAMPLED = 60  # newborns of each season
Moments = NDArray[np.datetime64]


def season_of(flock: pd.DataFrame, plan: Plan, draw: Draw) -> Season:
    """The flock as its keeper knows it, with feeds, samples and the weather."""
    settings = Settings(price=95.0, currency="GBP")
    midnights = np.array([np.datetime64(f"{FIRST_YEAR + year}-04-02", "m") for year in range(plan.seasons)])
    fate = _fate(flock, plan.seen, draw)
    page, fed_h = _births(flock, fate, midnights[flock["season"].to_numpy()], plan.blank, draw)
    births = follow(page, settings)
    feeds = _joined(_feeds(page, flock, fate, fed_h, draw), births, "fed_at")
    return Season(
        births=with_first_feed(births, feeds),
        feeds=feeds,
        samples=_joined(_samples(page, fate, draw), births, "sampled_at"),
        weather=_weather(plan, midnights, draw),
        problems=pd.DataFrame(columns=list(PROBLEM_COLUMNS)),
        balances=(Balance("births", len(births), len(births), 0, 0),),
        sources=(Source("invented.csv", "", "births", len(births), "0" * 64),),
        settings=settings,
    )


@dataclass(frozen=True, eq=False)
class Fate:
    """What the keeper knows of each newborn's life, in hours since the season's first midnight; infinite: never.

    ``alive_to_h`` is the age up to which it was surely alive, ``known_h`` the age at which its death was known.
    """

    born: Floats
    died: Floats
    last_alive: Floats
    found: Floats
    left: Floats
    last_seen: Floats
    dead: NDArray[np.bool_]
    stillborn: NDArray[np.bool_]
    alive_to_h: Floats
    known_h: Floats


def _fate(flock: pd.DataFrame, seen: bool, draw: Draw) -> Fate:
    n, truly_born, death = len(flock), flock["born_h"].to_numpy(), flock["death_h"].to_numpy()
    step = draw.choice([1, 5, 15, 30, 60], n, p=[0.1, 0.4, 0.25, 0.15, 0.1])
    born = np.round(truly_born * 60 / step) * step / 60
    left = truly_born + np.where(draw.random(n) < LEAVES_ALIVE, draw.uniform(144, 432, n), np.inf)
    seen_to = truly_born + np.where(draw.random(n) < OUT_OF_SIGHT, draw.uniform(240, 720, n), np.inf)
    seen_to = np.minimum(seen_to, 24 * WATCHED_D + 9)
    dead = truly_born + death <= np.minimum(left, seen_to)
    stillborn = death == 0
    by_eye = seen | (draw.random(n) < np.where(death < 24, SEEN_FIRST_DAY, SEEN_LATER))
    at = np.where(dead, truly_born + death, 0.0)
    before, after = _rounds_around(at, at - truly_born > 168)
    died = np.where(dead & ~stillborn & by_eye, np.maximum(np.round(at * 12) / 12, born), np.inf)
    found = np.where(dead & ~stillborn & ~by_eye, np.maximum(after, born), np.inf)
    known = np.minimum(died, found) - born
    return Fate(
        born=born,
        died=died,
        last_alive=np.where(np.isfinite(found), np.maximum(before, born), np.inf),
        found=found,
        left=np.where(~dead & (left <= seen_to), left, np.inf),
        last_seen=np.where(~dead & (left > seen_to), seen_to, np.inf),
        dead=dead,
        stillborn=stillborn,
        alive_to_h=np.where(stillborn, 0.0, np.minimum(death, known)),
        known_h=known,
    )


def _rounds_around(at_h: Floats, late: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """The keeper's rounds before (or at) and after each moment; after the first week there is one round a day."""
    early, daily = _around(at_h, ROUNDS), _around(at_h, LATER_ROUND)
    return np.where(late, daily[0], early[0]), np.where(late, daily[1], early[1])


def _around(at_h: Floats, rounds: Sequence[float]) -> tuple[Floats, Floats]:
    hours = np.array([rounds[-1] - 24, *rounds, rounds[0] + 24])
    day, hour = np.floor(at_h / 24) * 24, at_h % 24
    after = np.searchsorted(hours, hour, side="right")
    return day + hours[after - 1], day + hours[after]


def _births(
    flock: pd.DataFrame, fate: Fate, start: Moments, blank: float, draw: Draw
) -> tuple[pd.DataFrame, Floats]:
    """The births table in the types of the readers, and the age at the first feed (infinite where not written)."""
    page = _who_and_how(flock, fate, start)
    page = page.assign(**_ends(flock, fate, start, draw))
    page = page.assign(**_first_hours(flock, fate, draw))
    fed = page["fed_after_min"].to_numpy() / 60
    did = page[[f"{name}_after_min" for name in ELAPSED]].max(axis=1).to_numpy()
    sure = page["born_at"] + pd.to_timedelta(np.where(np.isfinite(did), did, 0.0), unit="min")
    page["last_alive_at"] = page["last_alive_at"].mask(sure > page["last_alive_at"], sure)
    for name in FIRST_HOURS:
        empty = draw.random(len(page)) < blank
        page[name] = page[name].mask(empty)
        if f"{name}_not_by" in page:
            page[f"{name}_not_by"] = page[f"{name}_not_by"].mask(empty)
        if name == "fed_after_min":
            fed = np.where(empty, np.nan, fed)
    return page, np.where(np.isfinite(fed), fed, np.inf)


def _who_and_how(flock: pd.DataFrame, fate: Fate, start: Moments) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "farm": flock["farm"].map("Farm {:02d}".format),
            "season": (FIRST_YEAR + flock["season"]).astype(str),
            "species": "sheep",
            "newborn_id": pd.Series(np.arange(len(flock))).map("{:05d}".format),
            "dam_id": flock["farm"].map("{:02d}-".format) + flock["dam"].map("{:04d}".format),
            "sire_id": flock["sire"].map("S{:02d}".format),
            "breed": flock["breed"],
            "born_at": _moments(start, fate.born),
            "litter_size": flock["litter_size"].astype(float),
            "birth_order": flock["order"].astype(float),
            "sex": flock["sex"],
            "birth_weight_kg": flock["weight_kg"],
            "delivery": flock["delivery"],
            "dam_parity": flock["parity"].astype(float),
            "dam_condition": flock["condition"],
            "birth_place": np.where(flock["outdoors"], "outdoors", "indoors").astype(object),
            "group": flock["pen"],
            "born_alive": pd.array(~fate.stillborn, dtype="boolean"),
        }
    )


def _moments(start: Moments, hours: Floats) -> Moments:
    """Moments so many hours after each start, to the minute; missing where the hours are not finite."""
    known = np.isfinite(hours)
    minutes = np.round(np.where(known, hours, 0.0) * 60).astype(np.int64).astype("timedelta64[m]")
    return np.where(known, start + minutes, np.datetime64("NaT")).astype("datetime64[ns]")


def _ends(flock: pd.DataFrame, fate: Fate, start: Moments, draw: Draw) -> dict[str, object]:
    """How each was lost, left or was last seen; every moment is known to the minute or to a round."""
    ends: dict[str, object] = {"died": fate.dead}
    for name, hours in (
        ("died_at", fate.died),
        ("last_alive_at", fate.last_alive),
        ("found_dead_at", fate.found),
        ("left_at", fate.left),
        ("last_seen_at", fate.last_seen),
    ):
        ends |= {name: _moments(start, hours), f"{name}_is_day": False}
    basis = pd.Series(draw.choice(np.array(list(BASES), dtype=object), len(flock), p=list(BASES.values())))
    return ends | {
        "born_at_is_day": False,
        "cause": flock["cause"].where(fate.dead),
        "cause_basis": basis.where(fate.dead),
        "left_reason": pd.Series("sold", index=flock.index, dtype=object).where(np.isfinite(fate.left)),
    }


def _first_hours(flock: pd.DataFrame, fate: Fate, draw: Draw) -> dict[str, object]:
    """The checks and times of those born alive; nothing is written of what death came before."""
    n, alive, death = len(flock), pd.Series(~fate.stillborn), flock["death_h"].to_numpy()
    hours: dict[str, object] = {
        "breathing_after_s": flock["breathing_s"].where(alive),
        "suck_reflex": flock["suck"].where(alive & (fate.alive_to_h > 1 / 6), "not checked").where(alive),
        "handled": flock["handled"].astype("boolean").where(alive),
    }
    for name in ELAPSED:
        minutes, not_by = _elapsed(flock[f"{name}_h"].to_numpy(), death, fate, draw)
        hours |= {f"{name}_after_min": minutes, f"{name}_after_min_not_by": not_by}
    judged = pd.Series(fate.alive_to_h > MOTHERING_JUDGED_AT_H)
    accepted = flock["rejected"].map({True: "no", False: "yes"}).astype(object)
    after = draw.choice(np.array(["fostered", "artificial", "dam"], dtype=object), n, p=[0.4, 0.4, 0.2])
    reared = pd.Series(np.where(flock["rejected"], after, "dam"), dtype=object)
    return hours | {
        "mothered_up": accepted.where(judged, "not judged").where(alive),
        "rearing": reared.where(fate.alive_to_h > REARED_FROM_H),
    }


def _elapsed(hours: Floats, death_h: Floats, fate: Fate, draw: Draw) -> tuple[Floats, Floats]:
    """Minutes after birth as a person rounds them; where death came first, until when it had not happened."""
    minutes, n = hours * 60, len(hours)
    step = np.where(draw.random(n) < 0.3, 1, np.select([minutes < 60, minutes < 240], [5, 15], 30))
    rounded = np.maximum(np.round(minutes / step), 1) * step
    happened = hours < death_h
    rounded = np.minimum(rounded, np.floor(np.minimum(fate.alive_to_h, 1e6) * 60))
    watched = np.floor(np.minimum(fate.known_h, NOT_BY_LATEST_H) * 60)
    never = ~happened & ~fate.stillborn & (watched >= 1)
    return np.where(happened, rounded, np.nan), np.where(never, watched, np.nan)


def _feeds(page: pd.DataFrame, flock: pd.DataFrame, fate: Fate, fed_h: Floats, draw: Draw) -> pd.DataFrame:
    """Feeds by hand of about a fifth, the first at the age in the births table; none where that cell is blank."""
    tables, chosen = [], draw.random(len(page)) < HAND_FED
    for nth in range(FEEDS_AT_MOST):
        age = fed_h + nth * HOURS_BETWEEN
        chosen = chosen & (age <= fate.alive_to_h) & ((draw.random(len(page)) < FED_AGAIN) | (nth == 0))
        volume = np.round(flock["weight_kg"].to_numpy() * 42 * np.exp(0.3 * draw.normal(size=len(page))), -1)
        source = draw.choice(np.array(["dam", "tubed from dam", "stored"], dtype=object), len(page))
        person = draw.choice(np.array(["keeper 1", "keeper 2"], dtype=object), len(page))
        given = pd.DataFrame({"newborn_id": page["newborn_id"], "volume_ml": volume.clip(10)})
        given = given.assign(source=source, person=person, fed_at=_after(page["born_at"], age))
        tables.append(given[chosen])
    return pd.concat(tables, ignore_index=True)


def _after(born_at: pd.Series, hours: Floats) -> Moments:
    return _moments(born_at.to_numpy(), hours)


def _samples(page: pd.DataFrame, fate: Fate, draw: Draw) -> pd.DataFrame:
    """Serum IgG of some newborns of each season, at one or two days; it does not depend on anything."""
    age = draw.uniform(25, 47, len(page))
    lottery = pd.Series(np.where(age < fate.alive_to_h, draw.random(len(page)), np.nan))
    chosen = lottery.groupby(page["season"].to_numpy()).rank() <= SAMPLED
    igg = np.round(20 * np.exp(0.35 * draw.normal(size=len(page))), 1)
    table = pd.DataFrame({"newborn_id": page["newborn_id"], "igg_g_per_l": igg})
    return table.assign(sampled_at=_after(page["born_at"], np.round(age * 4) / 4))[chosen]


def _joined(rows: pd.DataFrame, births: pd.DataFrame, at: str) -> pd.DataFrame:
    """Feeds or samples with the number of their newborn, its season and its age."""
    joined = rows.merge(births[["newborn_id", "newborn", "season", "born"]], on="newborn_id")
    age = (joined[at] - joined["born"]).dt.total_seconds() / 3600
    joined = joined.assign(age_h=age).drop(columns="born")
    return joined.sort_values(["newborn", "age_h"], ignore_index=True)


def _weather(plan: Plan, midnights: Moments, draw: Draw) -> pd.DataFrame:
    """Hourly weather of every season, the same for all farms; good days and bad ones."""
    days = int(SPREAD_D) + 6
    hour = np.arange(days * 24)
    day, parts = hour // 24, []
    for midnight in midnights:
        swing = (
            6 + 0.06 * day + 2.5 * draw.normal(size=days)[day] + 3.5 * np.sin((hour % 24 - 9) * np.pi / 12)
        )
        wind = 3.5 * np.exp(0.4 * draw.normal(size=days)[day] + 0.2 * draw.normal(size=len(hour)))
        wet = (draw.random(days) < 0.35)[day] & (draw.random(len(hour)) < 0.4)
        frame = pd.DataFrame({"at": _moments(np.full(len(hour), midnight), hour.astype(float))})
        rain = np.where(wet, draw.exponential(0.7, len(hour)), 0.0)
        parts.append(
            frame.assign(temperature_c=swing.round(1), wind_m_per_s=wind.round(1), rain_mm=rain.round(1))
        )
    return pd.concat(parts, ignore_index=True)
