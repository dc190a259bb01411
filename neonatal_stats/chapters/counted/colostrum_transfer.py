"""Passive transfer, counted: blood samples classed by published cut points, the result against age at first feed, and
how much of the IgG fed was absorbed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.estimates.smooth import SmoothMean, smooth_mean
from neonatal_stats.measures.intake import igg_mass_g, usable
from neonatal_stats.measures.milestones import FEEDING, hours
from neonatal_stats.measures.rates import rates
from neonatal_stats.measures.transfer import Classed, classed, schemes
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.passive_transfer import IGG, PLASMA_SHARE_OF_WEIGHT

GRID = 41
READ_AT_H = (2.0, 8.0)


@dataclass(frozen=True, eq=False)
class Transfer:
    """One serum measure: ``classed`` samples, ``shares`` per class, the ``curve`` against age at first feed.

    ``curve`` is a frame fed_h, value, low, high (empty where too few); ``points`` fed_h and value of each
    newborn; ``efficiency`` the apparent efficiency of absorption of each newborn for which it can be worked
    out (IgG only).
    """

    classed: Classed
    shares: pd.DataFrame
    curve: pd.DataFrame
    points: pd.DataFrame
    efficiency: pd.Series


def transfers(
    births: pd.DataFrame, feeds: pd.DataFrame, samples: pd.DataFrame, species: str, settings: Settings
) -> tuple[Transfer, ...]:
    """Every serum measure with a value for which the species has a scheme, IgG first; samples as in `classed`."""
    return tuple(
        _transfer(births, feeds, classed(births, samples, one), species, settings)
        for one in schemes(samples, species)
    )


def _transfer(
    births: pd.DataFrame, feeds: pd.DataFrame, found: Classed, species: str, settings: Settings
) -> Transfer:
    """One measure; on the curve are those classed whose first feed is written down."""
    fed = pd.Series(hours(births, FEEDING[0]).to_numpy(), index=births["newborn"].to_numpy())
    points = found.samples.assign(fed_h=found.samples["newborn"].map(fed)).dropna(subset=["fed_h"])
    ages = np.linspace(points["fed_h"].min(), points["fed_h"].max(), GRID) if len(points) else np.array([0.0])
    ages = np.unique(np.append(ages, [age for age in READ_AT_H if ages[0] <= age <= ages[-1]]))
    curve = pd.DataFrame(columns=["fed_h", "value", "low", "high"], dtype=float)
    if len(points) >= settings.minimum_group and points["fed_h"].min() < points["fed_h"].max():
        curve = _as_frame(ages, _smooth(points, ages, settings.level))
    absorbed = pd.Series(dtype=float)
    if found.scheme.measure == IGG:
        absorbed = _efficiency(births, feeds, found.samples, species)
    shares = class_shares(found, level=settings.level) if len(found.samples) else pd.DataFrame()
    return Transfer(found, shares, curve, points.reset_index(drop=True), absorbed)


def class_shares(found: Classed, *, level: float) -> pd.DataFrame:
    """Share of newborns in each class, every class a row: group, events, n, share, low, high, target,
    sign.
    """
    rows = []
    for place, name in enumerate(found.scheme.classes):
        event = (found.samples["group"] == name).astype("boolean")
        share = rates(found.samples.assign(event=event), (), "event", level=level).iloc[0]
        has_target = bool(found.scheme.targets)
        rows.append(
            {
                "group": name,
                **share,
                "target": found.scheme.targets[place] if has_target else np.nan,
                "sign": found.scheme.target_signs[place] if has_target else "",
            }
        )
    return pd.DataFrame(rows)


def _smooth(points: pd.DataFrame, ages: np.ndarray, level: float) -> SmoothMean:
    return smooth_mean(
        points["fed_h"].to_numpy(float),
        points["value"].to_numpy(float),
        cluster=points["cluster"].to_numpy(),
        at=ages,
        level=level,
        df=2,
    )


def _as_frame(ages: np.ndarray, found: SmoothMean) -> pd.DataFrame:
    frame = pd.DataFrame({"fed_h": ages, "value": found.mean, "low": found.low, "high": found.high})
    return frame.dropna().reset_index(drop=True)


def efficiency(
    serum_g_per_l: pd.Series,
    weight_kg: pd.Series,
    fed_g: pd.Series,
    plasma_share: float = PLASMA_SHARE_OF_WEIGHT,
) -> pd.Series:
    """Apparent efficiency of absorption, a share: serum IgG x body weight x plasma share / IgG fed.

    Examples
    --------
    Serum 15 g/l in a 40 kg calf fed 180 g: 15 x 40 x 0.09 / 180 = 0.30.
    """
    return serum_g_per_l * weight_kg * plasma_share / fed_g.where(fed_g > 0)


def _efficiency(births: pd.DataFrame, feeds: pd.DataFrame, samples: pd.DataFrame, species: str) -> pd.Series:
    """Serum IgG against the IgG of all feeds before the sample, where every one of them has a mass."""
    if feeds.empty or "birth_weight_kg" not in births:
        return pd.Series(dtype=float)
    known = usable(feeds)
    known = known.assign(
        mass=igg_mass_g(known, species), sampled=known["newborn"].map(samples.set_index("newborn")["age_h"])
    )
    before = known[known["age_h"] <= known["sampled"]]
    mass = before.groupby("newborn")["mass"].agg(lambda grams: grams.sum() if grams.notna().all() else np.nan)
    weight = births.set_index("newborn")["birth_weight_kg"].astype(float)
    newborn = samples["newborn"]
    return efficiency(samples["value"], newborn.map(weight), newborn.map(mass)).dropna()
