"""Many groups: each against all the others, how many flagged would be chance, and their risks shrunk.

What `two_by_two.against_rest` makes one mask at a time is here made of every cell of a classification in one pass
over the newborns: a cell costs nothing beyond the pass, since what a cluster adds to a cell's rest differs from
what it adds to the whole only where it meets the cell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, Integers, refuse, share
from neonatal_stats.estimates.clusters import alike, are_few, over, totals, unfolded
from neonatal_stats.estimates.contrast import p_values
from neonatal_stats.estimates.proportion import checked_counts
from neonatal_stats.estimates.results import ratio, two_sided
from neonatal_stats.estimates.two_by_two import TwoByTwo, exchangeable_z, few_of_difference, share_effect


def benjamini_hochberg(p: ArrayLike) -> Floats:
    """Benjamini-Hochberg q-values of p-values of any shape; NaN (no test was possible) stays NaN and was not tried.

    Among all groups with q at or below Q, at most a share Q is expected to be chance: for independent or positively
    dependent tests, which overlapping groups of births nearly are. Benjamini Y, Hochberg Y (1995) J R Stat Soc B
    57:289-300; as ``scipy.stats.false_discovery_control``, whose import takes longer than a review's estimates.

    >>> from neonatal_stats.estimates import benjamini_hochberg
    >>> benjamini_hochberg([0.01, 0.04, 0.03]).round(9).tolist()
    [0.03, 0.04, 0.04]
    """
    values = np.asarray(p, dtype=np.float64)
    known = ~np.isnan(values)
    bad = known & ~((values >= 0) & (values <= 1))
    refuse("p", bad, values, "must lie between 0 and 1")
    q, tried = np.full(values.shape, np.nan), values[known]
    rising = np.argsort(tried)
    scaled = tried[rising] * (len(tried) / np.arange(1.0, len(tried) + 1))
    adjusted = np.empty_like(tried)
    adjusted[rising] = np.minimum.accumulate(scaled[::-1])[::-1]
    q[known] = np.clip(adjusted, 0.0, 1.0)
    return q


def holm(p: ArrayLike) -> Floats:
    """Holm's adjusted p-values of a few tests (n,); NaN (no test was possible) stays NaN and was not tried.

    Calling clear whatever is at or below a level errs in any of them with at most that chance, however the tests hang
    together. Holm S (1979) Scand J Stat 6:65-70.

    >>> from neonatal_stats.estimates import holm
    >>> holm([0.01, 0.04, 0.03]).round(9).tolist()
    [0.03, 0.06, 0.06]
    """
    values = np.asarray(p, dtype=np.float64)
    known = ~np.isnan(values)
    refuse("p", known & ~((values >= 0) & (values <= 1)), values, "must lie between 0 and 1")
    order = np.argsort(np.where(known, values, np.inf), kind="stable")[: int(known.sum())]
    steps = values[order] * np.arange(len(order), 0, -1)
    adjusted = np.full(values.shape, np.nan)
    adjusted[order] = np.minimum(np.maximum.accumulate(steps), 1.0)
    return adjusted


def cells_against_rest(
    event: Floats,
    cell: Integers,
    cluster: Integers,
    *,
    cells: int,
    rho: float,
    repeats: ArrayLike | None = None,
) -> TwoByTwo:
    """Each cell's newborns against all the others given: a `TwoByTwo` with one entry a cell.

    ``cell`` is the number of the newborn's cell, 0 to ``cells`` - 1; an empty one gives a table without newborns.
    ``rho`` is how much littermates' outcomes agree (see `clusters.agreement`), for the score test. ``repeats`` (n,) is
    how many identical clusters the newborn's stands for. Leave out newborns whose cell is not known.
    """
    clusters = int(cluster.max()) + 1 if len(cluster) else 0
    rows, members, each = unfolded(
        (cluster, clusters), alike(repeats, (cluster, clusters)), np.ones(len(event))
    )
    assert members is not None
    (cluster, clusters), event, cell = members, event[rows], cell[rows]
    size, lost = totals(cluster, np.ones(len(event)), clusters), totals(cluster, event, clusters)
    meeting, where = np.unique(cluster * cells + cell, return_inverse=True)
    at, of = meeting // cells, meeting % cells
    m, a = totals(where, np.ones(len(event)), len(meeting)), totals(where, event, len(meeting))
    n, d = size[at], lost[at]
    times = np.ones(len(at)) if each is None else each[at]

    def total(values: Floats) -> Floats:
        return totals(of, times * values, cells)

    n1, a1 = total(m), total(a)
    n0, a0 = over(size, each) - n1, over(lost, each) - a1
    p1, p0 = ratio(a1, n1), ratio(a0, n0)
    first, without = a - p1[of] * m, d - p0[of] * n
    second = (d - a) - p0[of] * (n - m)
    squares1 = total(first**2)
    squared = over(size**2, each)
    squares0 = over(lost**2, each) - 2 * p0 * over(lost * size, each) + p0**2 * squared
    squares0 = np.maximum(squares0 + total(second**2 - without**2), 0)
    clusters1 = total(np.ones(len(m)))
    clusters0 = over(size > 0, each) - total((m == n).astype(float))
    effect1 = share_effect(squares1, n1, p1, clusters1, total(m**2), rho)
    effect0 = share_effect(squares0, n0, p0, clusters0, squared - total(n**2 - (n - m) ** 2), rho)
    shared = ratio(total(first * second), np.sqrt(squares1 * squares0))
    share = ratio(n1, n1 + n0)
    lean = share**2 * squared + total((m - share[of] * n) ** 2 - (share[of] * n) ** 2)
    z = exchangeable_z(a1, n1, a0, n0, lean, rho)
    few = _few(at, of, a, m, lost, size, cells, many=each is not None)
    numbers = (a1, n1, a0, n0, effect1, effect0, np.nan_to_num(shared), clusters1, clusters0, z, *few)
    return TwoByTwo(*numbers, clustered=True)


def _few(
    at: Integers, of: Integers, a: Floats, m: Floats, lost: Floats, size: Floats, cells: int, *, many: bool
) -> tuple[Floats, Floats]:
    """`few_of_difference` of each cell; ``a`` deaths of ``m`` newborns where cluster ``at`` meets cell ``of``.

    ``many`` where the clusters are known not to be few.
    """
    found = np.full((2, cells), np.nan)
    if not many and are_few((size > 0).sum(), size.sum()):
        for cell in np.unique(of):
            deaths, newborns = (totals(at[of == cell], x[of == cell], len(size)) for x in (a, m))
            found[:, cell] = few_of_difference(deaths, newborns, lost - deaths, size - newborns)
    return found[0], found[1]


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

    The score statistic's variance under "no difference" says how many independent newborns the group is worth (Rao &
    Scott 1992); deaths among them are binomial with the risk of all. Twice the smaller tail (by the incomplete beta
    function, which needs no whole numbers), half of the count seen left out; never below `contrast.p_values`.
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

    ``p`` is two-sided, from a statistic that was taken as normal (a score or a stratified test, a model); ``higher``
    True where the first group had more than expected; the counts are what the comparison rests on.

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


MOST = 1e6  # prior newborns beyond which groups do not differ at all
RUNGS = 80  # prior weights among which the likeliest is looked for first
GRID = 25  # values of the prior's weight that the limits average over
LIKELIHOOD = "marginal likelihood"
NO_SPREAD = "the groups spread no more than chance, so all have the common risk"
MOMENTS = "moments, since the likelihood has no maximum"
JEFFREYS = "Jeffreys' prior: no groups to learn from"


@dataclass(frozen=True)
class Prior:
    """Beta(``a``, ``b``) with its ``mean`` and its ``weight`` in newborns, a + b.

    ``converged`` is False where the likelihood had no maximum within its range; ``method`` says what stands instead.
    """

    mean: float
    weight: float
    converged: bool
    method: str

    @property
    def a(self) -> float:
        """Deaths that the prior is worth."""
        return self.mean * self.weight

    @property
    def b(self) -> float:
        """Survivors that the prior is worth."""
        return (1 - self.mean) * self.weight


@dataclass(frozen=True, eq=False)
class Shrunk:
    """Risks of G groups drawn towards the common one: ``share`` (G,) with ``low`` and ``high``, NaN without newborns.

    ``a``, ``b``, ``converged`` and ``method`` are those of the `Prior`.
    """

    share: Floats
    low: Floats
    high: Floats
    a: float
    b: float
    converged: bool
    method: str


def beta_binomial_shrink(
    events: ArrayLike, n: ArrayLike, *, level: float, design_effect: ArrayLike = 1.0
) -> Shrunk:
    """Empirical Bayes risks of groups that do not overlap; ``events`` and ``n`` (G,), both over ``design_effect``.

    Method
    ------
    The prior's mean and weight maximise the marginal likelihood; a group's risk is the posterior mean. Limits
    are quantiles of the posterior averaged over the prior's weight, each weight by its likelihood, with the
    share of shrinkage of a middling group uniform beforehand, so that not knowing how much the groups differ
    widens them.

    Limits
    ------
    Limits cover their level on average over groups, not for each: a group truly far out is drawn in too far.

    References
    ----------
    Carlin BP, Louis TA (2000) Bayes and Empirical Bayes Methods for Data Analysis, 2nd ed., ch. 3; Kleinman JC (1973) J
    Am Stat Assoc 68:46-54 (moments); Christiansen CL, Morris CN (1997) J Am Stat Assoc 92:618-632 (uniform shrinkage).
    """
    x, size = _counts(events, n, design_effect)
    prior = _prior(x, size)
    used = size > 0
    if prior.method == JEFFREYS:
        tail = (1 - share(level)) / 2
        low, high = (special.betaincinv(x + prior.a, size - x + prior.b, q) for q in (tail, 1 - tail))
    else:
        low, high = _limits(x, size, prior.mean, level)
    posterior = np.where(used, ratio(x + prior.a, size + prior.weight), np.nan)
    low, high = (
        np.where(used, limit, np.nan) for limit in (np.minimum(low, posterior), np.maximum(high, posterior))
    )
    return Shrunk(posterior, low, high, prior.a, prior.b, prior.converged, prior.method)


def beta_binomial_prior(events: ArrayLike, n: ArrayLike, *, design_effect: ArrayLike = 1.0) -> Prior:
    """The beta distribution that the groups' risks seem drawn from: what `beta_binomial_shrink` draws them to.

    Parameters and Method as there. Where there is one group, or no deaths, or only deaths, nothing can be learnt
    and it is Jeffreys' prior.
    """
    return _prior(*_counts(events, n, design_effect))


def _counts(events: ArrayLike, n: ArrayLike, design_effect: ArrayLike) -> tuple[Floats, Floats]:
    """Deaths and newborns of each group, over the design effect."""
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    effect = np.broadcast_to(np.asarray(design_effect, dtype=np.float64), x.shape)
    return x / effect, size / effect


def _prior(x: Floats, n: Floats) -> Prior:
    used = n > 0
    if used.sum() < 2 or x[used].sum() in (0.0, n[used].sum()):
        return Prior(0.5, 1.0, False, JEFFREYS)
    mean, weight, how = _fit(x[used], n[used])
    return Prior(mean, weight, how == LIKELIHOOD, f"beta-binomial empirical Bayes, {how}")


def _log_likelihood(x: Floats, n: Floats, mean: float, weight: float) -> float:
    """Beta-binomial log likelihood, without the binomial coefficients."""
    a, b = mean * weight, (1 - mean) * weight
    return float((special.betaln(x + a, n - x + b) - special.betaln(a, b)).sum())


def _fit(x: Floats, n: Floats) -> tuple[float, float, str]:
    """Mean and weight of the prior where the likelihood is greatest, and how they were found.

    The greatest likelihood over the mean is found for each of a ladder of weights, and the slope along the weights is
    then followed to zero between the best rung's neighbours: roots of smooth functions, which every version of the
    libraries gives alike to the last few digits. Where the likelihood still rises at the heaviest weight the groups
    differ by no more than chance, and the prior is that heavy.
    """
    from scipy import optimize

    ladder = np.linspace(np.log(1e-2), np.log(MOST), RUNGS)
    logs = [_log_likelihood(x, n, _likeliest_mean(x, n, weight), weight) for weight in np.exp(ladder)]
    best = int(np.argmax(logs))
    crude = float(x.sum() / n.sum())
    if best == RUNGS - 1:
        return crude, MOST, NO_SPREAD

    def slope(log_weight: float) -> float:
        weight = float(np.exp(log_weight))
        return _slope(x, n, _likeliest_mean(x, n, weight), weight)

    low, high = ladder[max(best - 1, 0)], ladder[best + 1]
    if best == 0 or not slope(low) > 0 > slope(high):
        return crude, _moment_weight(x, n, crude), MOMENTS
    weight = float(np.exp(optimize.brentq(slope, low, high, xtol=1e-13, rtol=1e-14)))
    return _likeliest_mean(x, n, weight), weight, LIKELIHOOD


def _likeliest_mean(x: Floats, n: Floats, weight: float) -> float:
    """The mean with the greatest likelihood at a weight: the one zero of a falling slope."""
    from scipy import optimize

    def slope(logit: float) -> float:
        mean = float(special.expit(logit))
        a, b = mean * weight, (1 - mean) * weight
        rise = special.digamma(x + a) - special.digamma(a) - special.digamma(n - x + b) + special.digamma(b)
        return float(rise.sum())

    return float(special.expit(optimize.brentq(slope, -30.0, 30.0, xtol=1e-14, rtol=1e-14)))


def _slope(x: Floats, n: Floats, mean: float, weight: float) -> float:
    """Derivative of the log likelihood by the weight."""
    a, b = mean * weight, (1 - mean) * weight
    deaths = mean * (special.digamma(x + a) - special.digamma(a))
    living = (1 - mean) * (special.digamma(n - x + b) - special.digamma(b))
    return float((deaths + living - special.digamma(n + weight) + special.digamma(weight)).sum())


def _moment_weight(x: Floats, n: Floats, mean: float) -> float:
    """Kleinman's weight of the prior from the spread of risks beyond chance."""
    spread = (n * (x / n - mean) ** 2).sum()
    chance = mean * (1 - mean) * (len(n) - 1)
    freedom = n.sum() - (n**2).sum() / n.sum()
    phi = (spread - chance) / (mean * (1 - mean) * (freedom - (len(n) - 1)) + 1e-300)
    return float(np.clip(1 / max(phi, 1 / MOST) - 1, 1e-2, MOST))


def _limits(x: Floats, n: Floats, mean: float, level: float) -> tuple[Floats, Floats]:
    """Posterior quantiles averaged over the weight of the prior."""
    tail = (1 - share(level)) / 2
    used = n > 0
    middling = float(np.median(n[used]))
    shrinkage = (np.arange(GRID) + 0.5) / GRID
    weights = middling * shrinkage / (1 - shrinkage)
    logs = np.array([_log_likelihood(x[used], n[used], mean, weight) for weight in weights])
    belief = np.exp(logs - logs.max())
    belief /= belief.sum()
    a, b = mean * weights, (1 - mean) * weights
    out = []
    for target in (tail, 1 - tail):
        low, high = np.zeros(x.shape), np.ones(x.shape)
        for _ in range(32):
            middle = (low + high) / 2
            below = special.betainc(x[:, None] + a, (n - x)[:, None] + b, middle[:, None]) @ belief
            low, high = np.where(below < target, middle, low), np.where(below < target, high, middle)
        out.append(np.where(used, (low + high) / 2, np.nan))
    return out[0], out[1]
