"""The chance of a first feed, hour by hour, among those alive and unfed, given what was known at birth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import linalg, special

from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.regression.risk_sets import sum_by

BANDS = 10  # at most so many bands of hours, each with a level of its own
RIDGE = 1e-3  # a hair of shrinkage: a covariate that parts fed from unfed in a resample stays finite


@dataclass(frozen=True, eq=False)
class Feeding:
    """Hour of first feed (the mark + 1 where not fed by it), last hour watched, death and the mark.

    ``z`` (p, patterns) are the distinct patterns of covariates and ``pattern`` each newborn's place among
    them.
    """

    fed: Integers
    end: Integers
    died: Integers
    z: Floats
    pattern: Integers
    mark: int

    def by_pattern(self, counts: Floats) -> Floats:
        """Sums of counts over the newborns of each pattern."""
        return sum_by(self.pattern, counts, self.z.shape[1])


def bands(feeding: Feeding, count: Floats) -> Integers:
    """A band for each hour up to the mark: consecutive hours that hold about a tenth of the feeds each."""
    seen = feeding.fed <= feeding.mark
    feeds = np.bincount(feeding.fed[seen], count[seen], minlength=feeding.mark + 1)
    middle = (np.cumsum(feeds) - feeds / 2) / max(feeds.sum(), 1e-300)
    band = np.minimum((middle * BANDS).astype(np.int64), BANDS - 1)
    for hour in np.flatnonzero(feeds == 0):  # an hour without feeds joins the hour before it
        band[hour] = band[hour - 1] if hour else 0
    return np.unique(band, return_inverse=True)[1]


def fit_hazard(
    feeding: Feeding, band: Integers, count: Floats, *, start: Floats | None = None, most: int = 25
) -> Floats:
    """Coefficients of the pooled logistic model: one level per band, then one per covariate."""
    levels, p = int(band.max()) + 1, len(feeding.z)
    beta = np.zeros(levels + p) if start is None else start
    ridge = np.concatenate([np.full(levels, 1e-9), np.full(p, RIDGE)])
    hours = [_may_feed(feeding, hour, count) for hour in range(feeding.mark + 1)]
    for _ in range(most):
        score, information = -ridge * beta, np.diag(ridge)
        slope = beta[levels:] @ feeding.z
        for at, (there, fed) in zip(band, hours, strict=True):
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


def _may_feed(feeding: Feeding, hour: int, count: Floats) -> tuple[Floats, Floats]:
    """By pattern: newborns that lived through the hour and were unfed when it began, and those then fed."""
    there = np.where((feeding.fed >= hour) & (feeding.end > hour), count, 0.0)
    return feeding.by_pattern(there), feeding.by_pattern(np.where(feeding.fed == hour, there, 0.0))


def hazard(feeding: Feeding, band: Integers, beta: Floats, hour: int) -> Floats:
    """Each newborn's chance of a first feed in an hour, had it lived and been unfed until then."""
    levels = len(beta) - len(feeding.z)
    eta = beta[band[hour]] + beta[levels:] @ feeding.z
    return np.asarray(special.expit(np.clip(eta, -30, 30))[feeding.pattern], dtype=np.float64)
