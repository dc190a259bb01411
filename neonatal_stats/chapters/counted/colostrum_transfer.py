"""Passive transfer, counted: blood samples classed by published cut points, the result against age at first feed, and
how much of the IgG fed was absorbed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.estimates.smooth import SmoothMean, smooth_mean
from neonatal_stats.measures.colostrum import igg_mass_g, usable
from neonatal_stats.measures.milestones import FEEDING, hours
from neonatal_stats.measures.rates import one_below_another, rates
from neonatal_stats.measures.transfer import (
    GROUPED_BY,
    Classed,
    classed,
    limits,
    schemes,
    unclassed,
    with_groups,
)
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.passive_transfer import IGG, PLASMA_SHARE_OF_WEIGHT

SPREAD = ("least", "lower_quarter", "median", "upper_quarter", "most")
GRID = 41
READ_AT_H = (2.0, 8.0)


@dataclass(frozen=True, eq=False)
class Transfer:
    """One serum measure: ``classed`` samples, ``shares`` per class, the ``curve`` against age at first feed.

    ``shares`` has besides the least and the most that a share can be, whatever the samples are that were perhaps drawn
    outside the window. ``groups`` is a ``rates`` frame of the lowest class by what newborns are grouped by: factor,
    group, events, n, share, low, high, litters. ``curve`` is a frame fed_h, value, low, high (empty where too few);
    ``points`` fed_h and value of each
    newborn; ``efficiency`` the apparent efficiency of absorption of each newborn for which it can be worked
    out (IgG only). ``limits`` is one of the limits that stand for a value, "" where none does.
    """

    classed: Classed
    shares: pd.DataFrame
    groups: pd.DataFrame
    curve: pd.DataFrame
    points: pd.DataFrame
    efficiency: pd.Series
    level: float
    limits: str = ""


def without_more_groups(found: tuple[Transfer, ...]) -> tuple[Transfer, ...]:
    """Beside births the groups of the first measure alone, and without the sources, which are compared elsewhere."""
    first, *rest = (replace(one, groups=one.groups.head(0)) for one in found)
    groups = found[0].groups
    return (replace(first, groups=groups[groups["factor"] != "source"].reset_index(drop=True)), *rest)


def transfers(
    births: pd.DataFrame, feeds: pd.DataFrame, samples: pd.DataFrame, species: str, settings: Settings
) -> tuple[Transfer, ...]:
    """Every serum measure with a value for which the species has a scheme, IgG first; samples as in `classed`."""
    return tuple(
        _transfer(births, feeds, samples, classed(births, samples, one), species, settings)
        for one in schemes(samples, species)
    )


def without_cuts(samples: pd.DataFrame, species: str) -> pd.DataFrame:
    """The serum measures of which no cut points are at hand: measure, n and how the values spread."""
    rows = []
    for measure in unclassed(samples, species):
        if not samples[measure].notna().any():
            continue
        values = samples[measure].dropna().astype(float)
        spread = values.quantile([0, 0.25, 0.5, 0.75, 1]).to_numpy()
        rows.append({"measure": measure, "n": len(values), **dict(zip(SPREAD, spread, strict=True))})
    return pd.DataFrame(rows)


def _transfer(
    births: pd.DataFrame,
    feeds: pd.DataFrame,
    samples: pd.DataFrame,
    found: Classed,
    species: str,
    settings: Settings,
) -> Transfer:
    """One measure; on the curve are those classed whose first feed is written down."""
    fed = pd.Series(hours(births, FEEDING[0]).to_numpy(), index=births["newborn"].to_numpy())
    points = found.samples.assign(fed_h=found.samples["newborn"].map(fed).astype(float))
    points = points.dropna(subset=["fed_h", "value"])
    ages = np.linspace(points["fed_h"].min(), points["fed_h"].max(), GRID) if len(points) else np.array([0.0])
    ages = np.unique(np.append(ages, [age for age in READ_AT_H if ages[0] <= age <= ages[-1]]))
    curve = pd.DataFrame(columns=["fed_h", "value", "low", "high"], dtype=float)
    if len(points) >= settings.minimum_group and points["fed_h"].min() < points["fed_h"].max():
        curve = _as_frame(ages, _smooth(points, ages, settings.level))
    absorbed = pd.Series(dtype=float)
    if found.scheme.measure == IGG:
        absorbed = _efficiency(births, feeds, found.samples, species)
    counted = len(found.samples) + len(found.undecided) + len(found.between)
    shares = class_shares(found, level=settings.level) if counted else pd.DataFrame()
    grouped = with_groups(found.samples, births, feeds, samples)
    return Transfer(
        found,
        shares,
        low_by_group(grouped, found.scheme.classes[-1], settings.level),
        curve,
        points.reset_index(drop=True),
        absorbed,
        settings.level,
        str(next(iter(limits(samples, found.scheme.measure).dropna()), "")),
    )


def low_by_group(samples: pd.DataFrame, lowest: str, level: float) -> pd.DataFrame:
    """The share in the lowest class by each thing that newborns are grouped by, where it has two groups or more."""
    event = (samples["group"].astype(object) == lowest).astype("boolean")
    parts = []
    for factor in (name for name in GROUPED_BY if name in samples):
        of = samples[samples[factor].notna()].assign(event=event)
        found = rates(of, (factor,), "event", level=level).rename(columns={factor: "group"})
        if len(found) > 1:
            parts.append(found.assign(group=found["group"].astype(str), factor=factor))
    names = ["factor", "group", "events", "n", "share", "low", "high", "litters"]
    return pd.concat(parts, ignore_index=True)[names] if parts else pd.DataFrame(columns=names)


def class_shares(found: Classed, *, level: float) -> pd.DataFrame:
    """Share of newborns in each class, every class a row: group, events, n, share, low, high, target, sign.

    Besides, with the undecided counted too: events_with, n_with, share_with, low_with, high_with; ``least`` and
    ``most`` are the share with every undecided sample, and every limit that allows the class, counted against the
    class, or for it alone.
    """
    both = one_below_another(found.samples, found.undecided)
    rows = []
    for place, name in enumerate(found.scheme.classes):
        certain, together = (_share(frame, name, level) for frame in (found.samples, both))
        here, others = int((found.undecided["group"] == name).sum()), len(found.undecided)
        has_target = bool(found.scheme.targets)
        allowed, surely = (
            found.between["best"].le(place) & found.between["worst"].ge(place),
            found.between["surely"],
        )
        for_it = here + int(allowed.sum())
        with_it = here + int((allowed | surely).sum())
        against = others - here + len(found.between)
        rows.append(
            {
                "group": name,
                **certain,
                **{f"{part}_with": together[part] for part in ("events", "n", "share", "low", "high")},
                "least": certain["events"] / max(1, certain["n"] + against),
                "most": (certain["events"] + for_it) / max(1, certain["n"] + with_it),
                "target": found.scheme.targets[place] if has_target else np.nan,
                "sign": found.scheme.target_signs[place] if has_target else "",
            }
        )
    return pd.DataFrame(rows)


NOBODY = {"events": 0, "n": 0, "share": np.nan, "low": np.nan, "high": np.nan}


def _share(samples: pd.DataFrame, name: str, level: float) -> dict[str, Any]:
    """The share in one class, with its interval."""
    if samples.empty:
        return {**NOBODY, "design_effect": np.nan, "litters": 0}
    event = (samples["group"].astype(object) == name).astype("boolean")
    return {
        str(key): value
        for key, value in rates(samples.assign(event=event), (), "event", level=level).iloc[0].items()
    }


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
