"""Every level of every factor, and every two of them together, each against the rest of the newborns.

Groups that are part of a broader group stand under it: twins and triplets under "twins and more".
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.clusters import agreement, cluster_rows, of_each_kind
from neonatal_stats.estimates.contrast import difference_limits, ratio_limits
from neonatal_stats.estimates.many_groups import (
    benjamini_hochberg,
    beta_binomial_prior,
    cells_against_rest,
    chosen,
    nested_p,
    side_by_side,
    skewed_p,
)
from neonatal_stats.estimates.planning import design_effect
from neonatal_stats.estimates.results import ratio
from neonatal_stats.estimates.stratified import mantel_haenszel
from neonatal_stats.estimates.two_by_two import TwoByTwo
from neonatal_stats.estimates.verdict import LEANING_P
from neonatal_stats.measures.birth_factors import Factor
from neonatal_stats.measures.contrasts import CONTRAST, REST, cells_of, with_verdicts
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.factors import SAME, WITHIN

Floats = NDArray[np.float64]

TO_LEVELS = 0.8
"""Share of the false discoveries allowed that goes to single levels; there are few, and they are asked about first."""

GROUPS = ("factor", "group", "with_factor", "with_group")
"""The group columns: a level of a factor, and of a second one where the two stand together ("" where not)."""
BESIDES = ("share", "share_versus", "excess", "excess_low", "excess_high", "share_of_events", "tried")
"""What stands after the contrast: both shares lost, the events beyond the rest's risk, their share of all events."""


@dataclass(frozen=True, eq=False)
class Cells:
    """The tables of one classification, and who they are: (factor, level, second factor, second level)."""

    names: list[tuple[str, str, str, str]]
    table: TwoByTwo
    print_1: Floats
    print_2: Floats
    others: Floats


def risk_groups(
    event: NDArray[np.bool_],
    cluster: NDArray[np.int64],
    factors: Sequence[Factor],
    *,
    settings: Settings,
    pairs: bool = True,
) -> pd.DataFrame:
    """Each group of newborns against all others whose group is known.

    Parameters
    ----------
    event : lost, one entry a newborn.
    cluster : litter (or farm) numbers.
    factors : see `birth_factors.factors`; codes are as long as `event`.
    settings : minimum_group is the smallest number of newborns, in the group and in its rest, that is tried.
    pairs : also every two-way combination over the minimum size.

    Returns
    -------
    A contrast frame (risk ratio against the rest) with the group columns `GROUPS` and, after the verdict, `BESIDES`;
    levels first and then pairs. Groups under the minimum size stand in it with ``tried`` False and no interval. Groups
    that hold the very same newborns are named once, by the first name. A group that lost less is at most leaning,
    since q asks only who lost more.

    Method
    ------
    `estimates.contrast`: clustered risk ratio and difference; excess deaths are births x risk difference; p is
    the score test with littermates exchangeable, and for a pair the largest of three: against the rest, and
    against the others of each of its two levels. q (Benjamini & Hochberg 1995) asks only who lost more, over
    all that were tried, `TO_LEVELS` of the false discoveries allowed to levels and the rest to pairs.
    """
    y = np.asarray(event, dtype=np.float64)
    members = cluster_rows(cluster, len(y))
    assert members is not None
    rho = agreement(y, np.ones(len(y)), *members) if len(y) else 0.0
    marks = np.random.default_rng(1).integers(1, 2**30, (2, len(y))).astype(np.float64)
    parts = [_levels(y, members[0], one, rho, marks) for one in factors]
    if pairs:
        parts += [
            _pairs(y, members[0], one, other, rho, marks, settings.minimum_group)
            for one, other in combinations(factors, 2)
        ]
    if not parts:
        return pd.DataFrame(columns=[*GROUPS, *CONTRAST, *BESIDES])
    return _frame(parts, settings)


def _levels(y: Floats, cluster: NDArray[np.int64], one: Factor, rho: float, marks: Floats) -> Cells:
    known = one.known
    names = [(one.name, level, "", "") for level in one.levels]
    return _cells(y[known], cluster[known], one.code[known], names, rho, marks[:, known])


def _pairs(
    y: Floats,
    cluster: NDArray[np.int64],
    one: Factor,
    other: Factor,
    rho: float,
    marks: Floats,
    minimum_group: int,
) -> Cells:
    """The cells of two factors that are large enough and smaller than each of their two levels."""
    known = one.known & other.known
    width = len(other.levels)
    cell = one.code[known] * width + other.code[known]
    names = [(one.name, a, other.name, b) for a in one.levels for b in other.levels]
    size = np.bincount(cell, minlength=len(names))
    whole = np.minimum(
        np.repeat(np.bincount(one.code[one.known], minlength=len(one.levels)), width),
        np.tile(np.bincount(other.code[other.known], minlength=width), len(one.levels)),
    )
    wanted = np.flatnonzero((size >= minimum_group) & (size < whole))
    cells = _cells(y[known], cluster[known], cell, names, rho, marks[:, known])
    others = _others(cells.table, (len(one.levels), width))
    return Cells(
        [names[i] for i in wanted],
        chosen(cells.table, wanted),
        cells.print_1[wanted],
        cells.print_2[wanted],
        others[:, wanted],
    )


def _others(table: TwoByTwo, shape: tuple[int, int]) -> Floats:
    """Deaths and newborns of the first level outside the pair, then of the second: (4, pairs)."""
    deaths, births = table.a.reshape(shape), table.n1.reshape(shape)
    parts = [
        (cells.sum(axis=axis, keepdims=True) - cells).ravel() for axis in (1, 0) for cells in (deaths, births)
    ]
    return np.array(parts)


def _cells(
    y: Floats,
    cluster: NDArray[np.int64],
    cell: NDArray[np.int64],
    names: list[tuple[str, str, str, str]],
    rho: float,
    marks: Floats,
) -> Cells:
    table = cells_against_rest(y, cell, cluster, cells=len(names), rho=rho)
    one, two = (np.bincount(cell, weights=mark, minlength=len(names)).astype(float) for mark in marks)
    return Cells(names, table, one, two, np.full((4, len(names)), np.nan))


def _frame(parts: list[Cells], settings: Settings) -> pd.DataFrame:
    """All tables as one contrast frame, each set of newborns once."""
    names = pd.DataFrame([name for part in parts for name in part.names], columns=list(GROUPS))
    prints = pd.DataFrame({i: np.concatenate([getattr(p, f"print_{i}") for p in parts]) for i in (1, 2)})
    first = np.flatnonzero(~prints.duplicated().to_numpy())
    table = chosen(side_by_side([part.table for part in parts]), first)
    tried = (np.minimum(table.n1, table.n0) >= settings.minimum_group) & (table.a + table.c > 0)
    others = np.concatenate([part.others for part in parts], axis=1)[:, first]
    groups = names.iloc[first].reset_index(drop=True)
    frame = groups.assign(
        versus=REST,
        measure="risk ratio",
        events=table.a,
        n=table.n1,
        events_versus=table.c,
        n_versus=table.n0,
        **_ratios(table, tried, settings.level),
        **_chances(table, tried, others, groups["with_factor"].eq("").to_numpy()),
        share=table.p1,
        share_versus=table.p0,
        **_excess(table, tried, settings.level),
        share_of_events=ratio(table.a, table.a + table.c),
        tried=tried,
    )
    # whoever lost less is never on the watch list, however large a share of false alarms is allowed
    judged = with_verdicts(frame.assign(q=frame["q"].where(frame["excess"] > 0, np.inf)), settings)
    return judged.assign(q=frame["q"])[[*GROUPS, *CONTRAST, *BESIDES]]


def _ratios(table: TwoByTwo, tried: NDArray[np.bool_], level: float) -> dict[str, Floats]:
    """The risk ratio and its limits, of the groups that are tried."""
    limits = zip(("estimate", "low", "high"), ratio_limits(table, "risk_ratio", level), strict=True)
    return {name: np.where(tried, limit, np.nan) for name, limit in limits}


def _excess(table: TwoByTwo, tried: NDArray[np.bool_], level: float) -> dict[str, Floats]:
    """Events beyond the rest's risk and their limits, of the groups that are tried."""
    limits = zip(("excess", "excess_low", "excess_high"), difference_limits(table, level), strict=True)
    return {name: np.where(tried, table.n1 * limit, np.nan) for name, limit in limits}


def _chances(
    table: TwoByTwo, tried: NDArray[np.bool_], others: Floats, single: NDArray[np.bool_]
) -> dict[str, Floats]:
    """p, for a pair the largest of three, and q, which asks only who lost more."""
    p = np.where(tried, skewed_p(table), np.nan)
    within = np.fmax(_within(table, *others[:2]), _within(table, *others[2:]))
    largest = np.where(np.isnan(p), np.nan, np.fmax(p, within))
    return {"p": largest, "q": _q_values(np.where(table.p1 > table.p0, largest / 2, 1 - largest / 2), single)}


def _within(table: TwoByTwo, deaths: Floats, births: Floats) -> Floats:
    """p of pairs against the others of one of their levels; 1 where they lie to the other side of those."""
    p = nested_p(table, deaths, births)
    opposed = (table.p1 - ratio(deaths, births)) * (table.p1 - table.p0) < 0
    return np.where(opposed & np.isfinite(p), 1.0, p)


def stratified(
    groups: pd.DataFrame,
    event: NDArray[np.bool_],
    cluster: NDArray[np.int64],
    stratum: NDArray[np.int64],
    factors: Sequence[Factor],
    settings: Settings,
) -> pd.DataFrame:
    """The groups held against the rest of their own season: the same frame, with ratio, excess, p and q by stratum.

    Of pairs those that are neither clear nor leaning as they are stay so, and are not worked out again.

    Parameters
    ----------
    groups : a frame of `risk_groups` made from the same ``event``, ``cluster`` and ``factors``.
    stratum : number of each newborn's season; where there is one only, the frame comes back as it is.

    Method
    ------
    Mantel-Haenszel risk ratio and risk difference over the strata (`estimates.stratified`); p is the larger of the
    stratified and the crude one, so that neither a bad season nor its allowance makes a group.
    """
    if len(np.unique(stratum)) < 2 or groups.empty:
        return groups
    by_name = {factor.name: factor for factor in factors}
    within = groups["tried"].astype(bool) & ((groups["with_factor"] == "") | (groups["p"] < LEANING_P))
    rows = groups.to_dict("records")
    for row in (row for row, asked in zip(rows, within, strict=True) if asked):
        known, inside = members_of(by_name, row)
        found = _within_strata(event[known], inside[known], stratum[known], cluster[known], settings.level)
        if np.isfinite(found["p"]):
            found["p"] = max(found["p"], row["p"])
            found |= {name: found[name] * row["n"] for name in ("excess", "excess_low", "excess_high")}
            row.update(found)
    frame = pd.DataFrame(rows, columns=groups.columns, index=groups.index)
    more = frame["excess"] > 0
    one_sided = np.where(more, frame["p"] / 2, 1 - frame["p"] / 2)
    q = _q_values(one_sided.astype(float), frame["with_factor"].eq("").to_numpy())
    judged = with_verdicts(frame.assign(q=np.where(more, q, np.inf)), settings)
    return judged.assign(q=q)[list(groups.columns)]


def _within_strata(
    event: NDArray[np.bool_],
    inside: NDArray[np.bool_],
    stratum: NDArray[np.int64],
    cluster: NDArray[np.int64],
    level: float,
) -> dict[str, float]:
    """Estimate, low, high, p of the ratio, and the difference of risks with its limits as the excess of one newborn."""
    litter, cell, weight, repeats = of_each_kind(cluster, 4 * stratum + 2 * inside + event)
    newborns = cell % 2, cell // 2 % 2, cell // 4
    given: dict[str, Any] = {"cluster": litter, "weight": weight, "repeats": repeats, "level": level}
    ratio_found, _ = mantel_haenszel(*newborns, measure="risk_ratio", **given)
    points, _ = mantel_haenszel(*newborns, measure="risk_difference", **given)
    excess = {"excess": points.estimate, "excess_low": points.low, "excess_high": points.high}
    return cells_of(ratio_found) | excess


def members_of(
    factors: Mapping[str, Factor], row: Mapping[Any, Any]
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Newborns whose level is known, and those of the group, in a row of one level or of two."""
    one = factors[row["factor"]]
    known, inside = one.known, one.holds(row["group"])
    if row["with_factor"]:
        other = factors[row["with_factor"]]
        known, inside = known & other.known, inside & other.holds(row["with_group"])
    return known, inside


def flock_design_effect(event: NDArray[np.bool_], cluster: NDArray[np.int64]) -> float:
    """By how much litters shrink what the newborns can tell: 1 + (mean litter size - 1) x their agreement."""
    y = np.asarray(event, dtype=np.float64)
    members = cluster_rows(cluster, len(y))
    assert members is not None
    sizes = np.bincount(members[0], minlength=members[1])
    return design_effect(sizes, agreement(y, np.ones(len(y)), *members))


def _q_values(p: Floats, single: NDArray[np.bool_]) -> Floats:
    """Benjamini-Hochberg, most of the false discoveries allowed to single levels and the rest to pairs."""
    both = bool(np.isfinite(p[single]).any() and np.isfinite(p[~single]).any())
    q = np.full(len(p), np.nan)
    for family, share in ((single, TO_LEVELS), (~single, 1 - TO_LEVELS)):
        q[family] = np.minimum(1.0, benjamini_hochberg(p[family]) / (share if both else 1.0))
    return q


def with_shrunken_share(groups: pd.DataFrame, *, effect: float) -> pd.DataFrame:
    """The groups with `shrunken_share`: drawn towards the flock's risk by as much as the levels truly differ.

    Method: beta-binomial empirical Bayes; the prior is learnt from the levels of single factors that were tried,
    litters allowed for by the design effect, and used for pairs as well.
    """
    levels = groups[groups["tried"].astype(bool) & (groups["with_factor"] == "")]
    if levels.empty:
        return groups.assign(shrunken_share=np.nan)
    prior = beta_binomial_prior(levels["events"], levels["n"], design_effect=effect)
    deaths = groups["events"] / effect + prior.a
    births = groups["n"] / effect + prior.a + prior.b
    return groups.assign(shrunken_share=(deaths / births).where(groups["tried"].astype(bool)))


def nested(groups: pd.DataFrame) -> pd.DataFrame:
    """The groups in their order, but each part right under the broader group that holds it, where that is there.

    Parameters
    ----------
    groups : frame with factor and group; a row of two levels together (with_factor) is no part of anything.

    Returns
    -------
    The rows with `depth`: 1 for a part under its broader group, else 0. A group that is there twice under two names
    (singles as a birth type and as "not twins and more") stays once, by the name that `vocabulary.factors.SAME` keeps.
    """
    pair = groups["with_factor"] != "" if "with_factor" in groups else [False] * len(groups)
    names = [
        (factor, group) if not two else ("", "")
        for factor, group, two in zip(groups["factor"], groups["group"], pair, strict=True)
    ]
    there = set(names)
    kept = [place for place, name in enumerate(names) if SAME.get(name) not in there]
    broader = {place: WITHIN[names[place]] for place in kept if WITHIN.get(names[place]) in there}
    order: list[int] = []
    for place in kept:
        if place not in broader:
            order += [place, *(part for part, whole in broader.items() if whole == names[place])]
    return groups.iloc[order].assign(depth=[int(place in broader) for place in order])
