"""Two groups of newborns: how far apart are their risks, and could it be chance?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates.arguments import Floats, codes, one_of, same_length, share
from neonatal_stats.estimates.clusters import cluster_rows, event_rows
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.shares.contrast_limits import difference_limits, p_values, ratio_limits, sparse
from neonatal_stats.estimates.shares.exact import conditional_odds_ratio
from neonatal_stats.estimates.shares.two_by_two import TwoByTwo, against_rest, independent

MEASURES = ("risk_ratio", "risk_difference", "odds_ratio")


def compare(
    event: ArrayLike,
    exposed: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    measure: str = "risk_ratio",
    level: float = 0.95,
) -> Estimate:
    """Risk of the exposed newborns against the others, with litters allowed for.

    Parameters
    ----------
    event, exposed : array_like of 0 and 1, one entry a newborn.
    cluster : array_like of whole numbers, optional
        Litter (or farm); a cluster may hold newborns of both groups.
    weight : array_like, optional
        How many newborns the row stands for.
    measure : {"risk_ratio", "risk_difference", "odds_ratio"}
    level : float

    Returns
    -------
    Estimate
        Where a group has no event the ratio is 0 with a finite high limit, or NaN with a finite low limit.

    Counted
    -------
    Every row with a weight above zero.

    Method
    ------
    Variances of the two shares and their covariance by linearisation over clusters; neither share's design
    effect is taken below 1. Ratios: logarithms, with Student's t. Difference: Newcombe's hybrid of two
    Wilson intervals at n / design effect, less the correlation of the two shares (Newcombe 1998b, method 10).
    Sparse tables (an expected count under 5, or an empty cell): score limits at effective counts, for
    independent newborns' odds ratio the exact conditional mid-P limits. p: score test with littermates'
    outcomes exchangeable (without clusters Pearson's chi-square); in sparse tables mid-P, or the score test
    where that is larger.

    Limits
    ------
    p and interval are different approximations: at the very border they can disagree.

    References
    ----------
    Newcombe RG (1998) Stat Med 17:873-890 and 2635-2650; Katz D et al. (1978) Biometrics 34:469-474; Koopman
    PAR (1984) Biometrics 40:513-517; Rao & Scott (1992) Biometrics 48:577-585; Donner A, Klar N (2000) Design
    and Analysis of Cluster Randomization Trials.

    Examples
    --------
    5 of 56 against 0 of 29: difference -0.038 to 0.193 (Altman 2000, p. 49).
    """
    outcome, weights = event_rows(event, weight)
    group = codes(exposed, "exposed", below=2)
    same_length(event=outcome, exposed=group)
    members = cluster_rows(cluster, len(outcome))
    table = against_rest(outcome, weights, [group == 1], members)
    return _estimate(table, measure, level)


def compare_counts(
    a: float, n1: float, c: float, n0: float, *, measure: str = "risk_ratio", level: float = 0.95
) -> Estimate:
    """``a`` events of ``n1`` newborns against ``c`` of ``n0``, from a ready table; as `compare`, no clusters.

    Examples
    --------
    Cats on dry food with urological syndrome, 13/2176 against 5/3354: 4.01 (1.43-11.23; Willeberg 1977).
    """
    return _estimate(independent(a, n1, c, n0), measure, level)


def _estimate(table: TwoByTwo, measure: str, level: float) -> Estimate:
    """The single table as an Estimate, with the sentence for what could not be done."""
    one_of(measure, MEASURES, "measure")
    share(level)
    thin, p = bool(sparse(table)[0]), float(p_values(table)[0])
    difference = measure == "risk_difference"
    limits = difference_limits(table, level) if difference else ratio_limits(table, measure, level)
    value, low, high = (float(x[0]) for x in limits)
    whole = all(cell[0] == np.floor(cell[0]) for cell in (table.a, table.n1, table.c, table.n0))
    if measure == "odds_ratio" and thin and whole and not table.clustered and np.isfinite(low):
        exact = conditional_odds_ratio(
            int(table.a[0]), int(table.n1[0]), int(table.c[0]), int(table.n0[0]), level=level
        )
        low, high = exact.low, exact.high
    return Estimate(
        value, low, high, p, _method(measure, thin, table.clustered), _note(table, measure, value)
    )


def _method(measure: str, thin: bool, clustered: bool) -> str:
    few = "odds ratio, score limits, mid-P" if clustered else "odds ratio, mid-P (exact conditional)"
    names = {
        "risk_difference": ("risk difference, Newcombe hybrid score", "risk difference, Newcombe, mid-P"),
        "risk_ratio": ("risk ratio, log scale", "risk ratio, score limits, mid-P"),
        "odds_ratio": ("odds ratio, log scale", few),
    }
    return names[measure][thin] + (", clustered" if clustered else "")


def _note(table: TwoByTwo, measure: str, value: float) -> str:
    a, n1, c, n0 = (float(cell[0]) for cell in (table.a, table.n1, table.c, table.n0))
    if n1 == 0 or n0 == 0:
        return f"cannot be estimated: no newborns in the {'first' if n1 == 0 else 'comparison'} group"
    if measure == "risk_difference":
        return ""
    if a + c == 0:
        return "cannot be estimated: no events in either group"
    if measure == "odds_ratio" and a + c == n1 + n0:
        return "cannot be estimated: every newborn in both groups had the event"
    if np.isnan(value):
        why = (
            "no events in the comparison group"
            if c == 0
            else "every newborn in the first group had the event"
        )
        return f"cannot be estimated: {why}; only a lower limit can be given"
    return "only an upper limit can be given: no events in the first group" if value == 0 else ""


@dataclass(frozen=True, eq=False)
class GroupsAgainstRest:
    """L groups, each against all other newborns; every array has one entry a group.

    ``births``, ``deaths`` and ``risk`` of the group; ``rest_births``, ``rest_deaths``, ``rest_risk`` of all
    others; ``risk_ratio`` with ``low``, ``high`` and ``p``; ``excess`` deaths (deaths less what the rest's
    risk would have given) with ``excess_low`` and ``excess_high``; ``share_of_deaths``; ``sparse`` where the
    methods for small numbers were used. NaN where a number cannot be estimated.
    """

    births: Floats
    deaths: Floats
    risk: Floats
    rest_births: Floats
    rest_deaths: Floats
    rest_risk: Floats
    risk_ratio: Floats
    low: Floats
    high: Floats
    p: Floats
    excess: Floats
    excess_low: Floats
    excess_high: Floats
    share_of_deaths: Floats
    sparse: NDArray[np.bool_]


def compare_each(
    event: ArrayLike,
    membership: NDArray[np.bool_] | Sequence[ArrayLike],
    *,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    level: float = 0.95,
) -> GroupsAgainstRest:
    """Every group against the rest of the newborns, hundreds at a time.

    Parameters
    ----------
    event : array_like of 0 and 1, one entry a newborn (n,).
    membership : boolean matrix (n, L), or a list of L boolean arrays of length n
        Groups may overlap.
    cluster, weight, level : as in `compare`.

    Method
    ------
    As `compare`. Excess deaths are births x risk difference, with the difference's limits.

    Limits
    ------
    p-values are not adjusted for how many groups were tried; see `benjamini_hochberg`.
    """
    outcome, weights = event_rows(event, weight)
    masks = list(np.asarray(membership).T) if isinstance(membership, np.ndarray) else membership
    groups = []
    for mask in masks:
        group = np.asarray(mask)
        same_length(event=outcome, membership=group)
        groups.append(group if group.dtype == bool else codes(group, "membership", below=2) == 1)
    table = against_rest(outcome, weights, groups, cluster_rows(cluster, len(outcome)))
    risk_ratio, low, high = ratio_limits(table, "risk_ratio", level)
    difference = difference_limits(table, level)
    excess, excess_low, excess_high = (table.n1 * limit for limit in difference)
    deaths = table.a + table.c
    return GroupsAgainstRest(
        table.n1, table.a, table.p1, table.n0, table.c, table.p0,
        risk_ratio, low, high, p_values(table), excess, excess_low, excess_high,
        np.divide(table.a, deaths, out=np.full(deaths.shape, np.nan), where=deaths > 0), sparse(table),
    )  # fmt: skip
