"""The trial that was not run, emulated: all fed by a mark against none fed by it, among newborns alike at birth.

Every newborn is counted in both arms until it departs from one, then censored there; weights from the hourly
chance of a first feed, given what was known at birth, make up for those who departed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import linalg, special

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.clusters import FewClusters, are_few, few_groups, totals
from neonatal_stats.estimates.cox_regression import standardised
from neonatal_stats.estimates.partial_likelihood import an_example_of_each, pattern_codes
from neonatal_stats.estimates.proportion import wilson_limits
from neonatal_stats.estimates.results import Estimate, critical
from neonatal_stats.estimates.time_dependent import feed_ages

Booleans = NDArray[np.bool_]

BANDS = 10  # at most so many bands of hours, each with a level of its own
RIDGE = 1e-3  # a hair of shrinkage: a covariate that parts fed from unfed in a resample stays finite
MOST_STEPS = 25  # of Newton, when the hazard of being fed is fitted
METHOD = "cloning, censoring and weighting; score interval with resampled variance"
FEWEST = 10  # deaths (or survivors) after the mark that an arm's effective size must lead one to expect
LARGE = 0.03  # one newborn's share of its arm's weight that is worth a warning


@dataclass(frozen=True, eq=False)
class EmulatedTrial:
    """Risks of death by ``until_h`` in the two arms, their difference and ratio (fed over unfed).

    Each has an interval whose variance comes from resampled litters. ``fed`` and ``unfed`` are newborns in
    each arm at the mark, ``effective_fed`` and ``effective_unfed`` how many equally weighted newborns they
    are worth, ``largest_weight`` the largest weight of any. ``resamples`` is how many resamples gave an
    answer. Figures that cannot be given are NaN and ``notes`` say why.
    """

    risk_fed: Estimate
    risk_unfed: Estimate
    difference: Estimate
    ratio: Estimate
    n: int
    fed: int
    unfed: int
    effective_fed: float
    effective_unfed: float
    largest_weight: float
    resamples: int
    notes: tuple[str, ...]


def fed_by_mark(
    fed_h: ArrayLike,
    age_h: ArrayLike,
    died: ArrayLike,
    covariates: ArrayLike | None,
    *,
    mark_h: float,
    until_h: float,
    cluster: ArrayLike | None = None,
    n_boot: int = 500,
    rng: np.random.Generator | int = 0,
    level: float,
    repeats: ArrayLike | None = None,
) -> EmulatedTrial:
    """Risk of death had all been fed by the mark, and had none been, among newborns alike in the covariates.

    Parameters
    ----------
    fed_h : as in `split_at_feed`; only newborns born alive.
    covariates : (n, p) known at birth, or None: what makes a newborn both slow to feed and likely to die.
    mark_h, until_h : the mark (a feed at it is in time), and the later age by which the risk is, in hours.
    n_boot, rng : resamples of whole litters and the generator (or its number) that draws them.

    Counted
    -------
    Every newborn given, from birth. Time runs in whole hours (a part of an hour is rounded up); in each hour
    deaths come first, then those who leave watching, then feeds: a death in the hour of the first feed is
    that of an unfed newborn, as in `split_at_feed`.

    Method
    ------
    With F(t) the chance, given the covariates, that a newborn that lives is fed by t (pooled logistic model
    of the hourly chance of a first feed), an unfed newborn weighs 1 / (1 - F(t)) in the arm "not fed", and 1
    / (1 - F(mark)) from the mark on. In the arm "fed" a fed newborn weighs 1 / F(mark), and one yet unfed at
    t before the mark (1 - F(t) / F(mark)) / (1 - F(t)). Risks are 1 less weighted Kaplan-Meier.
    Everything is refitted in each resample of litters; the intervals are score intervals with the resampled
    variance (Newcombe; Zou & Donner).

    Limits
    ------
    Stands on the covariates holding all that makes newborns both slow to feed and likely to die, on every
    kind of newborn having some chance of either arm (large weights say where not), and on leaving being
    uninformative. It does not see weakness that shows itself after birth. No figures are given where an arm's
    effective size leads one to expect fewer than ten deaths after the mark: below that simulated intervals
    held only 82 to 88 %. Not proof of cause.

    References
    ----------
    Hernan & Robins 2016, Am J Epidemiol 183:758. Cain et al. 2010, Int J Biostat 6(2):18 (grace periods). Maringe et
    al. 2020, Int J Epidemiol 49:1719. Newcombe 1998, Stat Med 17:873. Zou & Donner 2008, Stat Med 27:1693.
    """
    arguments.no_repeats(repeats, "whole litters are drawn anew, each by itself")
    level = arguments.share(level)
    feeding, until, litter, ids = _checked(fed_h, age_h, died, covariates, mark_h, until_h, cluster)
    n = len(feeding.fed)
    band = _bands(feeding, np.ones(n))
    beta = _fit_hazard(feeding, band, np.ones(n))
    here = _arms(feeding, until, np.ones(n), band, beta)
    few = _too_few(feeding, until, here)
    generator = np.random.default_rng(rng)
    draws = np.full((0 if few else n_boot, 2), np.nan)
    for k in range(len(draws)):
        times = np.bincount(generator.integers(0, ids, ids), minlength=ids)[litter].astype(np.float64)
        again = _arms(feeding, until, times, band, _fit_hazard(feeding, band, times, start=beta))
        draws[k] = again.risk_fed, again.risk_unfed
    spread = _resampled_spread(draws[np.isfinite(draws).all(axis=1)], _few_clusters(feeding, litter, ids))
    risks = (np.nan, np.nan) if few else (here.risk_fed, here.risk_unfed)
    figures = _contrast_of_arms(risks, spread, _expected_deaths(feeding, until, here), level)
    arms = (here.weight_fed, here.weight_unfed)
    return EmulatedTrial(
        *figures,
        n=n,
        fed=len(here.weight_fed),
        unfed=len(here.weight_unfed),
        effective_fed=_effective(here.weight_fed),
        effective_unfed=_effective(here.weight_unfed),
        largest_weight=max(float(arm.max(initial=0)) for arm in arms),
        resamples=spread.resamples,
        notes=few + _heavy(arms),
    )


def _checked(
    fed_h: ArrayLike,
    age_h: ArrayLike,
    died: ArrayLike,
    covariates: ArrayLike | None,
    mark_h: float,
    until_h: float,
    cluster: ArrayLike | None,
) -> tuple[_Feeding, int, Integers, int]:
    """Whole hours, covariates of mean 0 and deviation 1, and litters numbered from 0."""
    age = arguments.ages(age_h)
    event = arguments.codes(died, "died", below=2)
    arguments.same_length(age_h=age, died=event)
    if not 0 <= mark_h < until_h:
        raise ValueError(f"until_h: must come after mark_h ({mark_h:g}); found {until_h:g} at position 0")
    fed = feed_ages(fed_h, age, event)
    table = np.zeros((len(age), 0)) if covariates is None else np.asarray(covariates, dtype=np.float64)
    table = table[:, None] if table.ndim == 1 else table
    arguments.same_length(age_h=age, covariates=table)
    bad = np.asarray(~np.isfinite(table).all(axis=1))
    arguments.refuse("covariates", bad, np.where(bad, np.nan, 0.0), "every covariate must be finite")
    litter = np.arange(len(age)) if cluster is None else arguments.codes(cluster, "cluster")
    arguments.same_length(age_h=age, cluster=litter)
    known, number = np.unique(litter, return_inverse=True)
    mark = int(np.floor(mark_h))
    hour = np.where(fed <= mark_h, np.minimum(np.ceil(fed), mark), mark + 1).astype(np.int64)
    end = np.ceil(age).astype(np.int64)
    feeding = _Feeding(hour, end, event, *_patterns(table), mark)
    return feeding, int(np.floor(until_h)), number, len(known)


def _patterns(table: Floats) -> tuple[Floats, Integers]:
    """Distinct patterns of covariates, scaled to mean 0 and deviation 1, and each newborn's place among them."""
    scaled = standardised(np.ascontiguousarray(table.T))[0] if table.size else table.T
    code = pattern_codes(scaled, 4096)
    if code is None:
        return scaled, np.arange(len(table))
    return np.ascontiguousarray(scaled[:, an_example_of_each(code)]), code


@dataclass(frozen=True, eq=False)
class _Hour:
    """One hour up to the mark: who is at risk in it, which of them die in it, and the cell of each.

    A cell is a pattern of covariates of those fed before the hour; that of those yet unfed lies as many cells on as
    there are patterns.
    """

    rows: Integers
    dying: Integers
    cell: Integers


@dataclass(frozen=True, eq=False)
class _Feeding:
    """Hour of first feed (the mark + 1 where not fed by it), last hour watched, death and the mark.

    ``z`` (p, patterns) are the distinct patterns of covariates, ``pattern`` each newborn's place among them.
    """

    fed: Integers
    end: Integers
    died: Integers
    z: Floats
    pattern: Integers
    mark: int

    @cached_property
    def hours(self) -> list[_Hour]:
        """Every hour up to the mark."""
        return [self._hour(hour) for hour in range(self.mark + 1)]

    def _hour(self, hour: int) -> _Hour:
        rows = np.flatnonzero(self.end >= hour)
        dying = np.flatnonzero((self.end[rows] == hour) & (self.died[rows] == 1))
        cell = self.pattern[rows] + self.z.shape[1] * (self.fed[rows] >= hour)
        return _Hour(rows, dying, cell)

    @cached_property
    def arms(self) -> tuple[Integers, Integers]:
        """Who lived past the mark, fed by it and not."""
        past, by_mark = self.end > self.mark, self.fed <= self.mark
        return np.flatnonzero(past & by_mark), np.flatnonzero(past & ~by_mark)

    @cached_property
    def last_unfed(self) -> Integers:
        """The last hour up to the mark that each lived through and was unfed when it began; -1 for none."""
        return np.minimum(np.minimum(self.fed, self.end - 1), self.mark)

    @cached_property
    def fed_then(self) -> Booleans:
        """Who was fed in that hour."""
        return np.asarray(self.last_unfed == self.fed)

    def may_feed(self, count: Floats) -> tuple[Floats, Floats]:
        """By hour and pattern: those that lived through the hour, unfed when it began, and those of them then fed."""
        size = self.z.shape[1]
        cell = ((self.last_unfed + 1) * 2 + self.fed_then) * size + self.pattern
        counted = totals(cell, count, (self.mark + 2) * 2 * size).reshape(self.mark + 2, 2, size)
        there = counted.sum(axis=1)[::-1].cumsum(axis=0)[::-1]
        return there[1:], counted[1:, 1]


def _bands(feeding: _Feeding, count: Floats) -> Integers:
    """A band for each hour up to the mark: consecutive hours that hold about a tenth of the feeds each."""
    seen = feeding.fed <= feeding.mark
    feeds = np.bincount(feeding.fed[seen], count[seen], minlength=feeding.mark + 1)
    middle = (np.cumsum(feeds) - feeds / 2) / max(feeds.sum(), 1e-300)
    band = np.minimum((middle * BANDS).astype(np.int64), BANDS - 1)
    for hour in np.flatnonzero(feeds == 0):  # an hour without feeds joins the hour before it
        band[hour] = band[hour - 1] if hour else 0
    return np.unique(band, return_inverse=True)[1]


def _fit_hazard(feeding: _Feeding, band: Integers, count: Floats, *, start: Floats | None = None) -> Floats:
    """Coefficients of the pooled logistic model: one level per band, then one per covariate."""
    levels, p = int(band.max()) + 1, len(feeding.z)
    beta = np.zeros(levels + p) if start is None else start
    ridge = np.concatenate([np.full(levels, 1e-9), np.full(p, RIDGE)])
    may_feed = feeding.may_feed(count)
    for _ in range(MOST_STEPS):
        score, information = -ridge * beta, np.diag(ridge)
        slope = beta[levels:] @ feeding.z
        for at, there, fed in zip(band, *may_feed, strict=True):
            share = special.expit(np.clip(beta[at] + slope, -30, 30))
            expected = there * share
            left, bend = fed - expected, expected * (1 - share)
            weighted = feeding.z * bend
            score[at] += left.sum()
            score[levels:] += feeding.z @ left
            information[at, at] += bend.sum()
            information[at, levels:] += weighted.sum(axis=1)
            information[levels:, at] += weighted.sum(axis=1)
            information[levels:, levels:] += weighted @ feeding.z.T
        step = np.clip(linalg.solve(information, score, assume_a="pos"), -4, 4)
        beta = beta + step
        if np.abs(step).max() < 1e-6:
            break
    return beta


def _hazard(feeding: _Feeding, band: Integers, beta: Floats, hour: int) -> Floats:
    """The chance of a first feed in an hour by pattern, for those that lived and were unfed until then."""
    levels = len(beta) - len(feeding.z)
    eta = beta[band[hour]] + beta[levels:] @ feeding.z
    return np.asarray(special.expit(np.clip(eta, -30, 30)), dtype=np.float64)


@dataclass(frozen=True, eq=False)
class _Arms:
    """Deaths by the end of each arm for one set of counts, and the weights at the mark."""

    risk_fed: float
    risk_unfed: float
    weight_fed: Floats
    weight_unfed: Floats


def _arms(feeding: _Feeding, until: int, count: Floats, band: Integers, beta: Floats) -> _Arms:
    """Both arms for newborns counted ``count`` times each, given the fitted hazard of feeding."""
    chances = [_hazard(feeding, band, beta, hour) for hour in range(feeding.mark + 1)]
    unfed_share = np.prod([1 - chance for chance in chances], axis=0)
    fed_in_all = 1 - unfed_share
    alive = np.ones(2)
    still = np.ones(len(unfed_share))  # 1 - F before the hour
    for here, chance in zip(feeding.hours, chances, strict=True):
        times = count[here.rows]
        yet_unfed = np.maximum(1 - (1 - still) / fed_in_all, 0) / still
        weight_fed = np.concatenate([1 / fed_in_all, yet_unfed])[here.cell] * times
        weight_unfed = times / np.concatenate([np.full(len(still), np.inf), still])[here.cell]
        alive *= [_survive(weight, here.dying) for weight in (weight_fed, weight_unfed)]
        still = still * (1 - chance)
    weights = [
        count[rows] / share[feeding.pattern[rows]]
        for rows, share in zip(feeding.arms, (fed_in_all, unfed_share), strict=True)
    ]
    alive *= [
        _kaplan_meier(weight, feeding.end[rows], feeding.died[rows] == 1, until)
        for weight, rows in zip(weights, feeding.arms, strict=True)
    ]
    return _Arms(1 - alive[0], 1 - alive[1], *weights)


def _survive(weight: Floats, dying: Integers) -> float:
    """Weighted share of those at risk in an hour that live through it."""
    at_risk = weight.sum()
    return float(1 - weight[dying].sum() / at_risk) if at_risk > 0 else np.nan


def _kaplan_meier(weight: Floats, end: Integers, dead: Booleans, until: int) -> float:
    """Weighted Kaplan-Meier from the mark to ``until``."""
    size = until + 2
    stop = np.minimum(end, until + 1)
    at_risk = np.bincount(stop, weight, minlength=size)[::-1].cumsum()[::-1]
    lost = np.bincount(stop[dead], weight[dead], minlength=size)
    lost[until + 1] = 0
    if at_risk[0] <= 0:
        return np.nan
    return float(np.prod(1 - np.divide(lost, at_risk, out=np.zeros(size), where=at_risk > 0)))


@dataclass(frozen=True, eq=False)
class _Spread:
    """Variances of two resampled risks, their correlation and degrees of freedom; NaN under two resamples."""

    variance: Floats
    correlation: float
    resamples: int
    df: float = np.inf


def _few_clusters(feeding: _Feeding, litter: Integers, ids: int) -> FewClusters:
    """What few litters (farms) ask of a variance that comes from resampling them."""
    sizes = np.bincount(litter, minlength=ids).astype(np.float64)
    if not are_few(ids, sizes.sum()):
        return FewClusters(1.0, np.inf)
    return few_groups(sizes[:, None], float(feeding.died.mean()), [1.0])


def _resampled_spread(draws: Floats, few: FewClusters) -> _Spread:
    """Spread of resampled pairs of risks (resamples, 2), with the correction for few clusters."""
    if len(draws) < 2:
        return _Spread(np.full(2, np.nan), np.nan, len(draws))
    covariance = np.cov(draws.T)
    scale = float(np.sqrt(covariance[0, 0] * covariance[1, 1]))
    correlation = float(covariance[0, 1]) / scale if scale > 0 else 0.0
    return _Spread(np.diag(covariance) * few.factor, correlation, len(draws), float(few.df))


def _contrast_of_arms(
    risks: tuple[float, float], spread: _Spread, deaths: tuple[float, float], level: float
) -> tuple[Estimate, Estimate, Estimate, Estimate]:
    """First risk, second risk, difference and ratio (first over second).

    ``deaths`` to expect in each arm, less one, are the degrees of freedom of its interval (fewer with few clusters).
    """
    first, second = (
        _risk(risk, variance, min(expected - 1, spread.df), level)
        for risk, variance, expected in zip(risks, spread.variance, deaths, strict=True)
    )
    difference = _apart(first, second, spread.correlation)
    logs = _apart(_logarithm(first), _logarithm(second), spread.correlation)
    middle, low, high = (float(np.exp(x)) for x in (logs.estimate, logs.low, logs.high))
    ratio = Estimate(middle, low, high, np.nan, METHOD)
    return first, second, difference, ratio


def _risk(risk: float, variance: float, df: float, level: float) -> Estimate:
    """Wilson's interval on the size that the variance implies; none where the risk did not vary."""
    if not variance > 0 or not 0 < risk < 1:
        return Estimate(float(risk), np.nan, np.nan, np.nan, METHOD)
    quantile = critical(level, max(df, 1))
    low, high = wilson_limits(np.array([risk]), np.array([risk * (1 - risk) / variance]), quantile)
    return Estimate(float(risk), float(low[0]), float(high[0]), np.nan, METHOD)


def _logarithm(risk: Estimate) -> Estimate:
    """The risk and its limits on the log scale; NaN where no death was seen."""
    middle, low, high = (float(np.log(x)) if x > 0 else np.nan for x in (risk.estimate, risk.low, risk.high))
    return Estimate(middle, low, high, np.nan, METHOD)


def _apart(first: Estimate, second: Estimate, correlation: float) -> Estimate:
    """First less second; each limit takes the near sides of both intervals."""
    apart = first.estimate - second.estimate
    low = _reach(first.estimate - first.low, second.high - second.estimate, correlation)
    high = _reach(first.high - first.estimate, second.estimate - second.low, correlation)
    return Estimate(float(apart), float(apart - low), float(apart + high), np.nan, METHOD)


def _reach(a: float, b: float, correlation: float) -> float:
    """Length of the difference of two correlated arms."""
    return float(np.sqrt(max(a * a + b * b - 2 * correlation * a * b, 0.0))) if np.isfinite(a + b) else np.nan


def _too_few(feeding: _Feeding, until: int, arms: _Arms) -> tuple[str, ...]:
    """Arms too small for figures."""
    return tuple(
        f"Too few newborns {arm} by the mark, for how often they die after it: no figures given."
        for arm, deaths in zip(("fed", "not fed"), _expected_deaths(feeding, until, arms), strict=True)
        if deaths < FEWEST
    )


def _expected_deaths(feeding: _Feeding, until: int, arms: _Arms) -> tuple[float, float]:
    """Deaths (or survivors, if fewer) after the mark to expect from the effective sizes of the two arms."""
    past = feeding.end > feeding.mark
    lost = ((feeding.died == 1) & (feeding.end <= until))[past].sum() / max(past.sum(), 1)
    rare = float(min(lost, 1 - lost))
    return _effective(arms.weight_fed) * rare, _effective(arms.weight_unfed) * rare


def _heavy(arms: tuple[Floats, Floats]) -> tuple[str, ...]:
    """Said when one newborn carries much of an arm."""
    if all(arm.max(initial=0) <= LARGE * arm.sum() for arm in arms):
        return ()
    return ("A few newborns carry much of one arm: read the figures as a sketch.",)


def _effective(weights: Floats) -> float:
    """Kish's effective size: how many equal weights would hold as much."""
    return float(weights.sum() ** 2 / np.square(weights).sum()) if len(weights) else 0.0
