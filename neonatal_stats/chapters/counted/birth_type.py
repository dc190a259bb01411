"""Losses by what was known at birth: every group against its comparison, crude and within birth type."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.smooth import smooth_share
from neonatal_stats.estimates.stratified import mantel_haenszel
from neonatal_stats.measures.compared import compared
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.groups import grouped
from neonatal_stats.measures.occurrence import rates
from neonatal_stats.measures.windows import watched_to_h
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

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
    species: str


def answer(season: Season) -> BirthType:
    """Compare every group that was known at birth.

    Counted: losses of all born, the stillborn included; newborns that left alive count as not lost, and those
    for which a factor was not recorded are left out of that factor alone.
    """
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
        species=season.species,
    )


def told_apart(births: pd.DataFrame) -> bool:
    """Do the records tell groups apart: is there a factor with at least two groups?"""
    return any(name in births and len(births[name].dropna().unique()) > 1 for name in FACTORS)


def risk_differences(
    newborns: pd.DataFrame, comparisons: pd.DataFrame, event: str, *, level: float
) -> pd.DataFrame:
    """Risk difference of each comparison of a `compared` frame.

    Returns
    -------
    One row a row of `comparisons`, its index kept: difference, difference_low, difference_high (shares);
    missing where nothing was compared.

    Counted: the newborns of the two groups of a row whose outcome is known.
    """
    found = [_difference(newborns, row, event, level) for row in _named(comparisons)]
    columns = ["difference", "difference_low", "difference_high"]
    return pd.DataFrame(found, columns=columns, index=comparisons.index, dtype=float)


def _difference(
    newborns: pd.DataFrame, row: dict[str, object], event: str, level: float
) -> tuple[float, float, float]:
    pair = _pair(newborns, row, event)
    if pair.empty:
        return np.nan, np.nan, np.nan
    found = compare(
        pair[event].to_numpy(bool),
        pair["exposed"].to_numpy(bool),
        cluster=pair["cluster"].to_numpy(),
        measure="risk_difference",
        level=level,
    )
    return found.estimate, found.low, found.high


def adjusted_ratios(
    newborns: pd.DataFrame,
    comparisons: pd.DataFrame,
    event: str,
    *,
    within: Sequence[str] = ("birth_type",),
    level: float,
) -> pd.DataFrame:
    """Mantel-Haenszel risk ratio of each comparison of a `compared` frame, within strata.

    Returns
    -------
    One row a row of `comparisons`: adjusted, adjusted_low, adjusted_high, agree_p (do the strata agree?);
    missing where nothing was compared, where there are no strata or the factor is itself one, or where no
    stratum holds both groups.

    Counted: the newborns of the two groups of a row whose outcome and stratum are known.

    Method
    ------
    Mantel-Haenszel with the variance summed over clusters; Woolf's test of homogeneity.
    """
    found = [_adjusted(newborns, row, event, within, level) for row in _named(comparisons)]
    columns = ["adjusted", "adjusted_low", "adjusted_high", "agree_p"]
    return pd.DataFrame(found, columns=columns, index=comparisons.index, dtype=float)


def _adjusted(
    newborns: pd.DataFrame, row: dict[str, object], event: str, within: Sequence[str], level: float
) -> tuple[float, float, float, float]:
    nothing = (np.nan, np.nan, np.nan, np.nan)
    pair = _pair(newborns, row, event)
    if pair.empty or not within or row["factor"] in within:
        return nothing
    _, stratum = grouped(pair, within)
    pair, stratum = pair[stratum >= 0], stratum[stratum >= 0]
    both = pd.Series(pair["exposed"].to_numpy(bool)).groupby(stratum).nunique()
    if not (both == 2).any():
        return nothing
    found, agree = mantel_haenszel(
        pair[event].to_numpy(bool),
        pair["exposed"].to_numpy(bool),
        stratum,
        cluster=pair["cluster"].to_numpy(),
        measure="risk_ratio",
        level=level,
    )
    return found.estimate, found.low, found.high, agree.p


def _named(comparisons: pd.DataFrame) -> list[dict[str, object]]:
    cells = zip(*(comparisons[name] for name in ("factor", "group", "versus")), strict=True)
    return [{"factor": factor, "group": group, "versus": versus} for factor, group, versus in cells]


def _pair(newborns: pd.DataFrame, row: dict[str, object], event: str) -> pd.DataFrame:
    """The newborns of the two groups, with `exposed`; empty where nothing was compared."""
    factor, group, versus = str(row["factor"]), row["group"], row["versus"]
    if not isinstance(versus, str):
        return newborns.head(0)
    level = newborns[factor].astype(str)
    pair = newborns[newborns[event].notna() & level.isin([str(group), versus])]
    return pair.assign(exposed=level[pair.index] == str(group))


POINTS = 60
READ_AT = (0.05, 0.25, 0.50, 0.75, 0.95)


@dataclass(frozen=True, eq=False)
class ByWeight:
    """Loss against birth weight.

    ``curve`` and ``read`` have value (kg), share, low, high: a fine grid, and the weights below which 5, 25,
    50, 75 and 95 % of newborns lie. ``weight_kg`` and ``lost`` are the newborns weighed; ``p`` tests whether
    loss goes with weight at all; ``notes`` say what could not be done.
    """

    curve: pd.DataFrame
    read: pd.DataFrame
    weight_kg: NDArray[np.float64]
    lost: NDArray[np.bool_]
    p: float
    notes: tuple[str, ...]


def loss_by_weight(births: pd.DataFrame, *, level: float) -> ByWeight | None:
    """Smooth loss against birth weight; None where no curve can be drawn (too few weighed, or too few lost).

    Counted: newborns weighed, those born dead too. Species of very different weights are not mixed: None
    where several stand together.
    """
    if "birth_weight_kg" not in births or len(births["species"].unique()) > 1:
        return None
    weighed = births[births["birth_weight_kg"].notna()]
    weight, lost = weighed["birth_weight_kg"].to_numpy(float), weighed["lost"].to_numpy(bool)
    if len(weighed) < 2 or weight.min() == weight.max():
        return None
    first, last = np.quantile(weight, [0.005, 0.995])
    grid = np.linspace(float(first), float(last), POINTS)
    marks = np.unique(np.quantile(weight, READ_AT, method="nearest"))
    at = np.concatenate([grid, marks])
    found = smooth_share(weight, lost, cluster=weighed["cluster"].to_numpy(), at=at, level=level)
    frame = pd.DataFrame({"value": at, "share": found.share, "low": found.low, "high": found.high})
    if frame["share"].isna().all():
        return None
    curve, read = frame.iloc[:POINTS], frame.iloc[POINTS:].reset_index(drop=True)
    return ByWeight(curve, read, weight, lost, found.p, found.notes)
