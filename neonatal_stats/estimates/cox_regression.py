"""Cox regression: how many times as often newborns with one more of something die, and whether at every age alike.

The arguments are checked, the covariates prepared (levels without deaths and columns said twice are set aside,
with a note), the partial likelihood is maximised, and the errors are summed by litter.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import linalg

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.clusters import (
    FewClusters,
    alike,
    are_few,
    by_cluster,
    cluster_rows,
    few_of_rows,
)
from neonatal_stats.estimates.partial_likelihood import (
    Derivatives,
    Rows,
    Units,
    Watch,
    derivatives,
    information,
    score_residuals,
    sums,
    units,
    watch,
)
from neonatal_stats.estimates.results import Test, chi_square_p, critical, two_sided

COLLINEAR = 1e-9  # share of a column's own information left after the columns before it
RUNAWAY = 0.1  # a step in log hazard across the covariate's range, still asked for when ...
NO_RATIO = "so it has no finite hazard ratio and none is given."
FARTHEST = 8.0  # longest step in log hazard across a covariate's range
FLAT = 1e-8  # ... the log likelihood rises by less than this
MOST_STEPS, TOLERANCE = 60, 1e-10  # of Newton, and the step in log hazard at which it has settled
MODEL = "Cox proportional hazards (Efron ties)"
ROBUST = "Cox proportional hazards (Efron ties), errors by litter (Lin-Wei), Student's t"
NO_DEATHS = "No deaths: no hazard ratio can be estimated."
RUNAWAY_NOTE = (
    "separates the deaths from the others at risk, so it has no finite hazard ratio and none is given."
)
ONE_CLUSTER_NOTE = "All deaths fell in one cluster, so no interval can be given."
NO_SPREAD = 1e-9  # variance summed over clusters, of the model's own, that is none
NO_SPREAD_NOTE = "no cluster moves it, as where all died at one age, so no interval can be given."
UNSETTLED_NOTE = "The fit did not settle, so no hazard ratio is given."


@dataclass(frozen=True, eq=False, repr=False)
class CoxFit:
    """One fitted Cox model; every array has one entry per covariate, in the order they were given.

    A covariate that cannot be estimated (no deaths at one of its levels, said already by the others) has NaN
    in its place and a sentence in ``notes``. ``se`` is the robust (Lin-Wei) standard error of the log hazard
    ratio where clusters were given, else the model's own; ``se_model`` is always the model's own. ``low``,
    ``high`` and ``p`` use Student's t on ``df`` degrees of freedom when there are clusters. ``n`` and
    ``events`` count newborns (or split rows), ``n_clusters`` is 0 without clusters.
    """

    names: tuple[str, ...]
    coefficient: Floats
    se: Floats
    hazard_ratio: Floats
    low: Floats
    high: Floats
    p: Floats
    n: int
    events: int
    n_clusters: int
    loglik: float
    converged: bool
    notes: tuple[str, ...]
    method: str
    se_model: Floats
    covariance: Floats
    df: float

    def __repr__(self) -> str:
        found = zip(self.names, self.hazard_ratio, self.low, self.high, strict=True)
        told = "; ".join(f"{name} {ratio:.3g} ({low:.3g} to {high:.3g})" for name, ratio, low, high in found)
        return f"<{type(self).__name__}: {self.events} deaths of {self.n}, hazard ratios {told}>"


def cox(
    age_h: ArrayLike,
    died: ArrayLike,
    covariates: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    names: tuple[str, ...] | list[str] | None = None,
    level: float,
    count: ArrayLike | None = None,
) -> CoxFit:
    """Hazard ratios of death from a Cox proportional hazards model.

    Parameters
    ----------
    covariates : (n, p) or (n,) numbers; a level of a factor is a column of 0 and 1. ``names`` (p) are for the notes.
    entry_h : a row is at risk over (entry_h, age_h]. A covariate that changes with time is two rows that share their
        cluster.
    weight : (n,) case weights (such as inverse probability weights), as R's ``weights``.
    count : (n,) whole numbers, how many identical newborns (in one cluster) a row stands for.

    Counted
    -------
    Every row; the caller leaves out newborns with a missing covariate and says how many. Rows that enter and
    leave at the same hour after birth are never at risk (a death in such a row is an error).

    Method
    ------
    Efron's approximation for tied deaths, Newton with halved steps to 1e-10. With ``cluster`` the variance is
    the sum over clusters of the squared sum of dfbeta (Lin & Wei), as R's ``coxph(..., cluster=)``; ``se`` is
    that very number. The interval and the p-value take Student's t on the number of clusters that lost a
    newborn less one, because the sandwich is a little narrow when few did: with the normal quantile the
    simulated coverage (tests/simulations/regression.py) falls below 93 %.

    Limits
    ------
    A hazard ratio compares newborns; it does not say what would happen if one changed the covariate.

    References
    ----------
    Cox 1972, J R Stat Soc B 34:187. Efron 1977, J Am Stat Assoc 72:557. Lin & Wei 1989, J Am Stat Assoc 84:1074.
    Written here because lifelines takes minutes and moves clustered errors by 6e-5 under ties (its rows' order).
    """
    problem = _checked(age_h, died, covariates, cluster, entry_h, weight, names, count, repeats)
    level = arguments.share(level)
    if not (problem.died.astype(bool) & (problem.weight > 0)).any():
        blank = np.full(len(problem.covariates), np.nan)
        return _fit(problem, blank, np.diag(blank), blank, np.nan, level, None, (NO_DEATHS,))
    watched = watch(problem.age_h, problem.died, problem.entry_h, problem.weight, problem.count)
    scaled, spread = standardised(problem.covariates, problem.repeats)
    ready = _prepare(scaled, watched, problem.names)
    return _finish(problem, ready, _maximise(ready.rows, ready.table), spread, level)


def _finish(problem: _Problem, ready: _Prepared, top: _Maximum, spread: Floats, level: float) -> CoxFit:
    """From the maximum to hazard ratios with their intervals, in the caller's units and order."""
    good = ~top.runaway if top.converged or top.runaway.any() else np.zeros(len(ready.kept), dtype=bool)
    kept, p = ready.kept[good], len(problem.covariates)
    unit = spread[kept]
    inverse = linalg.inv(top.at.information[np.ix_(good, good)]) if len(kept) else np.empty((0, 0))
    covariance, few, df = inverse, list[FewClusters](), np.inf
    unmoved = np.zeros(len(kept), dtype=bool)
    if problem.cluster is not None and len(kept):
        cluster, each = problem.cluster[ready.used], problem.each[ready.used]
        covariance = _sandwich(ready.rows, top.beta, cluster, each, inverse, good)
        unmoved = np.diag(covariance) <= NO_SPREAD * np.diag(inverse)
        covariance[unmoved, :] = covariance[:, unmoved] = np.nan
        dead = ready.rows.watch.dead
        df = _clusters(cluster[dead], each[dead]) - 1
        few = _few_clusters(ready.rows, top.beta, cluster, each, good)
    whole = np.full((p, p), np.nan)
    whole[np.ix_(kept, kept)] = covariance / np.outer(unit, unit)
    beta, se_model = np.full(p, np.nan), np.full(p, np.nan)
    beta[kept], se_model[kept] = top.beta[good] / unit, np.sqrt(np.diag(inverse)) / unit
    notes = [*ready.notes, *(f"{problem.names[j]}: {RUNAWAY_NOTE}" for j in ready.kept[top.runaway])]
    if not top.converged and not top.runaway.any():
        notes.append(UNSETTLED_NOTE)
    if df < 1:
        notes.append(ONE_CLUSTER_NOTE)
    else:
        notes += [f"{problem.names[j]}: {NO_SPREAD_NOTE}" for j in kept[unmoved]]
    fit = _fit(problem, beta, whole, se_model, df, level, top, tuple(notes))
    return _with_few_clusters(fit, kept, few, level) if few and df > 0 else fit


def _fit(
    problem: _Problem,
    beta: Floats,
    covariance: Floats,
    se_model: Floats,
    df: float,
    level: float,
    top: _Maximum | None,
    notes: tuple[str, ...],
) -> CoxFit:
    """The interval and the p-value, and everything in its place."""
    se = np.sqrt(np.diag(covariance))
    quantile = critical(level, df) if df > 0 else np.nan
    low, high = (_exp(beta + side * quantile * se) for side in (-1, 1))
    some = problem.copies > 0
    clusters = 0.0 if problem.cluster is None else _clusters(problem.cluster[some], problem.each[some])
    return CoxFit(
        names=problem.names,
        coefficient=beta,
        se=se,
        hazard_ratio=_exp(beta),
        low=low,
        high=high,
        p=two_sided(beta / se, df) if df > 0 else np.full(len(beta), np.nan),
        n=int(problem.copies.sum()),
        events=int(problem.copies @ problem.died),
        n_clusters=int(clusters),
        loglik=0.0 if top is None else top.at.loglik,
        converged=top is not None and bool(top.converged or top.runaway.any()),
        notes=notes,
        method=MODEL if problem.cluster is None else ROBUST,
        se_model=se_model,
        covariance=covariance,
        df=df,
    )


def _exp(log_ratio: Floats) -> Floats:
    """The ratio; NaN where it is too large to be a number."""
    return np.exp(np.where(log_ratio < 700, log_ratio, np.nan))


def _clusters(cluster: Integers, each: Floats) -> float:
    """How many clusters these rows are of, each as often as it is repeated."""
    _, first = np.unique(cluster, return_index=True)
    return float(each[first].sum())


def _sandwich(
    rows: Rows, beta: Floats, cluster: Integers, each: Floats, inverse: Floats, kept: NDArray[np.bool_]
) -> Floats:
    """Robust covariance of the kept coefficients, given the inverse of their information.

    The residuals are those of all the clusters that a row's own stands for; the square of each is one in so many parts.
    """
    influence = inverse @ by_cluster(score_residuals(rows, beta)[kept] / np.sqrt(each), cluster)
    return np.asarray(influence @ influence.T, dtype=np.float64)


def _few_clusters(
    rows: Rows, beta: Floats, cluster: Integers, each: Floats, kept: NDArray[np.bool_]
) -> list[FewClusters]:
    """What each kept coefficient needs where clusters are few; the rows weigh as the deaths that the model expects."""
    if not are_few(_clusters(cluster, each), rows.watch.count.sum()):
        return []
    here = sums(rows, rows.watch, beta)
    expected = here.hazard * rows.exposure(here.steps.a0) / each
    design, own = np.vstack([np.ones(rows.z.shape[1]), rows.z[kept]]), cluster
    if (each > 1).any():
        times = each.astype(np.int64)
        at = np.repeat(np.arange(len(cluster)), times)
        which = np.arange(len(at)) - np.repeat(np.cumsum(times) - times, times)
        design, expected, own = design[:, at], expected[at], cluster[at] * int(times.max()) + which
    return few_of_rows(design, expected, own, np.eye(len(design))[1:])


def _with_few_clusters(fit: CoxFit, kept: NDArray[np.int64], few: list[FewClusters], level: float) -> CoxFit:
    """The fit with limits and p that allow for few clusters."""
    low, high, p = fit.low.copy(), fit.high.copy(), fit.p.copy()
    for j, one in zip(kept, few, strict=True):
        alone, beta = fit.se_model[j], fit.coefficient[j]
        one = FewClusters(one.factor, min(one.df, fit.df))
        seen = (fit.se[j] / alone) ** 2
        half = float(critical(level) * alone * np.sqrt(one.effect(seen, level)))
        low[j], high[j], p[j] = _exp(beta - half), _exp(beta + half), one.p(beta / alone, seen)
    return replace(fit, low=low, high=high, p=p)


@dataclass(frozen=True, eq=False)
class _Problem:
    """Checked arguments of a Cox model; ``covariates`` has one row per covariate.

    ``count`` is how many newborns a row stands for in all clusters that its own stands for, ``repeats`` how many those
    are.
    """

    age_h: Floats
    died: Integers
    covariates: Floats
    cluster: Integers | None
    entry_h: Floats | None
    weight: Floats
    count: Floats | None
    names: tuple[str, ...]
    repeats: Floats | None = None

    @property
    def each(self) -> Floats:
        """How many identical clusters each row's cluster stands for."""
        return np.ones(len(self.age_h)) if self.repeats is None else self.repeats

    @property
    def copies(self) -> Floats:
        """How many newborns each row stands for; none where its weight is 0."""
        each = np.ones(len(self.age_h)) if self.count is None else self.count
        return each * (self.weight > 0)


def _checked(
    age_h: ArrayLike,
    died: ArrayLike,
    covariates: ArrayLike,
    cluster: ArrayLike | None,
    entry_h: ArrayLike | None,
    weight: ArrayLike | None,
    names: tuple[str, ...] | list[str] | None,
    count: ArrayLike | None,
    repeats: ArrayLike | None,
) -> _Problem:
    """Every argument, checked and of one length; covariates turned to one row per covariate."""
    age = arguments.ages(age_h)
    event = arguments.codes(died, "died", below=2)
    z = np.asarray(covariates, dtype=np.float64)
    z = z[:, None] if z.ndim == 1 else z
    arguments.same_length(age_h=age, died=event, covariates=z)
    entry = arguments.entries(entry_h, age)
    if entry is not None:
        instant = (event == 1) & (entry == age) & (entry > 0)
        arguments.refuse("entry_h", instant, entry, "a newborn that dies must have entered before its death")
    litter = None if cluster is None else arguments.codes(cluster, "cluster")
    if litter is not None:
        arguments.same_length(age_h=age, cluster=litter)
    said = tuple(names) if names is not None else tuple(f"x{j + 1}" for j in range(z.shape[1]))
    if len(said) != z.shape[1]:
        raise ValueError(
            f"names: must name each of {z.shape[1]} covariates; found {len(said)} names at position 0"
        )
    _finite(z, said)
    copies = None if count is None else arguments.codes(count, "count").astype(np.float64)
    if copies is not None:
        arguments.same_length(age_h=age, count=copies)
    weighed = arguments.weights(weight, len(age))
    each = alike(repeats, cluster_rows(litter, len(age)))
    if each is not None and litter is not None:
        each = each[np.unique(litter, return_inverse=True)[1]]
        copies = each if copies is None else copies * each
    return _Problem(age, event, np.ascontiguousarray(z.T), litter, entry, weighed, copies, said, each)


def _finite(z: Floats, names: tuple[str, ...]) -> None:
    """A missing covariate is named with its row: the caller decides who is left out, and says so."""
    bad = ~np.isfinite(z)
    if bad.any():
        row, column = (int(place[0]) for place in np.nonzero(bad))
        found = f"found {z[row, column]} in {names[column]} at position {row}"
        raise ValueError(f"covariates: every covariate must be finite; {found}")


def standardised(z: Floats, times: Floats | None = None) -> tuple[Floats, Floats]:
    """Covariates with mean 0 and standard deviation 1 (constants keep their unit), and the deviations.

    ``times`` is how often each newborn (column) counts.
    """
    centre, spread = z.mean(axis=1), z.std(axis=1)
    if times is not None:
        centre = np.average(z, axis=1, weights=times)
        spread = np.sqrt(np.average((z - centre[:, None]) ** 2, axis=1, weights=times))
    spread[np.ptp(z, axis=1) == 0] = 1.0
    scaled = z - centre[:, None]
    scaled /= spread[:, None]
    return scaled, spread


@dataclass(frozen=True, eq=False)
class _Prepared:
    """Rows and columns a likelihood can be maximised over, and why the other columns were set aside."""

    rows: Rows
    table: Units
    kept: NDArray[np.int64]
    used: NDArray[np.bool_]
    notes: list[str] = field(default_factory=list)


def _prepare(z: Floats, watched: Watch, names: tuple[str, ...]) -> _Prepared:
    """Set aside levels without deaths (with their newborns) and columns that the others already say.

    A newborn at a level where nobody died weighs nothing at the maximum (its hazard tends to 0), so the other
    coefficients are those of the newborns that are left.
    """
    notes: list[str] = []
    kept = np.arange(len(z))
    used = np.ones(z.shape[1], dtype=bool)
    for j, values in enumerate(z):
        lone = _level_without_deaths(values, watched)
        if lone is not None:
            high = lone > values[watched.dead[0]]
            notes.append(f"{names[j]}: no deaths at its {'higher' if high else 'lower'} level, {NO_RATIO}")
            used &= values != lone
            kept = kept[kept != j]
    if not used.all():
        watched, z = watched.keep(used), z[:, used]
    rows = _rows(z, kept, watched)
    table = units(rows.z, watched)
    good, said = _independent(rows, table, tuple(names[j] for j in kept))
    if said:
        kept = kept[good]
        rows = _rows(z, kept, watched)
        table = units(rows.z, watched)
    return _Prepared(rows, table, kept, used, notes + said)


def _rows(z: Floats, kept: NDArray[np.int64], watched: Watch) -> Rows:
    """The kept columns; no copy is made of all of them."""
    return Rows(z if len(kept) == len(z) else np.ascontiguousarray(z[kept]), watched)


def _level_without_deaths(values: Floats, watched: Watch) -> float | None:
    """The value of a two-valued covariate at which nobody died though somebody was at risk, else None."""
    low, high = float(values.min()), float(values.max())
    dead = values[watched.dead]
    if low == high or not (dead == dead[0]).all() or dead[0] not in (low, high):
        return None
    lone = low + high - float(dead[0])
    two = (values == low) | (values == high)
    return lone if two.all() else None


def _independent(rows: Rows, table: Units, names: tuple[str, ...]) -> tuple[list[int], list[str]]:
    """Columns whose information at no effect is more than what the columns before them hold."""
    watched, notes, good = rows.watch, [], list[int]()
    dead_weight = watched.weight[watched.dead]
    at_nothing = derivatives(table, watched, rows.z[:, watched.dead] @ dead_weight, np.zeros(len(rows.z)))
    information = at_nothing.information
    for j, name in enumerate(names):
        block, cross, own = information[np.ix_(good, good)], information[good, j], information[j, j]
        spread = float(np.average(np.square(rows.z[j]), weights=watched.count) * dead_weight.sum())
        left = own - (cross @ linalg.solve(block, cross, assume_a="pos") if good else 0.0)
        if own <= COLLINEAR * spread:
            notes.append(f"{name}: the same in all newborns at risk at each death, so it was left out.")
        elif left <= COLLINEAR * own:
            notes.append(f"{name}: already said by the other covariates (collinear), so it was left out.")
        else:
            good.append(j)
    return good, notes


@dataclass(frozen=True, eq=False)
class _Maximum:
    """Where Newton stopped: coefficients of the kept columns and the information there."""

    beta: Floats
    at: Derivatives
    converged: bool
    runaway: NDArray[np.bool_]


def _maximise(rows: Rows, table: Units) -> _Maximum:
    """Newton with halved steps from no effect; a likelihood that only flattens is reported as runaway."""
    watched, p = rows.watch, len(rows.z)
    dead_z = rows.z[:, watched.dead] @ watched.weight[watched.dead]
    reach = np.ptp(rows.z, axis=1)
    beta, runaway = np.zeros(p), np.zeros(p, dtype=bool)
    here = derivatives(table, watched, dead_z, beta)
    for _ in range(MOST_STEPS):
        step = _solve(here.information, here.score)
        step = step / max(1.0, float((np.abs(step) * reach).max(initial=0)) / FARTHEST)
        runaway = np.abs(step) * reach > RUNAWAY
        if np.abs(step).max(initial=0) < TOLERANCE:
            return _Maximum(beta + step, here, True, runaway)
        for _ in range(30):
            there = derivatives(table, watched, dead_z, beta + step)
            if (
                there.loglik >= here.loglik - 1e-12 * abs(here.loglik)
                and np.isfinite(there.information).all()
            ):
                break
            step = step / 2
        else:
            return _Maximum(beta, here, not runaway.any(), runaway)
        gain = there.loglik - here.loglik
        beta, here = beta + step, there
        if gain < FLAT and runaway.any():
            return _Maximum(beta, here, False, runaway)
    return _Maximum(beta, here, False, runaway)


def _solve(information: Floats, score: Floats) -> Floats:
    """Newton's step; least squares where the information has all but gone (a runaway column)."""
    try:
        return np.asarray(linalg.cho_solve(linalg.cho_factor(information), score), dtype=np.float64)
    except linalg.LinAlgError:
        return np.asarray(np.linalg.lstsq(information, score, rcond=1e-10)[0], dtype=np.float64)


TRANSFORMS = ("rank", "km", "identity", "log")


@dataclass(frozen=True, eq=False)
class ProportionalHazards:
    """One test per covariate, in the order given, and one for all of them together."""

    names: tuple[str, ...]
    covariates: tuple[Test, ...]
    overall: Test
    notes: tuple[str, ...]


def proportional_hazards_test(
    age_h: ArrayLike,
    died: ArrayLike,
    covariates: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    names: tuple[str, ...] | list[str] | None = None,
    transform: str = "rank",
) -> ProportionalHazards:
    """Test of a log hazard ratio that changes in step with g(age) against one that does not; arguments as in `cox`.

    ``transform`` is g: "rank" of the age among all ages, "km" (1 less Kaplan-Meier just before), "identity" or "log" of
    the age (every death must then be above age 0). A covariate that the model could not estimate has a NaN statistic.

    Method
    ------
    Score test of adding covariate times g(age) to the fitted model. Without clusters the variance is the
    model's, as R's ``cox.zph`` (survival 3.0 and later); with clusters it is the sum over them of squared influence.

    Limits
    ------
    Sees only a trend in g. Not finding one in few deaths does not show that the ratio is constant.

    References
    ----------
    Grambsch & Therneau 1994, Biometrika 81:515. Lin & Wei 1989, J Am Stat Assoc 84:1074.
    """
    problem = _checked(age_h, died, covariates, cluster, entry_h, weight, names, None, repeats)
    if transform not in TRANSFORMS:
        raise ValueError(
            f"transform: must be one of {', '.join(TRANSFORMS)}; found {transform} at position 0"
        )
    method = f"score test against {transform} of age" + ("" if cluster is None else ", errors by litter")
    size = len(problem.covariates)
    if not (problem.died * problem.weight).any():
        empty = Test(np.nan, 0, np.nan, method, "No deaths: nothing can be tested.")
        return ProportionalHazards(problem.names, (empty,) * size, empty, (empty.note,))
    watched = watch(problem.age_h, problem.died, problem.entry_h, problem.weight, problem.count)
    ready = _prepare(standardised(problem.covariates, problem.repeats)[0], watched, problem.names)
    top = _maximise(ready.rows, ready.table)
    kept = np.flatnonzero(~top.runaway)
    g = _of_age(transform, problem.age_h, watched)
    litter = None if problem.cluster is None else problem.cluster[ready.used]
    score, variance = _score(ready.rows, top.beta, kept, g, litter, problem.each[ready.used])
    single = [_test(score[[j]], variance[np.ix_([j], [j])], method) for j in range(len(kept))]
    blank = Test(np.nan, 1, np.nan, method, "The covariate could not be estimated.")
    place = dict(zip(ready.kept[kept].tolist(), single, strict=True))
    tests = tuple(place.get(j, blank) for j in range(size))
    return ProportionalHazards(problem.names, tests, _test(score, variance, method), tuple(ready.notes))


def _of_age(transform: str, age_h: Floats, watched: Watch) -> Floats:
    """g at each age at death, less its mean over the deaths."""
    times = watched.times
    if transform == "rank":
        order = np.argsort(age_h, kind="stable")
        before = np.concatenate([[0.0], np.cumsum(watched.count[order])])
        sides = (before[np.searchsorted(age_h[order], times, side)] for side in ("left", "right"))
        g = (sum(sides) + 1) / 2
    elif transform == "km":
        at_risk = Rows(np.empty((0, len(age_h))), watched).at_risk(watched.count)
        g = 1 - np.concatenate([[1.0], np.cumprod(1 - watched.deaths / at_risk)[:-1]])
    elif transform == "log":
        arguments.refuse("age_h", times <= 0, times, "log needs every death above age 0")
        g = np.log(times)
    else:
        g = times
    return np.asarray(g - np.average(g, weights=watched.deaths), dtype=np.float64)


def _score(
    rows: Rows, beta: Floats, kept: Integers, g: Floats, cluster: Integers | None, each: Floats
) -> tuple[Floats, Floats]:
    """Score for covariate times g and its variance, given that the coefficients were fitted."""
    here = sums(rows, rows.watch, beta)
    block = np.ix_(kept, kept)
    plain, once, twice = (information(rows, here, power)[block] for power in (np.ones_like(g), g, g * g))
    fitted = linalg.solve(plain, once, assume_a="sym")
    late = score_residuals(rows, beta, g)[kept]
    score = late.sum(axis=1)
    if cluster is None:
        return score, twice - once @ fitted
    share = by_cluster((late - fitted.T @ score_residuals(rows, beta)[kept]) / np.sqrt(each), cluster)
    return score, share @ share.T


def _test(score: Floats, variance: NDArray[np.float64], method: str) -> Test:
    """Chi-square of a score against its variance."""
    if not len(score):
        return Test(np.nan, 0, np.nan, method, "No covariate could be estimated.")
    statistic = float(score @ linalg.pinvh(variance) @ score)
    return Test(statistic, len(score), chi_square_p(statistic, len(score)), method)
