"""Did the colostrum reach the blood? Passive transfer classes, age at first feed, efficiency of
absorption.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.transfer import draw_classes, draw_response
from neonatal_stats.estimates.smooth import SmoothMean, smooth_mean
from neonatal_stats.measures.intake import igg_mass_g, usable
from neonatal_stats.measures.milestones import FEEDING, hours
from neonatal_stats.measures.transfer import Classed, class_shares, classed, efficiency
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printing
from neonatal_stats.vocabulary.passive_transfer import (
    BRIX,
    IGG,
    PLASMA_SHARE_OF_WEIGHT,
    PROTEIN,
    PUBLISHED_EFFICIENCY,
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
            listed = "; ".join(_part(row, voice) for row in one.shares.to_dict("records"))
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


def _part(row: dict[Any, Any], voice: Voice) -> str:
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


def tables(result: tuple[Transfer, ...], voice: Voice, settings: Settings) -> list[Table]:
    """Classes per measure; samples not classed; the curve at stated ages; efficiency."""
    built = []
    for one in result:
        measure = one.classed.scheme.measure.split("_")[0]
        if len(one.shares):
            built.append(_classes(one, measure, voice, settings))
        built.append(_left_out(one, measure, voice))
        if len(one.curve):
            built.append(_curve_table(one, measure, voice, settings))
        if len(one.efficiency):
            built.append(_efficiency_table(one, voice))
    return built


def _classes(one: Transfer, measure: str, voice: Voice, settings: Settings) -> Table:
    say, plan = voice.say, one.classed.scheme
    ranges = _class_ranges(plan.cuts, voice)
    frame = one.shares.assign(
        name=[say(str(group)) for group in one.shares["group"]],
        cut=ranges,
        goal=[
            ""
            if pd.isna(row["target"])
            else say("{sign} {share}", sign=say(row["sign"]), share=printing.percent(row["target"], 0))
            for row in one.shares.to_dict("records")
        ],
    )
    headings = {
        "name": say("Class"),
        "cut": words.measure_label(voice, plan.measure),
        "events": say("{newborns}"),
        "n": say("Classed"),
        "share": say("Share"),
        "interval": interval_heading(voice, settings.level),
    }
    if plan.targets:
        headings["goal"] = say("Goal for a herd")
    formats = {"events": "count", "n": "count", "share": "share"}
    note = say(
        "Cut points: {source}. Drawn at {early} to {late}. Other sources: {spread}.",
        source=plan.source,
        early=printing.age(plan.from_h),
        late=printing.age(plan.to_h),
        spread=plan.spread,
    )
    title = say("Passive transfer by {measure}", measure=words.measure_label(voice, plan.measure))
    return Table(f"colostrum-transfer-{measure}", title, frame, headings, formats, note)


def _class_ranges(cuts: tuple[float, ...], voice: Voice) -> list[str]:
    shown = [printing.number(cut) for cut in cuts]
    first = [voice.say("{cut} or more", cut=shown[0])]
    between = [voice.say("{low} to under {high}", low=low, high=high) for high, low in pairwise(shown)]
    return [*first, *between, voice.say("under {cut}", cut=shown[-1])]


def _left_out(one: Transfer, measure: str, voice: Voice) -> Table:
    say = voice.say
    counts = ((say("classed"), len(one.classed.samples)), *((say(why), n) for why, n in one.classed.left_out))
    rows = pd.DataFrame(counts, columns=["why", "n"])
    title = say("Samples: {measure}", measure=words.measure_label(voice, one.classed.scheme.measure))
    headings = {"why": say("Sample"), "n": say("Count")}
    return Table(f"colostrum-samples-{measure}", title, rows, headings, {"n": "count"})


def _curve_table(one: Transfer, measure: str, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    wanted = one.curve["fed_h"].isin(READ_AT_H) | (one.curve.index % 10 == 0)
    name = words.measure_label(voice, one.classed.scheme.measure)
    headings = {"fed_h": say("First feed, h"), "value": say("Mean {measure}", measure=name)}
    headings["interval"] = interval_heading(voice, settings.level)
    formats = {"fed_h": "number", "value": "number", "interval": "number"}
    title = say("{measure} by age at first feed", measure=name)
    note = say(
        "{n} {newborns} with a sample and a first feed written down.", n=printing.count(len(one.points))
    )
    frame = one.curve[wanted].reset_index(drop=True)
    return Table(f"colostrum-response-{measure}", title, frame, headings, formats, note)


def _efficiency_table(one: Transfer, voice: Voice) -> Table:
    say = voice.say
    q = one.efficiency.quantile([0, 0.25, 0.5, 0.75, 1]).to_numpy()
    names = (say("Least"), say("Lower quarter"), say("Median"), say("Upper quarter"), say("Most"))
    rows = pd.DataFrame([{"n": len(one.efficiency), **dict(zip("abcde", q, strict=True))}])
    headings = {"n": say("{newborns}"), **dict(zip("abcde", names, strict=True))}
    mean, low, high = (printing.percent(share) for share in PUBLISHED_EFFICIENCY)
    note = say(
        "Serum IgG x birth weight x {plasma} plasma / IgG fed before the sample. Suckling nobody measured "
        "makes it look higher. In 100 calves: mean {mean}, {low} to {high} (Halleran 2017).",
        plasma=printing.percent(PLASMA_SHARE_OF_WEIGHT, 0),
        mean=mean,
        low=low,
        high=high,
    )
    formats = {"n": "count", **dict.fromkeys("abcde", "share")}
    return Table(
        "colostrum-efficiency", say("Apparent efficiency of absorption"), rows, headings, formats, note
    )


def figures(result: tuple[Transfer, ...], voice: Voice) -> list[Figure]:
    """Classes as one bar a measure with the goals beside it; serum result against age at first feed."""
    say = voice.say
    drawn = []
    for one in result:
        measure, name = (
            one.classed.scheme.measure.split("_")[0],
            words.measure_label(voice, one.classed.scheme.measure),
        )
        if len(one.shares):
            listed = "; ".join(_part(row, voice) for row in one.shares.to_dict("records"))
            drawn.append(
                draw_classes(
                    one.shares.assign(label=[say(str(group)) for group in one.shares["group"]]),
                    name=f"colostrum-transfer-{measure}",
                    title=say("Passive transfer by {measure}", measure=name),
                    alt=say("Share of {newborns} in each class: {list}.", list=listed),
                    axis=say("% of {newborns} classed"),
                    goal=say("goal for a herd"),
                )
            )
        if len(one.curve):
            drawn.append(
                draw_response(
                    one.curve,
                    one.points,
                    one.classed.scheme.cuts,
                    name=f"colostrum-response-{measure}",
                    title=say("{measure} by age at first feed", measure=name),
                    alt=say(
                        "One dot a {newborn} ({n}), the mean as a line with its interval, cut points "
                        "dotted; from {first} to {last}.",
                        n=printing.count(len(one.points)),
                        first=printing.number(one.curve["value"].iloc[0]),
                        last=printing.number(one.curve["value"].iloc[-1]),
                    ),
                    fed_axis=say("age at first feed, hours since birth"),
                    value_axis=name,
                )
            )
    return drawn
