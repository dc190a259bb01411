"""Gray's test: do groups of newborns differ in how many are lost of one cause, the other causes competing?

References
----------
Gray RJ (1988) A class of K-sample tests for comparing the cumulative incidence of a competing risk.
Ann Statist 16:1141-1154.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.counts import EventTable, count_events
from neonatal_stats.estimates.incidence import alive_before, lost_by_cause
from neonatal_stats.estimates.logrank import NO_DEATHS, quadratic_test
from neonatal_stats.estimates.results import Test
from neonatal_stats.estimates.survival import product_limit


def gray_test(
    age_h: ArrayLike,
    outcome: ArrayLike,
    group: ArrayLike,
    cause: int,
    *,
    weight: ArrayLike | None = None,
    n_groups: int | None = None,
) -> Test:
    """Gray's test of equal cumulative incidence of one cause between groups, as ``cmprsk::cuminc`` (rho = 0).

    Parameters
    ----------
    age_h, outcome, group : age, outcome (0 left alive, 1 to C the causes) and group (n,).
    cause : the cause to compare, 1 to C.
    weight : how many newborns each row stands for (n,).

    Returns
    -------
    Test : chi-square; NaN with a note where nothing can be tested.

    Limits
    ------
    Takes littermates as independent, and all newborns as watched from birth.
    """
    return gray_from_counts(
        count_events(age_h, outcome, group=group, weight=weight, n_groups=n_groups), cause
    )


def gray_from_counts(table: EventTable, cause: int) -> Test:
    """Gray's test from an event table; see :func:`gray_test`."""
    if not cause >= 1:
        raise ValueError(f"cause: causes are numbered from 1; found {cause} at position 0")
    method = "Gray's test"
    if cause > table.events.shape[2] or not table.events[..., cause - 1].any():
        return Test(np.nan, 0, np.nan, method, NO_DEATHS.replace("deaths", "deaths of this cause"))
    watched: NDArray[np.bool_] = np.asarray(table.at_risk.any(axis=1))
    score, variance = _score_and_variance(_at_losses(table, watched), cause - 1)
    return quadratic_test(score, variance, np.ones(len(score), dtype=bool), method)


def _at_losses(table: EventTable, watched: NDArray[np.bool_]) -> EventTable:
    """Only groups with newborns, and only the ages at which any were lost."""
    some = table.deaths.any(axis=0)
    rows = np.ix_(watched, some)
    return EventTable(table.age_h[some], table.at_risk[rows], table.events[rows], table.left[rows])


def _score_and_variance(table: EventTable, cause: int) -> tuple[Floats, Floats]:
    """Losses of the cause less those expected were incidence alike, by group, and their variance matrix.

    R = at risk / alive stands for all newborns of the group that censoring would have left; the pooled
    incidence F rises by the losses over the sum of R. ``weight`` holds each group's weight in each group's
    score.
    """
    at_risk, own = table.at_risk, table.events[..., cause]
    alive = product_limit(at_risk, table.deaths)
    before = alive_before(alive)
    lost = lost_by_cause(table, alive)[..., cause]
    lost_before = np.hstack([np.zeros((len(lost), 1)), lost[:, :-1]])
    stake = np.divide(at_risk, before, out=np.zeros_like(at_risk), where=at_risk > 0)
    everyone, unlost = stake.sum(axis=0), stake * (1 - lost_before)
    died = own.sum(axis=0)
    score = (own - died * unlost / unlost.sum(axis=0)).sum(axis=1)
    pooled = np.cumsum(died / everyone)
    pooled_before = np.append(0.0, pooled[:-1])
    weight = -stake.T[:, :, None] * (stake / everyone).T[:, None, :]
    weight[:, np.arange(len(own)), np.arange(len(own))] += stake.T
    spent = np.cumsum(weight * (died / (everyone * (1 - pooled_before)))[:, None, None], axis=0)
    to_come = spent[-1] - spent
    ratio = np.divide(1 - pooled, alive, out=np.zeros_like(alive), where=alive > 0).T[:, None, :]
    by_own = weight + np.where(alive.T[:, None, :] > 0, 1 - ratio, 1.0) * to_come
    variance = _outer(by_own, _own_variance(died, everyone, before, at_risk))
    variance += _outer(ratio * to_come, _other_variance(table, before, alive, cause))
    return score, variance


def _outer(moves: Floats, variance: Floats) -> Floats:
    """Sum over ages and groups of the outer products of moves (K, G, G), weighted (G, K)."""
    product: Floats = np.einsum("tik,tjk,kt->ij", moves, moves, variance, optimize=True)
    return product


def _own_variance(died: Floats, everyone: Floats, before: Floats, at_risk: Floats) -> Floats:
    """Variance of a group's step of incidence, were it the pooled step."""
    spare = everyone * before - 1
    ties = np.divide(died - 1, spare, out=np.zeros_like(spare), where=(died > 1) & (spare > 0))
    step = before * died / everyone
    return np.divide((1 - ties) * step, at_risk, out=np.zeros_like(step), where=at_risk > 0)


def _other_variance(table: EventTable, before: Floats, alive: Floats, cause: int) -> Floats:
    """Variance of a group's step of the other causes together."""
    other, at_risk = table.deaths - table.events[..., cause], table.at_risk
    ties = np.divide(other - 1, at_risk - 1, out=np.zeros_like(other), where=(other > 1) & (at_risk > 1))
    counted = (other > 0) & (alive > 0)
    return np.divide((1 - ties) * before**2 * other, at_risk**2, out=np.zeros_like(other), where=counted)
