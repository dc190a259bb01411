"""Does a hazard ratio stay the same with age? The score test of Grambsch & Therneau, with litters."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import linalg, stats

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.clusters import by_cluster
from neonatal_stats.estimates.cox_regression import checked, maximise, prepare, standardised
from neonatal_stats.estimates.partial_likelihood import Rows, Watch, information, score_residuals, sums, watch
from neonatal_stats.estimates.results import Test

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
    names: tuple[str, ...] | list[str] | None = None,
    transform: str = "rank",
) -> ProportionalHazards:
    """Test of a log hazard ratio that changes in step with g(age) against one that does not.

    Parameters
    ----------
    age_h, died, covariates, cluster, entry_h, weight, names : as in ``cox``.
    transform : g: "rank" of the age among all ages, "km" (1 less Kaplan-Meier just before), "identity" or
        "log" of the age (every death must then be above age 0).

    Returns
    -------
    ProportionalHazards; a covariate that the model could not estimate has a NaN statistic.

    Method
    ------
    Score test of adding covariate times g(age) to the fitted model. Without clusters the variance is the
    model's, as R's ``cox.zph`` (survival 3.0 and later); with clusters it is the sum over them of squared
    influence.

    Limits
    ------
    Sees only a trend in g. Not finding one in few deaths does not show that the ratio is constant.

    References
    ----------
    Grambsch & Therneau 1994, Biometrika 81:515. Lin & Wei 1989, J Am Stat Assoc 84:1074.
    """
    problem = checked(age_h, died, covariates, cluster, entry_h, weight, names, None)
    if transform not in TRANSFORMS:
        raise ValueError(
            f"transform: must be one of {', '.join(TRANSFORMS)}; found {transform} at position 0"
        )
    method = f"score test against {transform} of age" + ("" if cluster is None else ", errors by litter")
    size = len(problem.covariates)
    if not (problem.died * problem.weight).any():
        empty = Test(np.nan, 0, np.nan, method, "No deaths: nothing can be tested.")
        return ProportionalHazards(problem.names, (empty,) * size, empty, (empty.note,))
    watched = watch(problem.age_h, problem.died, problem.entry_h, problem.weight)
    ready = prepare(standardised(problem.covariates)[0], watched, problem.names)
    top = maximise(ready.rows, ready.table)
    kept = np.flatnonzero(~top.runaway)
    g = _of_age(transform, problem.age_h, watched)
    litter = None if problem.cluster is None else problem.cluster[ready.used]
    score, variance = _score(ready.rows, top.beta, kept, g, litter)
    single = [_test(score[[j]], variance[np.ix_([j], [j])], method) for j in range(len(kept))]
    blank = Test(np.nan, 1, np.nan, method, "The covariate could not be estimated.")
    place = dict(zip(ready.kept[kept].tolist(), single, strict=True))
    tests = tuple(place.get(j, blank) for j in range(size))
    return ProportionalHazards(problem.names, tests, _test(score, variance, method), tuple(ready.notes))


def _of_age(transform: str, age_h: Floats, watched: Watch) -> Floats:
    """g at each age at death, less its mean over the deaths."""
    times = watched.times
    if transform == "rank":
        ordered = np.sort(age_h)
        sides = (np.searchsorted(ordered, times, side) for side in ("left", "right"))
        g = (sum(sides) + 1) / 2
    elif transform == "km":
        at_risk = Rows(np.empty((0, len(age_h))), watched).at_risk(np.ones(len(age_h)))
        g = 1 - np.concatenate([[1.0], np.cumprod(1 - watched.deaths / at_risk)[:-1]])
    elif transform == "log":
        arguments.refuse("age_h", times <= 0, times, "log needs every death above age 0")
        g = np.log(times)
    else:
        g = times
    return np.asarray(g - np.average(g, weights=watched.deaths), dtype=np.float64)


def _score(
    rows: Rows, beta: Floats, kept: Integers, g: Floats, cluster: Integers | None
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
    share = by_cluster(late - fitted.T @ score_residuals(rows, beta)[kept], cluster)
    return score, share @ share.T


def _test(score: Floats, variance: NDArray[np.float64], method: str) -> Test:
    """Chi-square of a score against its variance."""
    if not len(score):
        return Test(np.nan, 0, np.nan, method, "No covariate could be estimated.")
    statistic = float(score @ linalg.pinvh(variance) @ score)
    return Test(statistic, len(score), float(stats.chi2.sf(statistic, len(score))), method)
