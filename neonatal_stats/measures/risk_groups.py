"""Every level of every factor, and every two of them together, each against the rest of the newborns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.clusters import agreement, cluster_rows
from neonatal_stats.estimates.contrast import difference_limits, ratio_limits
from neonatal_stats.estimates.many_groups import (
    benjamini_hochberg,
    cells_against_rest,
    chosen,
    nested_p,
    side_by_side,
    skewed_p,
)
from neonatal_stats.estimates.planning import design_effect
from neonatal_stats.estimates.results import ratio
from neonatal_stats.estimates.shrinkage import beta_binomial_prior
from neonatal_stats.estimates.two_by_two import TwoByTwo
from neonatal_stats.measures.birth_factors import Factor

Floats = NDArray[np.float64]

TO_LEVELS = 0.8
"""Share of the false discoveries allowed that goes to single levels; there are few, and they are asked about first."""

COLUMNS = (
    "factor", "level", "with_factor", "with_level",
    "births", "deaths", "risk", "rest_births", "rest_deaths", "rest_risk",
    "risk_ratio", "low", "high", "excess", "excess_low", "excess_high", "share_of_deaths", "p", "q", "tried",
)  # fmt: skip


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
    minimum_group: int = 10,
    level: float = 0.95,
    pairs: bool = True,
) -> pd.DataFrame:
    """Each group of newborns against all others whose group is known.

    Parameters
    ----------
    event : lost, one entry a newborn.
    cluster : litter (or farm) numbers.
    factors : see `birth_factors.factors`; codes are as long as `event`.
    minimum_group : smallest number of newborns, in the group and in its rest, that is tried.
    pairs : also every two-way combination over the minimum size.

    Returns
    -------
    Frame with the columns of `COLUMNS`, levels first and then pairs; ``with_factor`` and ``with_level`` are "" for
    levels. Groups under the minimum size stand in it with ``tried`` False and no interval. Groups that hold
    the very same newborns are named once, by the first name.

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
            _pairs(y, members[0], one, other, rho, marks, minimum_group)
            for one, other in combinations(factors, 2)
        ]
    if not parts:
        return pd.DataFrame(columns=list(COLUMNS))
    return _frame(parts, minimum_group, level)


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


def _frame(parts: list[Cells], minimum_group: int, level: float) -> pd.DataFrame:
    """All tables as one frame, each set of newborns once."""
    names = pd.DataFrame([name for part in parts for name in part.names], columns=list(COLUMNS[:4]))
    prints = pd.DataFrame({i: np.concatenate([getattr(p, f"print_{i}") for p in parts]) for i in (1, 2)})
    first = np.flatnonzero(~prints.duplicated().to_numpy())
    table = chosen(side_by_side([part.table for part in parts]), first)
    deaths = table.a + table.c
    tried = (np.minimum(table.n1, table.n0) >= minimum_group) & (deaths > 0)
    risk_ratio, low, high = (
        np.where(tried, limit, np.nan) for limit in ratio_limits(table, "risk_ratio", level)
    )
    difference = difference_limits(table, level)
    excess, excess_low, excess_high = (np.where(tried, table.n1 * limit, np.nan) for limit in difference)
    p = np.where(tried, skewed_p(table), np.nan)
    single = names["with_factor"].iloc[first].eq("").to_numpy()
    others = np.concatenate([part.others for part in parts], axis=1)[:, first]
    within = np.fmax(_within(table, *others[:2]), _within(table, *others[2:]))
    largest = np.where(np.isnan(p), np.nan, np.fmax(p, within))
    q = _q_values(np.where(table.p1 > table.p0, largest / 2, 1 - largest / 2), single)
    p = largest
    numbers = (
        table.n1, table.a, table.p1, table.n0, table.c, table.p0,
        risk_ratio, low, high, excess, excess_low, excess_high, ratio(table.a, deaths), p, q, tried,
    )  # fmt: skip
    frame = names.iloc[first].reset_index(drop=True)
    return frame.assign(**dict(zip(COLUMNS[4:], numbers, strict=True)))


def _within(table: TwoByTwo, deaths: Floats, births: Floats) -> Floats:
    """p of pairs against the others of one of their levels; 1 where they lie to the other side of those."""
    p = nested_p(table, deaths, births)
    opposed = (table.p1 - ratio(deaths, births)) * (table.p1 - table.p0) < 0
    return np.where(opposed & np.isfinite(p), 1.0, p)


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


def with_shrunken_risk(groups: pd.DataFrame, *, effect: float = 1.0) -> pd.DataFrame:
    """The groups with `shrunken_risk`: drawn towards the flock's risk by as much as the levels truly differ.

    Method: beta-binomial empirical Bayes; the prior is learnt from the levels of single factors that were tried,
    litters allowed for by the design effect, and used for pairs as well.
    """
    levels = groups[groups["tried"].astype(bool) & (groups["with_factor"] == "")]
    if levels.empty:
        return groups.assign(shrunken_risk=np.nan)
    prior = beta_binomial_prior(levels["deaths"], levels["births"], design_effect=effect)
    deaths = groups["deaths"] / effect + prior.a
    births = groups["births"] / effect + prior.a + prior.b
    return groups.assign(shrunken_risk=(deaths / births).where(groups["tried"].astype(bool)))
