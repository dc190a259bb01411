"""Losses by what was known at birth: every group against its comparison, crude and within birth type."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.smooth import smooth_share
from neonatal_stats.estimates.stratified import mantel_haenszel
from neonatal_stats.estimates.verdict import Verdict, judge_test
from neonatal_stats.measures.birth_factors import BY_EMBRYOTOMY, with_made
from neonatal_stats.measures.claims import (
    Claim,
    claim_of_test,
    claims_of,
    family_of_factor,
    keyed,
    line_of_factor,
)
from neonatal_stats.measures.contrasts import by_factor
from neonatal_stats.measures.rates import Counted, grouped, rates
from neonatal_stats.measures.windows import by_the_end, watched_to_h
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

FACTORS = (
    "several", "birth_type", "delivery", "born_by", "difficulty", "sex", "weight_class", "first_litter", "parity_class",
)  # fmt: skip
"""The columns compared, each with the group of `vocabulary.factors` that the others are held against."""


@dataclass(frozen=True, eq=False)
class BirthType(Shown):
    """Losses by group.

    ``groups`` the contrast frame of `measures.contrasts.by_factor`, with the columns of `FURTHER`, keyed; ``crossed``
    the ``rates`` frame of birth type x delivery (empty where delivery was not written); ``kinds`` that of how they were
    born x delivery, so that hard pulls and turned newborns stand apart among the vaginal births; ``weight`` the smooth
    loss against birth weight, or None; ``not_recorded`` newborns without each factor; ``end_h`` the last age watched;
    ``period`` the seasons counted.
    """

    groups: pd.DataFrame
    crossed: pd.DataFrame
    kinds: pd.DataFrame
    weight: ByWeight | None
    not_recorded: dict[str, int]
    whole: float
    end_h: float
    period: tuple[str, ...]
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> BirthType:
    """Compare every group that was known at birth.

    Counted: losses of all born by the last age watched, the stillborn included; newborns that left alive count as not
    lost, and those for which a factor was not recorded are left out of that factor alone.
    """
    settings = season.settings
    births = with_made(by_the_end(season.births, settings), "several", "first_litter")
    found = by_factor(births, FACTORS, outcome="lost", settings=settings)
    cross, kinds = ("birth_type", "delivery"), ("born_by", "delivery")
    delivery = "delivery" in births and births["delivery"].notna().any()
    return BirthType(
        groups=keyed(found.join(beside(births, found, level=settings.level)), "birth_type"),
        crossed=rates(births, cross, "lost", level=settings.level) if delivery else pd.DataFrame(),
        kinds=rates(births, kinds, "lost", level=settings.level) if delivery else pd.DataFrame(),
        weight=loss_by_weight(births, settings),
        not_recorded={name: int(births[name].isna().sum()) for name in FACTORS if name in births},
        whole=float(births["lost"].mean()),
        end_h=watched_to_h(births, settings),
        period=season.seasons,
        counted=Counted(len(births)),
        settings=settings,
        species=season.species,
    )


ASKED = {
    "birth_type/born_by/born by surgery": "surgery",
    "birth_type/several/twin or more": "twins",
    "birth_type/first_litter/first litter": "first litter",
}
"""The questions that are always asked, by the key of the claim that answers."""
VAGINAL = "born vaginally"
BY_WEIGHT = "birth_type/birth weight"


def claims(result: BirthType) -> tuple[Claim, ...]:
    """Every group against the one it is held against, and whether loss goes with birth weight.

    Embryotomy is no claim: it is done for a newborn that is lost already.
    """
    groups = result.groups[result.groups["versus"].notna() & ~result.groups["group"].isin(BY_EMBRYOTOMY)]
    found = claims_of(
        groups,
        chapter="birth_type",
        family=groups["factor"].map(family_of_factor),
        line=groups["factor"].map(line_of_factor),
        period=result.period,
        settings=result.settings,
        asked=ASKED,
    )
    return (*found, *_claim_by_weight(result))


def _claim_by_weight(result: BirthType) -> tuple[Claim, ...]:
    """The smooth curve: losses more than if all had had the least risk of the five weights at which it is read."""
    weight = result.weight
    if weight is None:
        return ()
    lost, n = int(weight.lost.sum()), len(weight.lost)
    claim = claim_of_test(
        weight.p,
        key=BY_WEIGHT,
        family="weight",
        line="weight_class",
        events=lost,
        n=n,
        excess=lost - n * float(weight.read["share"].min()),
        period=result.period,
        sayable=weight.verdict is not Verdict.TOO_FEW,
    )
    return (claim,)


def told_apart(births: pd.DataFrame) -> bool:
    """Do the records tell groups apart: is there a factor with at least two groups?"""
    return any(name in births and len(births[name].dropna().unique()) > 1 for name in FACTORS)


FURTHER = (
    "difference", "difference_low", "difference_high", "adjusted", "adjusted_low", "adjusted_high", "agree_p",
)  # fmt: skip
"""What stands beside a risk ratio: the risk difference, and the risk ratio within birth types (do those agree?)."""


def beside(births: pd.DataFrame, groups: pd.DataFrame, *, level: float) -> pd.DataFrame:
    """The columns of `FURTHER` of each row of a contrast frame, its index kept; missing where nothing was compared.

    Within birth types: missing also for birth type itself, and where no type holds newborns of both groups.

    Counted: the newborns of the two groups of a row whose outcome (and birth type) is known.

    Method
    ------
    Newcombe's risk difference; Mantel-Haenszel with the variance summed over clusters, Woolf's test of homogeneity.
    """
    rows = [_beside(births, row, level) for row in groups.to_dict("records")]
    return pd.DataFrame(rows, columns=list(FURTHER), index=groups.index, dtype=float)


def _beside(births: pd.DataFrame, row: Mapping[Hashable, Any], level: float) -> dict[str, float]:
    if not isinstance(row["versus"], str):
        return {}
    group = births[row["factor"]]
    two = births["lost"].notna() & group.isin([row["group"], row["versus"]])
    pair = births.loc[two, ["lost", "cluster", "birth_type"]]
    pair = pair.assign(exposed=group[pair.index] == row["group"])
    lost, exposed, litter = _arrays(pair)
    found = compare(lost, exposed, cluster=litter, measure="risk_difference", level=level)
    cells = {"difference": found.estimate, "difference_low": found.low, "difference_high": found.high}
    apart = row["factor"] not in ("birth_type", "several") and len(births["birth_type"].unique()) > 1
    return cells | (_within_types(pair, level) if apart else {})


def _within_types(pair: pd.DataFrame, level: float) -> dict[str, float]:
    """The risk ratio of the exposed within birth types; nothing where no type holds newborns of both groups."""
    _, stratum = grouped(pair, ("birth_type",))
    known, stratum = pair[stratum >= 0], stratum[stratum >= 0]
    if not (known["exposed"].groupby(stratum).nunique() == 2).any():
        return {}
    lost, exposed, litter = _arrays(known)
    found, agree = mantel_haenszel(lost, exposed, stratum, cluster=litter, measure="risk_ratio", level=level)
    limits = {"adjusted": found.estimate, "adjusted_low": found.low, "adjusted_high": found.high}
    return limits | {"agree_p": agree.p}


def _arrays(pair: pd.DataFrame) -> tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.int64]]:
    """Lost, exposed and litter of each newborn."""
    return pair["lost"].to_numpy(bool), pair["exposed"].to_numpy(bool), pair["cluster"].to_numpy()


POINTS = 60
READ_AT = (0.05, 0.25, 0.50, 0.75, 0.95)


@dataclass(frozen=True, eq=False)
class ByWeight:
    """Loss against birth weight.

    ``curve`` and ``read`` have value (kg), share, low, high: a fine grid, and the weights below which 5, 25,
    50, 75 and 95 % of newborns lie. ``weight_kg`` and ``lost`` are the newborns weighed; ``p`` tests whether
    loss goes with weight at all, ``verdict`` is what that allows to be said; ``notes`` say what could not be done.
    """

    curve: pd.DataFrame
    read: pd.DataFrame
    weight_kg: NDArray[np.float64]
    lost: NDArray[np.bool_]
    p: float
    verdict: Verdict
    notes: tuple[str, ...]


def loss_by_weight(births: pd.DataFrame, settings: Settings) -> ByWeight | None:
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
    found = smooth_share(weight, lost, cluster=weighed["cluster"].to_numpy(), at=at, level=settings.level)
    frame = pd.DataFrame({"value": at, "share": found.share, "low": found.low, "high": found.high})
    if frame["share"].isna().all():
        return None
    curve, read = frame.iloc[:POINTS], frame.iloc[POINTS:].reset_index(drop=True)
    verdict = judge_test(
        found.p,
        level=settings.level,
        events=int(lost.sum()),
        smallest_group=len(lost),
        minimum_group=settings.minimum_group,
    )
    return ByWeight(curve, read, weight, lost, found.p, verdict, found.notes)
