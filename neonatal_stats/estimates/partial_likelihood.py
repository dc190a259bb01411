"""The partial likelihood of Cox's model, from risk sets kept as counts: every sum over them in one pass.

A newborn watched over (entry, exit] is at risk at the distinct ages at death ``times[first:last]``. A sum
over every risk set is then a bincount and a reversed running sum, and its transpose a running sum and a
look-up, so a fit costs a few passes over the newborns however many hours there are. Where the covariates take
few distinct patterns, the units are the patterns and the passes are over a small table of counts (pattern by
hour).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.clusters import totals

Booleans = NDArray[np.bool_]
MOST_PATTERNS = 4096  # of the covariates, up to which units are patterns rather than rows
BLOCK = 65_536  # units worked at a time, so that no second copy of z is made


@dataclass(frozen=True, eq=False)
class Watch:
    """When each row was at risk, as positions on the grid of distinct ages at death.

    ``first`` is None when every row is watched from birth. ``dead`` are the rows that died and ``dead_at``
    their position on the grid; ``count`` is how many newborns each row stands for and ``weight`` count times
    weight.
    """

    times: Floats
    first: Integers | None
    last: Integers
    dead: Integers
    dead_at: Integers
    weight: Floats
    count: Floats

    @property
    def deaths(self) -> Integers:
        """Newborns that died at each time (rows, or counts where rows stand for several)."""
        counted = totals(self.dead_at, self.count[self.dead], len(self.times))
        return np.rint(counted).astype(np.int64)

    @property
    def death_weight(self) -> Floats:
        """Weight of those that died at each time."""
        return totals(self.dead_at, self.weight[self.dead], len(self.times))

    def keep(self, rows: Booleans) -> Watch:
        """Only some rows, on the same grid; the rows left out must hold no death."""
        position = np.cumsum(rows) - 1
        first = None if self.first is None else self.first[rows]
        dead = position[self.dead]
        return Watch(
            self.times, first, self.last[rows], dead, self.dead_at, self.weight[rows], self.count[rows]
        )


def watch(
    age_h: Floats, died: Integers, entry_h: Floats | None, weight: Floats, count: Floats | None
) -> Watch:
    """Place every row on the grid of distinct ages at death; a row of weight 0 is never counted."""
    lost = (died > 0) & (weight > 0)
    times, last = _grid(age_h, lost)
    first = None
    if entry_h is not None and (entry_h > 0).any():
        first = np.where(entry_h > 0, np.searchsorted(times, entry_h, side="right"), 0)
        first = np.minimum(first, last)
    dead = np.flatnonzero(lost)
    count = np.ones(len(age_h)) if count is None else count
    return Watch(times, first, last, dead, last[dead] - 1, weight * count, count)


def _grid(age_h: Floats, died: Booleans) -> tuple[Floats, Integers]:
    """Distinct ages at death, and for each row how many of them it lived to see."""
    top = age_h.max(initial=0)
    if top <= 4 * len(age_h):
        hours = age_h.astype(np.int64)
        if (hours == age_h).all():
            seen = np.zeros(int(top) + 1, dtype=bool)
            seen[hours[died]] = True
            return np.flatnonzero(seen).astype(np.float64), np.cumsum(seen)[hours]
    times = np.unique(age_h[died])
    return times, np.searchsorted(times, age_h, side="right")


def _tail(values: Floats) -> Floats:
    """Sums over everything beyond each position of the grid."""
    return values[::-1].cumsum()[::-1][1:]


class Units(Protocol):
    """What the likelihood needs: covariates ``z`` (p, units), sums over risk sets and their transposes."""

    @property
    def z(self) -> Floats: ...

    @property
    def weight(self) -> Floats: ...

    def at_risk(self, values: Floats) -> Floats: ...

    def exposure(self, rates: Floats) -> Floats: ...

    def dying(self, values: Floats) -> Floats: ...

    def at_death(self, rates: Floats) -> Floats: ...


@dataclass(frozen=True, eq=False)
class Rows:
    """Every row a unit of its own."""

    z: Floats
    watch: Watch

    @property
    def weight(self) -> Floats:
        return self.watch.weight

    def at_risk(self, values: Floats) -> Floats:
        """Sum of weighted values over each risk set."""
        size = len(self.watch.times) + 1
        total = _tail(totals(self.watch.last, values, size))
        if self.watch.first is not None:
            total -= _tail(totals(self.watch.first, values, size))
        return total

    def exposure(self, rates: Floats) -> Floats:
        """For each row the sum of rates over the times at which it was at risk."""
        running = np.concatenate([[0.0], np.cumsum(rates)])
        total = running[self.watch.last]
        return total if self.watch.first is None else total - running[self.watch.first]

    def dying(self, values: Floats) -> Floats:
        """Sum of weighted values over those that died at each time."""
        return totals(self.watch.dead_at, values[self.watch.dead], len(self.watch.times))

    def at_death(self, rates: Floats) -> Floats:
        """For each row the rate at its time of death, 0 for those that did not die."""
        out = np.zeros(len(self.watch.last))
        out[self.watch.dead] = rates[self.watch.dead_at]
        return out


@dataclass(frozen=True, eq=False)
class _Patterns:
    """Every distinct pattern of covariates a unit: two tables of weights, pattern by time."""

    z: Floats
    weight: Floats
    living: Floats
    lost: Floats

    def at_risk(self, values: Floats) -> Floats:
        return values @ self.living

    def exposure(self, rates: Floats) -> Floats:
        return self.living @ rates

    def dying(self, values: Floats) -> Floats:
        return values @ self.lost

    def at_death(self, rates: Floats) -> Floats:
        return self.lost @ rates


def units(z: Floats, watched: Watch) -> Units:
    """Patterns where the covariates have few of them and the table stays smaller than the rows, else rows."""
    code = pattern_codes(z, MOST_PATTERNS)
    size = len(watched.times) + 1
    if code is None or (int(code.max(initial=0)) + 1) * size > 2 * z.shape[1]:
        return Rows(z, watched)
    patterns, example = int(code.max()) + 1, an_example_of_each(code)

    def table(position: Integers, rows: Integers | slice) -> Floats:
        cell = code[rows] * size + position
        return totals(cell, watched.weight[rows], patterns * size).reshape(patterns, size)

    living = table(watched.last, slice(None))
    if watched.first is not None:
        living = living - table(watched.first, slice(None))
    living = np.ascontiguousarray(living[:, ::-1].cumsum(axis=1)[:, ::-1][:, 1:])
    lost = np.ascontiguousarray(table(watched.dead_at, watched.dead)[:, :-1])
    return _Patterns(np.ascontiguousarray(z[:, example]), np.ones(patterns), living, lost)


def an_example_of_each(code: Integers) -> Integers:
    """A row of each code, in the order of the codes."""
    example = np.empty(int(code.max(initial=-1)) + 1, dtype=np.int64)
    example[code] = np.arange(len(code))
    return example


def pattern_codes(z: Floats, most: int) -> Integers | None:
    """A code from 0 for each distinct column of z, or None when there are more than ``most``."""
    code = np.zeros(z.shape[1], dtype=np.int64)
    levels = 1
    for values in z:
        if len(np.unique(values[:: max(1, len(values) // 1000)])) > 64:
            return None
        known, level = _levels(values)
        levels *= len(known)
        if levels > 1 << 24:
            return None
        code = code * len(known) + level
        used = np.flatnonzero(np.bincount(code, minlength=levels))
        if len(used) > most:
            return None
        compact = np.zeros(levels, dtype=np.int64)
        compact[used] = np.arange(len(used))
        code, levels = compact[code], len(used)
    return code


def _levels(values: Floats) -> tuple[Floats, Integers]:
    """Distinct values and their codes, without sorting for a covariate of two values."""
    low, high = values.min(), values.max()
    is_high = values == high
    if (is_high | (values == low)).all():
        return np.array([low, high]), is_high.astype(np.int64)
    known, level = np.unique(values, return_inverse=True)
    return known, level


@dataclass(frozen=True, eq=False)
class _Steps:
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


def _efron_steps(watched: Watch, s0: Floats, d0: Floats) -> _Steps:
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
        return _Steps(
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
class _Sums:
    """Sums over risk sets (s) and over those dying (d) at each age at death, and Efron's steps."""

    hazard: Floats
    s1: Floats
    d1: Floats
    steps: _Steps


def sums(units: Units, watched: Watch, beta: Floats) -> _Sums:
    """One pass over the units. ``hazard`` is weight times exp(eta), scaled so that its largest exp is 1."""
    eta = beta @ units.z
    hazard = np.exp(eta - eta.max(initial=-np.inf)) * units.weight
    s1 = np.empty((len(beta), len(watched.times)))
    d1 = np.empty_like(s1)
    for j, z in enumerate(units.z):
        product = hazard * z
        s1[j] = units.at_risk(product)
        d1[j] = units.dying(product)
    return _Sums(hazard, s1, d1, _efron_steps(watched, units.at_risk(hazard), units.dying(hazard)))


def derivatives(units: Units, watched: Watch, dead_z: Floats, beta: Floats) -> Derivatives:
    """Derivatives at ``beta``; ``dead_z`` is the weighted sum of the covariates of those that died."""
    here = sums(units, watched, beta)
    shift = float((beta @ units.z).max(initial=-np.inf))
    loglik = float(beta @ dead_z - shift * watched.death_weight.sum() - here.steps.log_denominator)
    score = dead_z - here.s1 @ here.steps.a0 + here.d1 @ here.steps.a1
    return Derivatives(loglik, score, information(units, here))


def information(units: Units, here: _Sums, by_time: Floats | float = 1.0) -> Floats:
    """Information (p, p), each age at death counted ``by_time``.

    A weighted Gram matrix of the units (each weighted by its hazard times Efron's steps while it was at risk)
    less the products of the risk-set means.
    """
    steps, s1, d1 = here.steps, here.s1, here.d1
    weight = here.hazard * (units.exposure(by_time * steps.a0) - units.at_death(by_time * steps.a1))
    cross = (s1 * (by_time * steps.b1)) @ d1.T
    means = (s1 * (by_time * steps.b0)) @ s1.T - cross - cross.T + (d1 * (by_time * steps.b2)) @ d1.T
    return _gram(units.z, weight) - means


def _gram(z: Floats, weight: Floats) -> Floats:
    """Sum over units of weight times z z', a block at a time so that no second copy of z is made."""
    total = np.zeros((len(z), len(z)))
    for start in range(0, z.shape[1], BLOCK):
        part = z[:, start : start + BLOCK]
        total += (part * weight[start : start + BLOCK]) @ part.T
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
