"""Cox regression for deaths at whole hours in litters: Efron's ties, entry and exit, errors by cluster."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import linalg, stats

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.regression.cox_arguments import Problem, checked, standardised
from neonatal_stats.estimates.regression.cox_fit import Maximum, Prepared, maximise, prepare
from neonatal_stats.estimates.regression.cox_robust import losing_clusters, sandwich
from neonatal_stats.estimates.regression.risk_sets import watch

MODEL = "Cox proportional hazards (Efron ties)"
ROBUST = "Cox proportional hazards (Efron ties), errors by litter (Lin-Wei), Student's t"
NO_DEATHS = "No deaths: no hazard ratio can be estimated."
RUNAWAY_NOTE = (
    "separates the deaths from the others at risk, so it has no finite hazard ratio and none is given."
)
ONE_CLUSTER_NOTE = "All deaths fell in one litter, so no interval can be given."
UNSETTLED_NOTE = "The fit did not settle, so no hazard ratio is given."


@dataclass(frozen=True, eq=False)
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


def cox(
    age_h: ArrayLike,
    died: ArrayLike,
    covariates: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    entry_h: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    names: tuple[str, ...] | list[str] | None = None,
    level: float = 0.95,
    count: ArrayLike | None = None,
) -> CoxFit:
    """Hazard ratios of death from a Cox proportional hazards model.

    Parameters
    ----------
    age_h : (n,) age in hours at which watching ended; whole hours and age 0 are welcome.
    died : (n,) 1 where it ended in death, 0 where the newborn was last known alive.
    covariates : (n, p) or (n,) numbers; a level of a factor is a column of 0 and 1.
    cluster : (n,) whole number of the litter (or farm); rows in one cluster may depend on each other.
    entry_h : (n,) age at which watching began. A row is at risk over (entry_h, age_h]; entry 0 means watched
        from birth, hour 0 included. A covariate that changes with time is two rows that share their cluster.
    weight : (n,) case weights (such as inverse probability weights), as R's ``weights``.
    names : p names for the notes.
    level : confidence level.
    count : (n,) whole numbers, how many identical newborns (in one cluster) a row stands for.

    Returns
    -------
    CoxFit

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
    Cox 1972, J R Stat Soc B 34:187. Efron 1977, J Am Stat Assoc 72:557. Lin & Wei 1989, J Am Stat Assoc
    84:1074. Written here because lifelines takes minutes and moves clustered errors by 6e-5 under ties (its
    rows' order).

    Examples
    --------
    Two of three newborns die, at hours 1 and 2, the first with x = 1: the likelihood is e/(e + 2) times 1/2,
    which only grows with e, so x has no finite hazard ratio and a note says so.
    """
    problem = checked(age_h, died, covariates, cluster, entry_h, weight, names, count)
    level = arguments.share(level)
    if not (problem.died.astype(bool) & (problem.weight > 0)).any():
        blank = np.full(len(problem.covariates), np.nan)
        return _fit(problem, blank, np.diag(blank), blank, np.nan, level, None, (NO_DEATHS,))
    watched = watch(problem.age_h, problem.died, problem.entry_h, problem.weight, problem.count)
    scaled, spread = standardised(problem.covariates)
    ready = prepare(scaled, watched, problem.names)
    return _finish(problem, ready, maximise(ready.rows, ready.table), spread, level)


def _finish(problem: Problem, ready: Prepared, top: Maximum, spread: Floats, level: float) -> CoxFit:
    """From the maximum to hazard ratios with their intervals, in the caller's units and order."""
    good = ~top.runaway if top.converged or top.runaway.any() else np.zeros(len(ready.kept), dtype=bool)
    kept, p = ready.kept[good], len(problem.covariates)
    unit = spread[kept]
    inverse = linalg.inv(top.at.information[np.ix_(good, good)]) if len(kept) else np.empty((0, 0))
    covariance, df = inverse, np.inf
    if problem.cluster is not None and len(kept):
        cluster = problem.cluster[ready.used]
        covariance = sandwich(ready.rows, top.beta, cluster, inverse, good)
        df = float(losing_clusters(ready.rows, cluster) - 1)
    whole = np.full((p, p), np.nan)
    whole[np.ix_(kept, kept)] = covariance / np.outer(unit, unit)
    beta, se_model = np.full(p, np.nan), np.full(p, np.nan)
    beta[kept], se_model[kept] = top.beta[good] / unit, np.sqrt(np.diag(inverse)) / unit
    notes = [*ready.notes, *(f"{problem.names[j]}: {RUNAWAY_NOTE}" for j in ready.kept[top.runaway])]
    if not top.converged and not top.runaway.any():
        notes.append(UNSETTLED_NOTE)
    if df < 1:
        notes.append(ONE_CLUSTER_NOTE)
    return _fit(problem, beta, whole, se_model, df, level, top, tuple(notes))


def _fit(
    problem: Problem,
    beta: Floats,
    covariance: Floats,
    se_model: Floats,
    df: float,
    level: float,
    top: Maximum | None,
    notes: tuple[str, ...],
) -> CoxFit:
    """The interval and the p-value, and everything in its place."""
    se = np.sqrt(np.diag(covariance))
    quantile = stats.t.ppf(0.5 + level / 2, df) if df > 0 else np.nan
    low, high = (_exp(beta + side * quantile * se) for side in (-1, 1))
    clusters = 0 if problem.cluster is None else len(np.unique(problem.cluster[problem.copies > 0]))
    return CoxFit(
        names=problem.names,
        coefficient=beta,
        se=se,
        hazard_ratio=_exp(beta),
        low=low,
        high=high,
        p=2 * stats.t.sf(np.abs(beta / se), df) if df > 0 else np.full(len(beta), np.nan),
        n=int(problem.copies.sum()),
        events=int(problem.copies @ problem.died),
        n_clusters=clusters,
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
