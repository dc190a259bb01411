"""Invented flocks whose truth is known: what was born, how, and what became of it; every effect can be switched.

With no effect switched on nothing differs: a litter shares a risk, so that its newborns are lost together more
often than chance would have it, and apart from that no column has anything to do with loss. How old the lost were
and what they died of does not depend on any column either. The first hours depend on loss in one way only: what
had not happened before death never happened.

Loss is a hazard with a lump at birth (the stillborn) and six levels of age. A ratio of risks is a ratio of the whole
risk, stillbirths included; a ratio of hazards acts from birth on, as long as it applies.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Draw = np.random.Generator

LITTERS = (0.45, 0.45, 0.085, 0.015)
MORE_TRIPLETS = (0.15, 0.40, 0.36, 0.09)
PARITIES = (0.22, 0.20, 0.17, 0.15, 0.11, 0.08, 0.07)
LAST_PARITY = len(PARITIES)
LEAVES, AGEING_LEAVES = 0.15, 0.10  # of the dams, after each season
DELIVERIES = {"unassisted": 0.83, "easy assist": 0.09, "hard assist": 0.05, "malpresentation corrected": 0.03}
SPREAD_D = 34.0
LITTER_RHO = 0.15  # correlation of littermates' losses
STILLBORN = 0.28  # of all that are lost
AGES_H = np.array([0.0, 2.0, 6.0, 24.0, 72.0, 168.0, 1008.0])
LOST_BETWEEN = np.array([0.14, 0.12, 0.20, 0.20, 0.16, 0.18])  # of those lost after birth
LATE_FEED_H = 8.0
PENS = ("Bank", "Croft", "Intake", "Top")
SICK_PEN = "Croft"
OUTBREAK_DAY = 14.0
SICK_FROM_H, SICK_UNTIL_H = 12.0, 240.0
CAUSES_BY_AGE: dict[float, dict[str, float]] = {
    24.0: {
        "birth injury or difficult birth": 0.20,
        "premature or weak": 0.30,
        "starvation-mismothering-exposure": 0.35,
        "congenital": 0.05,
        "unknown": 0.10,
    },
    168.0: {
        "starvation-mismothering-exposure": 0.40,
        "infection": 0.30,
        "accident": 0.15,
        "unknown": 0.15,
    },
    np.inf: {"infection": 0.55, "accident": 0.15, "predation": 0.15, "unknown": 0.15},
}


@dataclass(frozen=True)
class Plan:
    """What is true of an invented flock; the defaults are one season of 350 dams in which nothing differs.

    dams : on each farm. farms : how many there are is drawn between these. risk : lost of all born. surgical : share
    of litters born by caesarean.
    caesarean, twin, triplet (and more) : ratios of risk. bad_year : the same for all born in the last season.
    unfed : ratio of hazards while not yet fed. fed_late : and ever after where the first feed came after 8 h.
    outbreak : share lost to an infection in one pen, of those there from day 14 of the last season on.
    litters, last_litters : shares of litter sizes, and in the last season (None: the same).
    ageing : few young dams join, so that the flock grows older. blank : share of first-hour cells left empty.
    seen : the time of every death is known; else most are found at a round.
    farm_sd : of the log risk, between farms, which then also differ in how many lamb outdoors and of which breed.
    """

    dams: int = 350
    seasons: int = 1
    farms: tuple[int, int] = (1, 1)
    risk: float = 0.12
    surgical: float = 0.03
    caesarean: float = 1.0
    twin: float = 1.0
    triplet: float = 1.0
    bad_year: float = 1.0
    unfed: float = 1.0
    fed_late: float = 1.0
    outbreak: float = 0.0
    litters: tuple[float, ...] = LITTERS
    last_litters: tuple[float, ...] | None = None
    ageing: bool = False
    blank: float = 0.0
    seen: bool = False
    farm_sd: float = 0.0


def newborns(plan: Plan, draw: Draw) -> pd.DataFrame:
    """One row a newborn, over all farms and seasons, with what was true of it.

    Ages are hours since birth; ``born_h`` is hours since midnight before the season's first births and ``death_h``
    infinite for one that lived on.
    """
    parts = []
    for farm in range(int(draw.integers(*plan.farms, endpoint=True))):
        differs = float(np.exp(plan.farm_sd * draw.normal()))
        dams = _first_dams(plan, draw)
        for season in range(plan.seasons):
            if season:
                dams = _next_dams(dams, plan, draw)
            litters = _litters(dams, plan, season == plan.seasons - 1, draw)
            risk = _litter_risk(litters, plan, differs, season == plan.seasons - 1, draw)
            parts.append(_born(litters.assign(risk=risk), draw).assign(farm=farm, season=season))
    frame = pd.concat(parts, ignore_index=True)
    return _with_fates(_with_first_hours(frame, draw), plan, draw)


def _first_dams(plan: Plan, draw: Draw) -> pd.DataFrame:
    parity = draw.choice(np.arange(1, LAST_PARITY + 1), plan.dams, p=PARITIES)
    return pd.DataFrame({"dam": np.arange(plan.dams), "parity": parity})


def _next_dams(dams: pd.DataFrame, plan: Plan, draw: Draw) -> pd.DataFrame:
    """The flock a season later: some leave and young ones take their places; an ageing flock keeps its dams."""
    leaves = draw.random(len(dams)) < (AGEING_LEAVES if plan.ageing else LEAVES)
    leaves |= (dams["parity"].to_numpy() >= LAST_PARITY) & (not plan.ageing)
    kept = dams[~leaves]
    first = int(dams["dam"].max()) + 1
    joined = pd.DataFrame({"dam": np.arange(first, first + int(leaves.sum())), "parity": 0})
    return pd.concat([kept, joined], ignore_index=True).assign(parity=lambda grown: grown["parity"] + 1)


def _litters(dams: pd.DataFrame, plan: Plan, last: bool, draw: Draw) -> pd.DataFrame:
    n = len(dams)
    shares = plan.last_litters if last and plan.last_litters else plan.litters
    outdoors, hill = (0.8, 0.7) if not plan.farm_sd else draw.uniform(0.2, 0.9, 2)
    day = np.clip(0.40 + 0.19 * draw.normal(size=n), 0, 1) * SPREAD_D + draw.random(n)
    return dams.assign(
        litter_size=draw.choice(np.arange(1, len(shares) + 1), n, p=shares),
        litter_born_h=24 * day,
        condition=np.clip(np.round(2 * (2.9 + 0.5 * draw.normal(size=n))) / 2, 1.5, 4.5),
        surgery=draw.random(n) < plan.surgical,
        sire=draw.integers(1, 9, n),
        breed=np.where(draw.random(n) < hill, "hill", "hill cross"),
        pen=draw.choice(np.array(PENS, dtype=object), n),
        outdoors=draw.random(n) < outdoors,
        rejects=draw.random(n) < 0.03,
        litter_weight=draw.normal(size=n),
    )


def _litter_risk(litters: pd.DataFrame, plan: Plan, differs: float, last: bool, draw: Draw) -> Floats:
    """A risk for each litter, drawn from a beta distribution whose mean is what the plan says of such a litter."""
    size = litters["litter_size"].to_numpy()
    ratio = np.select([size == 2, size > 2], [plan.twin, plan.triplet], 1.0)
    ratio = ratio * np.where(litters["surgery"], plan.caesarean, 1.0) * (plan.bad_year if last else 1.0)
    mean, weight = np.minimum(plan.risk * differs * ratio, 0.9), (1 - LITTER_RHO) / LITTER_RHO
    return np.clip(draw.beta(mean * weight, (1 - mean) * weight), 1e-9, 0.999)


def _born(litters: pd.DataFrame, draw: Draw) -> pd.DataFrame:
    frame = litters.loc[litters.index.repeat(litters["litter_size"])]
    order = frame.groupby(level=0).cumcount().to_numpy() + 1
    frame = frame.reset_index(drop=True)
    n, size = len(frame), frame["litter_size"].to_numpy()
    weight = 0.6 * draw.normal(size=n) + 0.8 * frame["litter_weight"].to_numpy()
    mean = np.array([4.8, 4.1, 3.5, 3.1])[size - 1]
    vaginal = draw.choice(np.array(list(DELIVERIES), dtype=object), n, p=list(DELIVERIES.values()))
    return frame.assign(
        order=order,
        born_h=frame["litter_born_h"].to_numpy() + (order - 1) * draw.uniform(10, 30, n) / 60,
        sex=np.where(draw.random(n) < 0.49, "female", "male").astype(object),
        weight_kg=np.round(np.maximum(mean + 0.65 * weight, 0.35 * mean), 1),
        delivery=np.where(frame["surgery"], "caesarean", vaginal),
    )


def _with_first_hours(frame: pd.DataFrame, draw: Draw) -> pd.DataFrame:
    """What each would do in its first hours if it lived; nothing of it goes with loss."""
    n = len(frame)
    stood = 22 / 60 * np.exp(0.55 * draw.normal(size=n))
    overlooked = (draw.random(n) < 0.14) * draw.exponential(8.0, n)
    fed = stood + 38 / 60 * np.exp(0.6 * draw.normal(size=n)) + overlooked
    return frame.assign(
        breathing_s=np.round(np.maximum(4, 14 * np.exp(0.5 * draw.normal(size=n)))),
        suck=draw.choice(np.array(["strong", "weak", "absent"], dtype=object), n, p=[0.85, 0.12, 0.03]),
        stood_h=stood,
        fed_h=np.minimum(fed, draw.uniform(16, 20, n)),
        meconium_h=1.1 * np.exp(0.5 * draw.normal(size=n)),
        handled=draw.random(n) < 0.2,
        rejected=frame["rejects"].to_numpy() | (draw.random(n) < 0.03),
    )


def _with_fates(frame: pd.DataFrame, plan: Plan, draw: Draw) -> pd.DataFrame:
    harder = np.log1p(-frame["risk"].to_numpy()) / np.log1p(-plan.risk)
    death = _death_h(draw.exponential(size=len(frame)) / harder, frame["fed_h"].to_numpy(), plan)
    ill = _ill_at_h(frame, plan, harder, draw)
    cause = _causes(death, draw)
    cause[ill < death] = "infection"
    return frame.assign(death_h=np.minimum(death, ill), cause=cause)


def _death_h(threshold: Floats, fed_h: Floats, plan: Plan) -> Floats:
    """The age at which the cumulative hazard reaches the threshold: 0 for the stillborn, infinite for the living."""
    whole = -np.log1p(-plan.risk)
    upto = np.concatenate([[0.0], np.cumsum(LOST_BETWEEN)]) * (1 - STILLBORN) * whole
    at_feed = np.interp(fed_h, AGES_H, upto)
    left = threshold - STILLBORN * whole
    late = np.where(fed_h > LATE_FEED_H, plan.fed_late, 1.0)
    used = np.where(
        left < plan.unfed * at_feed, left / plan.unfed, at_feed + (left - plan.unfed * at_feed) / late
    )
    ages = np.interp(used, upto, AGES_H, left=0.0, right=np.inf)
    return np.where(left <= 0, 0.0, ages)


def _ill_at_h(frame: pd.DataFrame, plan: Plan, harder: Floats, draw: Draw) -> Floats:
    """The age at death of the infection: one pen, from day 14 of the last season on, to an age of ten days."""
    there = (frame["season"] == plan.seasons - 1) & (frame["farm"] == 0) & (frame["pen"] == SICK_PEN)
    start = np.maximum(24 * OUTBREAK_DAY - frame["born_h"].to_numpy(), SICK_FROM_H)
    rate = -np.log1p(-plan.outbreak) / (SICK_UNTIL_H - SICK_FROM_H) * harder
    waits = draw.exponential(size=len(frame))
    age = start + np.divide(waits, rate, out=np.full(len(frame), np.inf), where=rate > 0)
    return np.where(there.to_numpy() & (age < SICK_UNTIL_H), age, np.inf)


def _causes(death_h: Floats, draw: Draw) -> NDArray[np.object_]:
    cause = np.full(len(death_h), None, dtype=object)
    since = 0.0
    for until, shares in CAUSES_BY_AGE.items():
        here = (death_h > since) & (death_h <= until) & np.isfinite(death_h)
        cause[here] = draw.choice(
            np.array(list(shares), dtype=object), int(here.sum()), p=list(shares.values())
        )
        since = until
    cause[death_h == 0] = "stillbirth"
    return cause
