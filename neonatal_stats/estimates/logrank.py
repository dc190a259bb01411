"""Log-rank: do groups of newborns differ in survival, over all ages?

References
----------
Mantel N (1966) Cancer Chemotherapy Reports 50:163-170. Peto R, Peto J (1972) J R Stat Soc A 135:185-207.
Lee EW, Wei LJ, Amato DA (1992) Cox-type regression for large numbers of small groups of correlated failure
time observations. In: Survival Analysis: State of the Art, Kluwer, 237-247 (the robust score).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.counts import EventTable, read_rows, tabulate
from neonatal_stats.estimates.influence import Histories, by_kind, clustered_rows, in_own_column, outer_sums
from neonatal_stats.estimates.results import Test, chi_square_p

ONE_GROUP = "cannot be tested: only one group was at risk when newborns died"
FEW_CLUSTERS = "cannot be tested: fewer litters than groups"
NO_DEATHS = "cannot be tested: no deaths"


def logrank(table: EventTable) -> Test:
    """Log-rank test between the groups of an event table, all causes together.

    Parameters
    ----------
    table : event table with two or more groups. Groups never at risk at a death are left out and take no
        degree of freedom.

    Returns
    -------
    Test : chi-square; NaN with a note where nothing can be tested.

    Method
    ------
    Deaths less those expected, with the hypergeometric variance under ties, as R's ``survdiff``.

    Limits
    ------
    Takes littermates as independent: for a season use :func:`logrank_clustered`.
    """
    at_risk, deaths, total, died = _at_deaths(table)
    share_of_risk = at_risk / total
    excess = (deaths - share_of_risk * died).sum(axis=1)
    spread = died * np.divide(total - died, total - 1, out=np.zeros_like(total), where=total > 1)
    weighted = share_of_risk * spread
    variance = np.diag(weighted.sum(axis=1)) - weighted @ share_of_risk.T
    return quadratic_test(excess, variance, (share_of_risk * died).sum(axis=1) > 0, "log-rank")


def _at_deaths(table: EventTable) -> tuple[Floats, Floats, Floats, Floats]:
    """At risk and died by group, and in all groups together, at the ages at which anyone died."""
    deaths = table.deaths
    some = deaths.any(axis=0)
    at_risk, deaths = table.at_risk[:, some], deaths[:, some]
    return at_risk, deaths, at_risk.sum(axis=0), deaths.sum(axis=0)


def quadratic_test(
    score: Floats, variance: Floats, kept: ArrayLike, method: str, clusters: float = np.inf
) -> Test:
    """Chi-square of a score that sums to zero over groups: those kept, but for the last of them.

    A variance from fewer ``clusters`` than groups says nothing: the statistic would be the number of clusters.
    """
    groups = np.flatnonzero(kept)
    if len(groups) < 2:
        return Test(np.nan, 0, np.nan, method, ONE_GROUP if len(groups) else NO_DEATHS)
    if clusters < len(groups):
        return Test(np.nan, 0, np.nan, method, FEW_CLUSTERS)
    used = groups[:-1]
    within = variance[np.ix_(used, used)]
    rank = int(np.linalg.matrix_rank(within, hermitian=True))
    if not rank:
        return Test(np.nan, 0, np.nan, method, "cannot be tested: nothing varies between the groups")
    statistic = float(score[used] @ np.linalg.pinv(within, hermitian=True) @ score[used])
    return Test(statistic, rank, chi_square_p(statistic, rank), method)


def logrank_clustered(
    age_h: ArrayLike,
    died: ArrayLike,
    group: ArrayLike,
    cluster: ArrayLike,
    *,
    weight: ArrayLike | None = None,
    copies: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    n_groups: int | None = None,
) -> Test:
    """Log-rank test between groups of newborns, its variance clustered on the litter.

    Parameters
    ----------
    age_h, died, group, cluster : age at death or at last being seen, 1 died 0 left alive, group and litter
        (n,). Litters may have newborns in several groups.
    weight, copies, entry_h, n_groups : as in
        :func:`~neonatal_stats.estimates.survival.kaplan_meier_clustered`.

    Returns
    -------
    Test : chi-square; NaN with a note where nothing can be tested.

    Method
    ------
    The log-rank score with its residuals summed within clusters for the variance: the robust score test
    that R gives for ``coxph(Surv(age, died) ~ factor(group), cluster = litter, ties = "breslow")``.
    """
    rows = read_rows(age_h, died, group, entry_h, weight, n_groups, n_causes=1, called="died")
    rows, history = clustered_rows(rows, cluster, copies, across_groups=True)
    table = tabulate(rows, every_age=True)
    total, died_at = table.at_risk.sum(axis=0), table.deaths.sum(axis=0)
    hazard = np.divide(died_at, total, out=np.zeros_like(total), where=total > 0)
    share_of_risk = np.divide(table.at_risk, total, out=np.zeros_like(table.at_risk), where=total > 0)
    expected = share_of_risk * died_at
    excess = (table.deaths - expected).sum(axis=1)
    variance = _robust_variance(history, hazard, share_of_risk)
    kept = expected.sum(axis=1) > 0
    return quadratic_test(excess, variance, kept, "log-rank, robust score clustered", history.clusters)


def _robust_variance(history: Histories, hazard: Floats, share_of_risk: Floats) -> Floats:
    """Sum over clusters of the outer product of summed score residuals, (G, G)."""
    groups = len(share_of_risk)
    spent = np.tile(np.cumsum(hazard), (groups, 1))
    expected = np.cumsum(share_of_risk * hazard, axis=1).T
    own = by_kind(-spent, [1 - spent], spent)
    shared = np.stack([expected, expected - share_of_risk.T, -expected], axis=1).reshape(-1, groups)
    return outer_sums(history, in_own_column(history, own, shared))
