"""Events and newborns of two groups, counted once: the table, its clustered variances, its score and exact tests.

Every contrast (ratio, difference, excess) is arithmetic on these few numbers, for one pair of groups or for
hundreds of groups against their rest at once. "Exposed" is the group in question, "rest" what it is set against.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from neonatal_stats.estimates.arguments import Floats, Integers, refuse, share
from neonatal_stats.estimates.clusters import (
    FewClusters,
    agreement,
    are_few,
    correction,
    few_groups,
    over,
    totals,
)
from neonatal_stats.estimates.results import Estimate, Test, ratio

Members = tuple[Integers, int] | None
COLUMNS = (
    *("a", "n1", "c", "n0", "effect1", "effect0", "correlation", "clusters1", "clusters0", "z"),
    *("few_effect", "few_df"),
)
Support = tuple[Floats, Floats]
AS_LIKELY = 1e-7  # by so small a share a table may seem likelier than another and is as likely


@dataclass(frozen=True, eq=False)
class TwoByTwo:
    """L tables side by side; each array has L entries.

    ``a`` events of ``n1`` exposed and ``c`` of ``n0`` others; ``effect1`` and ``effect0`` the design effects (never
    below 1); ``correlation`` of the two shares, not zero when clusters hold newborns of both groups; ``clusters1``,
    ``clusters0`` how many clusters each share comes from; ``z`` the score statistic against no difference. Where there
    are few clusters in all, ``few_effect`` is the design effect of the difference (not floored) and ``few_df`` its
    degrees of freedom, as `clusters.few_groups` corrects them; else NaN.
    """

    a: Floats
    n1: Floats
    c: Floats
    n0: Floats
    effect1: Floats
    effect0: Floats
    correlation: Floats
    clusters1: Floats
    clusters0: Floats
    z: Floats
    few_effect: Floats
    few_df: Floats
    clustered: bool

    @property
    def p1(self) -> Floats:
        """Share of the exposed with the event."""
        return ratio(self.a, self.n1)

    @property
    def p0(self) -> Floats:
        """Share of the others with the event."""
        return ratio(self.c, self.n0)

    @property
    def sides(self) -> tuple[tuple[Floats, Floats, Floats, Floats], ...]:
        """Share, newborns, design effect and clusters of the exposed, then of the rest."""
        return (
            (self.p1, self.n1, self.effect1, self.clusters1),
            (self.p0, self.n0, self.effect0, self.clusters0),
        )

    @property
    def few_clusters(self) -> FewClusters:
        """The correction where clusters are few, for effects that have its factor in them; NaN elsewhere."""
        return FewClusters(1.0, self.few_df)

    def effects_at(self, level: float) -> tuple[Floats, Floats, NDArray[np.bool_]]:
        """Design effects of both sides, and where clusters are few: there so wide that the normal quantile holds."""
        joint = self.few_clusters.effect(self.few_effect, level)
        few = np.isfinite(joint)
        return np.where(few, joint, self.effect1), np.where(few, joint, self.effect0), few

    @property
    def least_expected(self) -> Floats:
        """Smallest of the four counts expected were there no difference."""
        pooled = ratio(self.a + self.c, self.n1 + self.n0)
        return np.minimum(self.n1, self.n0) * np.minimum(pooled, 1 - pooled)


def independent(a: ArrayLike, n1: ArrayLike, c: ArrayLike, n0: ArrayLike) -> TwoByTwo:
    """Tables of newborns that do not share litters."""
    cells = np.broadcast_arrays(*(np.atleast_1d(x) for x in _checked_table(a, n1, c, n0)))
    events, exposed, rest_events, rest = (np.array(x, dtype=np.float64) for x in cells)
    one, none = np.ones(events.shape), np.zeros(events.shape)
    n = exposed + rest
    pooled = ratio(events + rest_events, n)
    variance = pooled * (1 - pooled) * ratio(exposed * rest, n)
    z = ratio(events - exposed * pooled, np.sqrt(variance))
    nan = np.full(events.shape, np.nan)
    return TwoByTwo(
        events, exposed, rest_events, rest, one, one, none, exposed, rest, z, nan, nan, clustered=False
    )


def against_rest(
    event: Floats,
    weight: Floats,
    masks: Iterable[NDArray[np.bool_]],
    members: Members,
    repeats: Floats | None = None,
) -> TwoByTwo:
    """Each mask's newborns against all others.

    ``members`` are the cluster labels and their number, ``repeats`` how many identical clusters each stands for.
    """
    if members is None:
        n, deaths = weight.sum(), (weight * event).sum()
        cells = [((weight * event)[mask].sum(), weight[mask].sum()) for mask in masks]
        a, n1 = np.array(cells, dtype=np.float64).reshape(-1, 2).T
        return independent(a, n1, deaths - a, n - n1)
    labels, count = members
    size, deaths_of = totals(labels, weight, count), totals(labels, weight * event, count)
    rho = agreement(event, weight, labels, count, repeats)
    rows = []
    for mask in masks:
        part = labels[mask]
        exposed = totals(part, weight[mask], count)
        events = totals(part, (weight * event)[mask], count)
        rows.append(_table(events, exposed, deaths_of - events, size - exposed, rho, repeats))
    columns = np.array(rows, dtype=np.float64).reshape(-1, len(COLUMNS)).T
    return TwoByTwo(**dict(zip(COLUMNS, columns, strict=True)), clustered=True)


def _table(
    a: Floats, n1: Floats, c: Floats, n0: Floats, rho: float, repeats: Floats | None
) -> tuple[float, ...]:
    """One table from its counts by cluster, in the order of COLUMNS."""
    sums = np.array([over(cell, repeats) for cell in (a, n1, c, n0)])
    (p1, p0), sizes, whole = ratio(sums[::2], sums[1::2]), sums[1::2], sums[1::2].sum()
    first, second = a - np.nan_to_num(p1) * n1, c - np.nan_to_num(p0) * n0
    squares, own = [over(x**2, repeats) for x in (first, second)], [over(n**2, repeats) for n in (n1, n0)]
    product = np.sqrt(squares[0] * squares[1])
    correlation = over(first * second, repeats) / product if product > 0 else 0.0
    clusters = [over(n > 0, repeats) for n in (n1, n0)]
    effects = share_effect(squares, sizes, [p1, p0], clusters, own, rho)
    lean = over((n1 - (sizes[0] / whole if whole else 0.0) * (n1 + n0)) ** 2, repeats)
    z = float(exchangeable_z(sums[0], sums[1], sums[2], sums[3], lean, rho))
    few = (np.nan, np.nan) if repeats is not None else few_of_difference(a, n1, c, n0)
    return (*sums, *effects, correlation, *clusters, z, *few)


def few_of_difference(a: Floats, n1: Floats, c: Floats, n0: Floats) -> tuple[float, float]:
    """Design effect of the difference of two shares and its degrees of freedom, where all clusters are few."""
    sides = np.column_stack([n1, n0])
    sizes = sides.sum(axis=0)
    if not are_few((sides.sum(axis=1) > 0).sum(), sizes.sum()) or (sides > 0).sum(axis=0).min() < 2:
        return float("nan"), float("nan")
    shares = np.array([a.sum(), c.sum()]) / sizes
    alone = float((shares * (1 - shares) / sizes).sum())
    pulled = (np.column_stack([a, c]) - shares * sides) / sizes
    together = float(((pulled[:, 0] - pulled[:, 1]) ** 2).sum())
    found = few_groups(sides, float(a.sum() + c.sum()) / sizes.sum(), [1.0, -1.0])
    return float(found.factor) * together / alone if alone > 0 else 1.0, float(found.df)


def share_effect(
    squares: ArrayLike, n: ArrayLike, p: ArrayLike, clusters: ArrayLike, sizes: ArrayLike, rho: float
) -> Floats:
    """Design effect of shares ``p`` of ``n``, never below 1; borrowed from all litters where it cannot be measured.

    ``squares`` and ``sizes`` are sums over clusters of their squared residuals and of their squared newborns.
    """
    size, share_ = np.asarray(n, dtype=np.float64), np.asarray(p, dtype=np.float64)
    binomial = size * share_ * (1 - share_)
    own = correction(clusters, size) * ratio(squares, binomial)
    measurable = (np.nan_to_num(binomial) > 1e-12) & ((np.asarray(clusters) > 1) | (size <= 1))
    effect = np.where(measurable, own, 1 + (ratio(sizes, size) - 1) * rho)
    return np.where(size > 0, np.maximum(effect, 1.0), np.nan)


def exchangeable_z(
    a: ArrayLike, n1: ArrayLike, c: ArrayLike, n0: ArrayLike, lean: ArrayLike, rho: float
) -> Floats:
    """Score statistic with littermates exchangeable under "no difference".

    ``lean`` is the sum over clusters of the square of their exposed newborns less the share due to them.
    """
    events, exposed, rest = (np.asarray(x, dtype=np.float64) for x in (a, n1, n0))
    n = exposed + rest
    pooled, alone = ratio(events + np.asarray(c), n), ratio(exposed * rest, n)
    between = rho * (np.asarray(lean) - alone)
    spread = np.maximum(
        alone + between, alone / 100
    )  # littermates that agree wholly leave nothing to divide by
    return ratio(events - exposed * pooled, np.sqrt(pooled * (1 - pooled) * spread))


def fisher(a: int, n1: int, c: int, n0: int) -> Test:
    """Fisher's exact test of a/n1 against c/n0, two-sided by adding every table no likelier (as R does).

    Rejects less often than its level says, since counts are whole: about 2-4 % at 5 % in small groups. Fisher RA
    (1935) J R Stat Soc 98:39-54; as ``scipy.stats.fisher_exact``, whose import takes longer than a review's estimates.
    """
    _checked_table(a, n1, c, n0)
    x, logs = _support(float(a), float(n1), float(c), float(n0))
    weight = np.exp(logs - logs.max())
    no_likelier = weight <= weight[x == a] * (1 + AS_LIKELY)
    p = min(1.0, float(weight[no_likelier].sum() / weight.sum()))
    return Test(float("nan"), 1, p, "Fisher exact")


def mid_p(a: ArrayLike, n1: ArrayLike, c: ArrayLike, n0: ArrayLike) -> Floats:
    """Mid-P of a/n1 against c/n0: twice the smaller tail, counting the table seen by half; arrays.

    Lancaster HO (1961) J Am Stat Assoc 56:223-234; Hirji KF et al. (1991) Stat Med 10:1137-1153.
    """
    tables = np.broadcast_arrays(*_checked_table(a, n1, c, n0))
    out = np.empty(tables[0].size)
    for i, (x, m1, y, m0) in enumerate(zip(*(cells.ravel() for cells in tables), strict=True)):
        below, at = _tails(x, m1, y, m0, 0.0)
        out[i] = min(1.0, 2 * min(below + at / 2, 1 - below - at / 2))
    return out.reshape(tables[0].shape)


def conditional_odds_ratio(
    a: int, n1: int, c: int, n0: int, *, level: float, use_mid_p: bool = True
) -> Estimate:
    """Odds ratio of a/n1 against c/n0 given all margins, with mid-P (or exact) limits; independent newborns.

    Returns
    -------
    Estimate; the conditional maximum likelihood estimate. Where one cell is empty, the limit that cannot be had is
    NaN and the note says so.

    Limits
    ------
    Exact limits cover 95 % or more; mid-P limits cover it on average.

    References
    ----------
    Cornfield J (1956) Proc Third Berkeley Symp 4:135-148; Hirji KF et al. (1991) Stat Med 10:1137-1153.

    Examples
    --------
    >>> from neonatal_stats.estimates import fisher
    >>> f"{fisher(27, 59, 13, 91).p:.3g}"  # lambs without passive transfer against the others (Sawyer 1977)
    '4.99e-05'
    """
    _checked_table(a, n1, c, n0)
    table = (float(a), float(n1), float(c), float(n0))
    kept = 0.5 if use_mid_p else 0.0  # how much of the table seen is left out of a tail
    tail = (1 - share(level)) / 2
    x, _ = _support(*table)
    low, high, middle = 0.0, float("nan"), float("nan")
    if a > x[0]:
        low = np.exp(_solve(lambda t: 1 - _tails(*table, t)[0] - kept * _tails(*table, t)[1] - tail))
    if a < x[-1]:
        high = np.exp(-_solve(lambda t: _tails(*table, -t)[0] + (1 - kept) * _tails(*table, -t)[1] - tail))
    if x[0] < a < x[-1]:
        middle = np.exp(_solve(lambda t: _mean(*table, t) - a))
    elif a == x[0] < x[-1]:
        middle = 0.0
    name = "mid-P" if use_mid_p else "exact"
    note = "" if np.isfinite(middle) else "cannot be estimated: an odds of zero in the comparison"
    p = float(mid_p(*table)) if use_mid_p else fisher(a, n1, c, n0).p
    return Estimate(float(middle), float(low), float(high), p, f"conditional odds ratio, {name}", note)


def _checked_table(a: ArrayLike, n1: ArrayLike, c: ArrayLike, n0: ArrayLike) -> tuple[Floats, ...]:
    """Four counts, whole, not negative, events within newborns."""
    cells = []
    for name, values, most in (("a", a, n1), ("n1", n1, None), ("c", c, n0), ("n0", n0, None)):
        array = np.asarray(values, dtype=np.float64)
        bad = ~np.isfinite(array) | (array < 0) | (array != np.floor(array))
        if most is not None:
            bad = bad | (array > np.asarray(most, dtype=np.float64))
        must = "counts must be whole, not negative and events within newborns"
        refuse(name, bad, np.broadcast_to(array, bad.shape), must)
        cells.append(array)
    return tuple(cells)


def _support(a: float, n1: float, c: float, n0: float) -> Support:
    """Every number of events the first group could have had, and the log weight of each."""
    events = a + c
    x = np.arange(max(0.0, events - n0), min(n1, events) + 1)
    logs = special.gammaln(n1 + 1) - special.gammaln(x + 1) - special.gammaln(n1 - x + 1)
    y = events - x
    logs += special.gammaln(n0 + 1) - special.gammaln(y + 1) - special.gammaln(n0 - y + 1)
    return x, logs


def _tails(a: float, n1: float, c: float, n0: float, log_odds: float) -> tuple[float, float]:
    """P(X < a) and P(X = a) at an odds ratio, given all the margins."""
    x, logs = _support(a, n1, c, n0)
    weight = np.exp(logs + log_odds * x - (logs + log_odds * x).max())
    weight /= weight.sum()
    return float(weight[x < a].sum()), float(weight[x == a].sum())


def _mean(a: float, n1: float, c: float, n0: float, log_odds: float) -> float:
    x, logs = _support(a, n1, c, n0)
    weight = np.exp(logs + log_odds * x - (logs + log_odds * x).max())
    return float((weight * x).sum() / weight.sum())


def _solve(rising: object) -> float:
    """Root of a function that rises in the log odds ratio."""
    from scipy import optimize

    return float(optimize.brentq(rising, -40.0, 40.0, xtol=1e-13))
