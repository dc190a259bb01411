"""Did the colostrum reach the blood? Passive transfer classes, age at first feed, efficiency of
absorption.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.estimates.smooth import SmoothMean, smooth_mean
from neonatal_stats.measures.intake import igg_mass_g, usable
from neonatal_stats.measures.milestones import FEEDING, hours
from neonatal_stats.measures.transfer import Classed, class_shares, classed, efficiency
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import printing
from neonatal_stats.vocabulary.passive_transfer import (
    BRIX,
    IGG,
    PROTEIN,
    scheme,
)
from neonatal_stats.words import Sentence, Voice, cautions
from neonatal_stats.words import colostrum as words

GRID = 41
FEWEST_FOR_WORDS = 5
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
    """Every serum measure with a value for which the species has a scheme, IgG first."""
    found = []
    for measure in (IGG, PROTEIN, BRIX):
        one = scheme(species, measure)
        if one is not None and measure in samples and samples[measure].notna().any():
            found.append(_transfer(births, feeds, classed(births, samples, one), species, settings))
    return tuple(found)


def _transfer(
    births: pd.DataFrame, feeds: pd.DataFrame, found: Classed, species: str, settings: Settings
) -> Transfer:
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


def sentences(result: tuple[Transfer, ...], voice: Voice) -> Iterator[Sentence]:
    """Classes, samples not classed, the curve read at two ages, the efficiency."""
    for one in result:
        name = words.measure_label(voice, one.classed.scheme.measure)
        if len(one.shares):
            listed = "; ".join(class_line(row, voice) for row in one.shares.to_dict("records"))
            n = printing.count(len(one.classed.samples))
            yield Sentence(words.classes_sentence(voice, name, listed, n))
        aside = [(voice.say(why), n) for why, n in one.classed.left_out if n]
        if aside:
            listed = ", ".join(f"{why} {printing.count(n)}" for why, n in aside)
            yield Sentence(words.set_aside_sentence(voice, name, listed))
        yield from _curve_sentence(one, name, voice)
        if len(one.efficiency) >= FEWEST_FOR_WORDS:
            low, middle, high = one.efficiency.quantile([0.25, 0.5, 0.75])
            counted = printing.count(len(one.efficiency))
            shown = (printing.percent(middle), printing.percent(low), printing.percent(high))
            yield Sentence(words.efficiency_sentence(voice, counted, *shown))
    if result:
        yield cautions.blood(voice)


def class_line(row: dict[Any, Any], voice: Voice) -> str:
    """One class with its count, and its goal where there is one."""
    share = printing.counts(row["events"], row["n"])
    if pd.isna(row["target"]):
        return words.class_part(voice, voice.say(str(row["group"])), share)
    sign, target = voice.say(row["sign"]), printing.percent(row["target"], 0)
    return words.target_part(voice, voice.say(str(row["group"])), share, sign, target)


def _curve_sentence(one: Transfer, name: str, voice: Voice) -> Iterator[Sentence]:
    at = one.curve[one.curve["fed_h"].isin(READ_AT_H)]
    if len(at) == len(READ_AT_H):
        early, late = (printing.number(value) for value in at["value"])
        first, last = (printing.age(age) for age in READ_AT_H)
        yield Sentence(words.smooth_sentence(voice, name, first, last, early, late))
