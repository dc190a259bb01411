"""The Cox partial likelihood with Efron's ties, its derivatives, and each newborn's share of the score.

Efron (1977): when d newborns die in one hour, the l-th of them (l = 0 .. d-1) is set against the risk set
less l/d of those dying. Everything below is a sum over these steps, folded first to the distinct ages at
death.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.regression.risk_sets import Rows, Units, Watch


@dataclass(frozen=True, eq=False)
class Steps:
    """Efron's steps folded to ages at death: sums of 1/denominator (a) and 1/denominator squared (b).

    The trailing figure is the power of l/d inside the sum, so ``a1`` is the sum of (l/d) / denominator, times
    the mean weight of those dying at that age.
    """

    a0: Floats
    a1: Floats
    b0: Floats
    b1: Floats
    b2: Floats
    log_denominator: float


def efron_steps(watched: Watch, s0: Floats, d0: Floats) -> Steps:
    """Fold Efron's steps; ``s0`` and ``d0`` are the summed hazards of those at risk and of those dying."""
    deaths = watched.deaths
    starts = np.concatenate([[0], np.cumsum(deaths)[:-1]])
    place = np.arange(deaths.sum()) - np.repeat(starts, deaths)
    part = place / np.repeat(deaths, deaths)
    denominator = np.repeat(s0, deaths) - part * np.repeat(d0, deaths)
    with np.errstate(all="ignore"):  # a step too far leaves nothing at risk: the caller halves it
        inverse, logs = 1 / denominator, np.log(denominator)
        squared = inverse * inverse
    mean_weight = watched.death_weight / deaths

    def fold(values: Floats) -> Floats:
        return mean_weight * np.add.reduceat(values, starts)

    with np.errstate(all="ignore"):
        return Steps(
            a0=fold(inverse),
            a1=fold(part * inverse),
            b0=fold(squared),
            b1=fold(part * squared),
            b2=fold(part * part * squared),
            log_denominator=float(fold(logs).sum()),
        )


@dataclass(frozen=True, eq=False)
class Derivatives:
    """Log likelihood, score (p,) and information (p, p) at one value of the coefficients."""

    loglik: float
    score: Floats
    information: Floats


@dataclass(frozen=True, eq=False)
class Sums:
    """Sums over risk sets (s) and over those dying (d) at each age at death, and Efron's steps."""

    hazard: Floats
    s1: Floats
    d1: Floats
    steps: Steps


def sums(units: Units, watched: Watch, beta: Floats) -> Sums:
    """One pass over the units. ``hazard`` is weight times exp(eta), scaled so that its largest exp is 1."""
    eta = beta @ units.z
    hazard = np.exp(eta - eta.max(initial=-np.inf)) * units.weight
    s1 = np.empty((len(beta), len(watched.times)))
    d1 = np.empty_like(s1)
    for j, z in enumerate(units.z):
        product = hazard * z
        s1[j] = units.at_risk(product)
        d1[j] = units.dying(product)
    return Sums(hazard, s1, d1, efron_steps(watched, units.at_risk(hazard), units.dying(hazard)))


def derivatives(units: Units, watched: Watch, dead_z: Floats, beta: Floats) -> Derivatives:
    """Derivatives at ``beta``; ``dead_z`` is the weighted sum of the covariates of those that died."""
    here = sums(units, watched, beta)
    shift = float((beta @ units.z).max(initial=-np.inf))
    loglik = float(beta @ dead_z - shift * watched.death_weight.sum() - here.steps.log_denominator)
    score = dead_z - here.s1 @ here.steps.a0 + here.d1 @ here.steps.a1
    return Derivatives(loglik, score, information(units, here))


def information(units: Units, here: Sums, by_time: Floats | float = 1.0) -> Floats:
    """Information (p, p), each age at death counted ``by_time``.

    A weighted Gram matrix of the units (each weighted by its hazard times Efron's steps while it was at risk)
    less the products of the risk-set means.
    """
    steps, s1, d1 = here.steps, here.s1, here.d1
    weight = here.hazard * (units.exposure(by_time * steps.a0) - units.at_death(by_time * steps.a1))
    cross = (s1 * (by_time * steps.b1)) @ d1.T
    means = (s1 * (by_time * steps.b0)) @ s1.T - cross - cross.T + (d1 * (by_time * steps.b2)) @ d1.T
    return _gram(units.z, weight) - means


def _gram(z: Floats, weight: Floats, block: int = 65536) -> Floats:
    """Sum over units of weight times z z', a block at a time so that no second copy of z is made."""
    total = np.zeros((len(z), len(z)))
    for start in range(0, z.shape[1], block):
        part = z[:, start : start + block]
        total += (part * weight[start : start + block]) @ part.T
    return total


def score_residuals(rows: Rows, beta: Floats, by_time: Floats | None = None) -> Floats:
    """Each row's share of the score (p, rows), weighted; they add up to the score.

    With ``by_time`` g(t) at each age at death, the share of the score for z times g(t). Linear in rows: while
    a row is at risk it loses hazard times (z - risk-set mean) at each death, and gains its own z less that
    mean.
    """
    watched = rows.watch
    here = sums(rows, watched, beta)
    steps, s1, d1 = here.steps, here.s1, here.d1
    g = np.ones(len(watched.times)) if by_time is None else by_time
    mean_weight = watched.death_weight / watched.deaths
    # sums over steps of the mean covariate: plain, times 1/denominator, times (l/d)/denominator
    risk_mean = g * (s1 * steps.b0 - d1 * steps.b1)
    death_mean = g * (s1 * steps.b1 - d1 * steps.b2)
    own_mean = g * (s1 * steps.a0 - d1 * steps.a1) / (mean_weight * watched.deaths)
    lived = here.hazard * rows.exposure(g * steps.a0)
    dead, at = watched.dead, watched.dead_at
    own_hazard = here.hazard[dead]
    own_weight = watched.weight[dead]
    out = np.empty_like(rows.z)
    for j, z in enumerate(rows.z):
        out[j] = here.hazard * rows.exposure(risk_mean[j]) - lived * z
        gained = own_weight * (g[at] * z[dead] - own_mean[j][at])
        spared = own_hazard * ((g * steps.a1)[at] * z[dead] - death_mean[j][at])
        out[j][dead] += gained + spared
    return out
