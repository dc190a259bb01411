"""Many groups tried at once: each against all the others, and how many of those flagged would be chance.

What `two_by_two.against_rest` makes one mask at a time is here made of every cell of a classification in one pass
over the newborns: a cell costs nothing beyond the pass, since what a cluster adds to a cell's rest differs from
what it adds to the whole only where it meets the cell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, Integers, refuse
from neonatal_stats.estimates.clusters import are_few, correction, totals
from neonatal_stats.estimates.contrast import p_values
from neonatal_stats.estimates.results import ratio, two_sided
from neonatal_stats.estimates.two_by_two import TwoByTwo, few_of_difference


def benjamini_hochberg(p: ArrayLike) -> Floats:
    """Benjamini-Hochberg q-values.

    Parameters
    ----------
    p : array_like
        p-values; NaN where no test was possible.

    Returns
    -------
    array of the same shape
        Among all groups with q at or below Q, at most a share Q is expected to be chance. NaN stays NaN and
        does not count as tried.

    Limits
    ------
    Holds for independent or positively dependent tests, which overlapping groups of births nearly are.

    References
    ----------
    Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300; ``scipy.stats.false_discovery_control``.

    Examples
    --------
    >>> from neonatal_stats.estimates import benjamini_hochberg
    >>> benjamini_hochberg([0.01, 0.04, 0.03]).round(9).tolist()
    [0.03, 0.04, 0.04]
    """
    from scipy import stats  # a second of import, paid only by those who ask

    values = np.asarray(p, dtype=np.float64)
    known = ~np.isnan(values)
    bad = known & ~((values >= 0) & (values <= 1))
    refuse("p", bad, values, "must lie between 0 and 1")
    q = np.full(values.shape, np.nan)
    if known.any():
        q[known] = stats.false_discovery_control(values[known], method="bh")
    return q


def cells_against_rest(
    event: Floats, cell: Integers, cluster: Integers, *, cells: int, rho: float
) -> TwoByTwo:
    """Each cell's newborns against all the others given.

    Parameters
    ----------
    event : 0 and 1, one entry a newborn (n,).
    cell : number of the newborn's cell, 0 to cells - 1 (n,).
    cluster : litter (or farm) of each newborn, whole numbers from 0 (n,).
    cells : how many cells there are; empty ones give a table with no newborns.
    rho : how much littermates' outcomes agree (see `clusters.agreement`), for the score test.

    Returns
    -------
    TwoByTwo with one entry a cell.

    Counted
    -------
    Every newborn given; leave out those whose cell is not known.
    """
    clusters = int(cluster.max()) + 1 if len(cluster) else 0
    size, lost = totals(cluster, np.ones(len(event)), clusters), totals(cluster, event, clusters)
    meeting, where = np.unique(cluster * cells + cell, return_inverse=True)
    at, of = meeting // cells, meeting % cells
    m, a = totals(where, np.ones(len(event)), len(meeting)), totals(where, event, len(meeting))
    n, d = size[at], lost[at]

    def total(values: Floats) -> Floats:
        return totals(of, values, cells)

    n1, a1 = total(m), total(a)
    n0, a0 = len(event) - n1, event.sum() - a1
    p1, p0 = ratio(a1, n1), ratio(a0, n0)
    first, without = a - p1[of] * m, d - p0[of] * n
    second = (d - a) - p0[of] * (n - m)
    squares1 = total(first**2)
    squares0 = (lost**2).sum() - 2 * p0 * (lost * size).sum() + p0**2 * (size**2).sum()
    squares0 = np.maximum(squares0 + total(second**2 - without**2), 0)
    clusters1 = total(np.ones(len(m)))
    clusters0 = float((size > 0).sum()) - total((m == n).astype(float))
    effect1 = _effect(squares1, n1, p1, clusters1, total(m**2), rho)
    effect0 = _effect(squares0, n0, p0, clusters0, (size**2).sum() - total(n**2 - (n - m) ** 2), rho)
    shared = ratio(total(first * second), np.sqrt(squares1 * squares0))
    share = ratio(n1, n1 + n0)
    lean = share**2 * (size**2).sum() + total((m - share[of] * n) ** 2 - (share[of] * n) ** 2)
    z = _score(a1, n1, a0, n0, lean, rho)
    few = _few(at, of, a, m, lost, size, cells)
    numbers = (a1, n1, a0, n0, effect1, effect0, np.nan_to_num(shared), clusters1, clusters0, z, *few)
    return TwoByTwo(*numbers, clustered=True)


def _few(
    at: Integers, of: Integers, a: Floats, m: Floats, lost: Floats, size: Floats, cells: int
) -> tuple[Floats, Floats]:
    """`few_of_difference` of each cell; ``a`` deaths of ``m`` newborns where cluster ``at`` meets cell ``of``."""
    found = np.full((2, cells), np.nan)
    if are_few((size > 0).sum(), size.sum()):
        for cell in np.unique(of):
            deaths, newborns = (totals(at[of == cell], x[of == cell], len(size)) for x in (a, m))
            found[:, cell] = few_of_difference(deaths, newborns, lost - deaths, size - newborns)
    return found[0], found[1]


def _effect(squares: Floats, n: Floats, p: Floats, clusters: Floats, sizes: Floats, rho: float) -> Floats:
    """Design effect of a share, never below 1; borrowed from all litters where it cannot be measured."""
    binomial = n * p * (1 - p)
    own = correction(clusters, n) * ratio(squares, binomial)
    measurable = (np.nan_to_num(binomial) > 1e-12) & ((clusters > 1) | (n <= 1))
    effect = np.where(measurable, own, 1 + (ratio(sizes, n) - 1) * rho)
    return np.where(n > 0, np.maximum(effect, 1.0), np.nan)


def _score(a: Floats, n1: Floats, c: Floats, n0: Floats, lean: Floats, rho: float) -> Floats:
    """Score statistic with littermates exchangeable under "no difference"."""
    n, pooled = n1 + n0, ratio(a + c, n1 + n0)
    alone = ratio(n1 * n0, n)
    between = rho * (lean - alone)
    variance = pooled * (1 - pooled) * (alone + between)
    return ratio(a - n1 * pooled, np.sqrt(np.maximum(variance, 0)))


def side_by_side(tables: Sequence[TwoByTwo]) -> TwoByTwo:
    """Tables of several classifications as one."""
    names = [field.name for field in fields(TwoByTwo) if field.name != "clustered"]
    joined = {name: np.concatenate([getattr(table, name) for table in tables]) for name in names}
    return TwoByTwo(**joined, clustered=True)


def chosen(table: TwoByTwo, kept: Integers) -> TwoByTwo:
    """The tables at these positions."""
    names = [field.name for field in fields(TwoByTwo) if field.name != "clustered"]
    return TwoByTwo(**{name: getattr(table, name)[kept] for name in names}, clustered=table.clustered)


def skewed_p(table: TwoByTwo) -> Floats:
    """Two-sided p that allows for the skewness of counts, for the far tails that many tests at once rest on.

    The score statistic's variance under "no difference" says how many independent newborns the group is worth;
    deaths among them are binomial with the risk of all. Twice the smaller tail (by the incomplete beta function,
    which needs no whole numbers), half of the count seen left out; never below `contrast.p_values`.

    References
    ----------
    Rao & Scott (1992) Biometrics 48:577-585 for the effective counts.
    """
    usual = p_values(table)
    pooled = ratio(table.a + table.c, table.n1 + table.n0)
    expected = table.n1 * pooled
    worth = ratio(expected * (1 - pooled) * table.z**2, (table.a - expected) ** 2)
    fit = np.isfinite(worth) & np.isfinite(usual) & (worth > 0)
    n, x, risk = (np.where(fit, one, 1.0) for one in (table.n1 * worth, table.a * worth, pooled))
    upper = _tail(x, n, np.where(fit, risk, 0.5))
    lower = _tail(n - x, n, np.where(fit, 1 - risk, 0.5))
    return np.where(fit, np.maximum(usual, np.minimum(1.0, 2 * np.minimum(upper, lower))), usual)


def skewed_like_counts(
    p: ArrayLike,
    higher: ArrayLike,
    events: ArrayLike,
    n: ArrayLike,
    events_versus: ArrayLike,
    n_versus: ArrayLike,
) -> Floats:
    """The p of any test of two groups, made no smaller than the skewness of their counts allows, as `skewed_p`.

    Parameters
    ----------
    p : two-sided, from a statistic that was taken as normal (a score or a stratified test, a model).
    higher : True where the first group had more than expected.
    events, n, events_versus, n_versus : what the comparison rests on.

    Method
    ------
    The normal deviate of ``p`` is read as a count that many standard deviations from what the pooled risk expects, and
    its binomial tail (half of the count left out) taken twice, where that is larger. In sparse tables (an expected
    count under 5, or an empty cell) ``p`` may come from the counts already: no more is asked of it there than the same
    tail of the counts themselves.
    """
    given, a, n1, c, n0 = (np.asarray(x, dtype=np.float64) for x in (p, events, n, events_versus, n_versus))
    pooled = ratio(a + c, n1 + n0)
    births = ratio(n1 * (n1 + n0), n0)
    fit = np.isfinite(given) & np.isfinite(births) & (pooled > 0) & (pooled < 1) & (births > 0)
    risk, size = np.where(fit, pooled, 0.5), np.where(fit, births, 1.0)
    deviate = -special.ndtri(np.where(fit, np.maximum(given, 1e-300), 1.0) / 2)
    more = np.asarray(higher, dtype=bool)
    own, seen = np.where(more, risk, 1 - risk), np.where(more, a, n1 - a)
    of_deviate = 2 * _tail(size * own + deviate * np.sqrt(size * risk * (1 - risk)), size, own)
    of_counts = 2 * _tail(np.where(fit, seen * ratio(n1 + n0, n0), 0.0), size, own)
    sparse = (
        (np.minimum(n1, n0) * np.minimum(risk, 1 - risk) < 5) | (a == 0) | (c == 0) | (a == n1) | (c == n0)
    )
    needed = np.where(sparse, np.minimum(of_deviate, of_counts), of_deviate)
    return np.where(fit, np.maximum(given, np.minimum(1.0, needed)), given)


def nested_p(table: TwoByTwo, deaths: Floats, births: Floats) -> Floats:
    """Two-sided p of each group against a part of its rest (``deaths`` of ``births``), litters as in `skewed_p`.

    NaN where that part is empty or has one outcome with the group: nothing is left to tell them apart by.
    """
    pooled = ratio(table.a + table.c, table.n1 + table.n0)
    alone = ratio(pooled * (1 - pooled) * table.n1 * table.n0, table.n1 + table.n0)
    effect = np.maximum(1.0, ratio((table.a - table.n1 * pooled) ** 2, table.z**2 * alone))
    share = ratio(table.a + deaths, table.n1 + births)
    variance = share * (1 - share) * (ratio(1, table.n1) + ratio(1, births)) * effect
    return two_sided(ratio(ratio(table.a, table.n1) - ratio(deaths, births), np.sqrt(variance)))


def _tail(x: Floats, n: Floats, risk: Floats) -> Floats:
    """P(X >= x), half of P(X = x) left out, for a binomial count that need not be whole."""
    at_least = np.where(x <= 0, 1.0, special.betainc(np.maximum(x, 1e-9), np.maximum(n - x, 0) + 1, risk))
    more = np.where(x >= n, 0.0, special.betainc(np.maximum(x, 0) + 1, np.maximum(n - x, 1e-9), risk))
    return (at_least + more) / 2
