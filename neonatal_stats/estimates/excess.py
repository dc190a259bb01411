"""Where would it pay most to look: each farm's losses beyond those expected, drawn in as chance asks, and whether it
lost more, or less, than farms like the others lead one to expect.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from neonatal_stats.estimates.arguments import Floats, Integers, refuse, share
from neonatal_stats.estimates.many_groups import JEFFREYS, NO_SPREAD, beta_binomial_shrink
from neonatal_stats.estimates.proportion import checked_counts
from neonatal_stats.estimates.results import ratio, two_sided


@dataclass(frozen=True, eq=False)
class ShrunkenExcess:
    """Excess losses of F farms, in newborns, with ``low`` and ``high``; NaN of a farm without newborns, and where there
    is one farm or none lost any.

    ``raw`` is losses less those expected; ``share`` each farm's risk with its mix allowed for, as it was drawn in;
    ``centre`` the risk of all; ``spread`` False where the farms differ by no more than chance, so that all are drawn
    in to the same; ``converged`` and ``method`` are those of `many_groups.Prior`.
    """

    excess: Floats
    low: Floats
    high: Floats
    raw: Floats
    share: Floats
    centre: float
    spread: bool
    converged: bool
    method: str


def shrunken_excess(
    events: ArrayLike, n: ArrayLike, expected: ArrayLike, *, level: float, design_effect: ArrayLike = 1.0
) -> ShrunkenExcess:
    """Losses beyond those expected of each farm, its risk drawn in towards that of all farms.

    Parameters
    ----------
    events, n : (F,) losses and newborns of each farm.
    expected : (F,) losses that the common risk of each kind of birth would have given (see `expected_events`); above 0
        where there are newborns.
    design_effect : (F,) of each farm's share, from its litters (`proportions`); 1 for independent newborns.

    Method
    ------
    A farm's risk with its mix allowed for is observed over expected, times the risk of all. Farms are random effects: a
    beta distribution over farms, chance within them binomial at newborns over the design effect
    (`beta_binomial_shrink`). The excess is the drawn-in risk less that of all, over that of all, times what was
    expected; its limits those of the risk.

    Limits
    ------
    A list in its order is no ranking of farms: of two neighbours either may be the worse one. Where farms differ by no
    more than chance it is near 0 for all, and no order follows from it.

    References
    ----------
    Carlin BP, Louis TA (2000) Bayes and Empirical Bayes Methods for Data Analysis, 2nd ed., ch. 3; Rao JNK, Scott AJ
    (1992) Biometrics 48:577-585 (litters); Goldstein H, Spiegelhalter DJ (1996) J R Stat Soc A 159:385-443 (that
    shrunken risks, not crude ones, are to be put in an order, and how uncertain it is).

    Examples
    --------
    >>> from neonatal_stats.estimates import shrunken_excess
    >>> found = shrunken_excess([10, 10, 30], [100, 100, 100], [50 / 3] * 3, level=0.95)
    >>> found.raw.round(1).tolist(), bool(0 < found.excess[2] < found.raw[2])
    ([-6.7, -6.7, 13.3], True)
    """
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    due = np.broadcast_to(np.asarray(expected, dtype=np.float64), x.shape)
    refuse("expected", (size > 0) & ~(due > 0), due, "must be above 0 where there are newborns")
    risk, centre = _mix_allowed_for(x, size, due)
    found = beta_binomial_shrink(np.nan_to_num(risk) * size, size, level=level, design_effect=design_effect)
    excess, low, high = (
        ratio(share - centre, np.full(x.shape, centre)) * due
        for share in (found.share, found.low, found.high)
    )
    if found.method == JEFFREYS:  # one farm, or none lost any: there is nothing to hold a farm against
        excess, low, high = (np.full(x.shape, np.nan) for _ in range(3))
    spread = NO_SPREAD not in found.method and found.method != JEFFREYS
    return ShrunkenExcess(
        excess, low, high, x - due, found.share, centre, spread, found.converged, found.method
    )


HALVINGS = 60
FEWEST_OTHERS = 3


@dataclass(frozen=True, eq=False)
class BeyondOthers:
    """What the other farms lead one to expect of each of F farms, and how far beyond that it lost.

    ``share`` is its loss with its mix allowed for, ``low`` and ``high`` what the others lead one to expect of that;
    ``more`` whether it lies above the middle of it; ``p`` is two-sided; ``between`` the variance between the others on
    the scale of the method. All but ``share`` are NaN (``more`` False) where there are under three others, or none or
    all were lost.
    """

    share: Floats
    low: Floats
    high: Floats
    more: NDArray[np.bool_]
    p: Floats
    between: Floats


def beyond_the_others(
    events: ArrayLike, n: ArrayLike, expected: ArrayLike, *, level: float, design_effect: ArrayLike = 1.0
) -> BeyondOthers:
    """Whether each farm lost more, or less, than one of its size among farms like the others would.

    Parameters as in `shrunken_excess`.

    Method
    ------
    Log odds of each farm's loss, its mix allowed for, at newborns over the design effect (half a loss added to either
    side); their chance variance is that at the risk of all. For each farm the others are a random-effects sample:
    variance between them by Paule and Mandel, their mean weighted, its variance by Hartung and Knapp but never below
    that of chance. How far the farm lies from that mean is measured twice: on log odds, on which farms spread, over
    that spread, and on arcsine roots (Anscombe's), on which chance is the same whatever the risk, so that a small farm
    that happened to lose none is not taken to be far out. The squares of both distances join as variances add up, and
    Student's t has one degree of freedom fewer than there are others.

    Limits
    ------
    Of 12 or 40 farms that differ in log odds by a standard deviation of 0.25 and of which none is worse than that, at
    most 1 comparison in 10 names one at a false discovery share of 0.10 (tests/simulations/desk.txt). On log odds alone
    small farms that happened to lose none would lie apart far more often, on arcsine roots alone large ones that lost
    more.

    References
    ----------
    Anscombe FJ (1948) Biometrika 35:246-254; Higgins JPT, Thompson SG, Spiegelhalter DJ (2009) J R Stat Soc A
    172:137-159 (prediction); Paule RC, Mandel J (1982) J Res Natl Bur Stand 87:377-385; Hartung J, Knapp G (2001) Stat
    Med 20:3875-3889.

    Examples
    --------
    >>> from neonatal_stats.estimates import beyond_the_others
    >>> found = beyond_the_others([10, 8, 12, 9, 11, 10, 30], [100] * 7, [90 / 7] * 7, level=0.95)
    >>> int(found.p.argmin()), bool(found.more[6]), round(float(found.p[6]), 4)
    (6, True, 0.0058)
    """
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    effective = size / np.broadcast_to(np.asarray(design_effect, dtype=np.float64), x.shape)
    risk, centre = _mix_allowed_for(x, size, np.broadcast_to(np.asarray(expected, dtype=np.float64), x.shape))
    nothing = np.full(x.shape, np.nan)
    used = np.flatnonzero(np.isfinite(risk) & (effective > 0))
    if len(used) <= FEWEST_OTHERS or not 0 < centre < 1:
        return BeyondOthers(
            risk, nothing, nothing.copy(), np.zeros(x.shape, bool), nothing.copy(), nothing.copy()
        )
    worth, seen = effective[used], risk[used]
    mean, spread, between = _predicted(_log_odds(seen, worth), 1 / (worth * centre * (1 - centre)))
    df = len(used) - 2
    quantile = float(special.stdtrit(df, (1 + share(level)) / 2))
    z = _distance(seen, worth, mean, spread)
    low, high = (_share_at(end, worth, mean, spread) for end in (-quantile, quantile))
    low, high, p, between = (
        _placed(values, used, nothing) for values in (low, high, two_sided(z, df), between)
    )
    more = np.zeros(x.shape, bool)
    more[used] = z > 0
    return BeyondOthers(risk, low, high, more, p, between)


def _log_odds(risk: Floats, n: Floats) -> Floats:
    found: Floats = np.log((risk * n + 0.5) / ((1 - risk) * n + 0.5))
    return found


def _distance(risk: Floats, n: Floats, mean: Floats, spread: Floats) -> Floats:
    """How many errors a share lost of ``n`` lies from a mean of log odds about which farms have the variance
    ``spread``."""
    of_farms = _log_odds(risk, n) - mean
    root = np.arcsin(np.sqrt((risk * n + 3 / 8) / (n + 3 / 4)))
    of_chance = root - np.arcsin(np.sqrt(special.expit(mean)))
    with np.errstate(divide="ignore"):
        square = 1 / (spread / of_farms**2 + 1 / ((4 * n + 2) * of_chance**2))
    found: Floats = np.sign(of_chance) * np.sqrt(square)
    return found


def _share_at(distance: float, n: Floats, mean: Floats, spread: Floats) -> Floats:
    """The share that lies so many errors from the mean, by halving; 0 or 1 where none lies so far."""
    low, high = np.zeros(len(n)), np.ones(len(n))
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        beyond = _distance(middle, n, mean, spread) > distance
        low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
    return high if distance > 0 else low


def _mix_allowed_for(x: Floats, size: Floats, due: Floats) -> tuple[Floats, float]:
    """Each farm's risk with its mix allowed for, observed over expected times the risk of all; and that."""
    centre = float(ratio(x.sum(), size.sum()))
    return np.clip(ratio(x, due) * centre, 0, 1), centre


def _placed(values: Floats, used: Integers, nothing: Floats) -> Floats:
    whole = nothing.copy()
    whole[used] = values
    return whole


AT_ONCE = 4_000_000
"""Pairs of farms worked at a time, so that thousands of farms fit into memory."""


def _predicted(y: Floats, variance: Floats) -> tuple[Floats, Floats, Floats]:
    """For each value the mean of the others, the variance of farms about it, and that between the others."""
    parts = [
        _predicted_of(rows, y, variance)
        for rows in np.array_split(np.arange(len(y)), 1 + len(y) ** 2 // AT_ONCE)
    ]
    mean, about, between = (np.concatenate(part) for part in zip(*parts, strict=True))
    return mean, about, between


def _predicted_of(rows: Integers, y: Floats, variance: Floats) -> tuple[Floats, Floats, Floats]:
    """The same of some of the values."""
    others = np.array([np.delete(np.arange(len(y)), one) for one in rows])
    rest, chance = y[others], variance[others]
    between = _paule_mandel(rest, chance)
    weight = 1 / (chance + between[:, None])
    mean = (weight * rest).sum(axis=1) / weight.sum(axis=1)
    spread = (weight * (rest - mean[:, None]) ** 2).sum(axis=1) / (rest.shape[1] - 1)
    return mean, between + np.maximum(spread, 1) / weight.sum(axis=1), between


def _paule_mandel(y: Floats, variance: Floats) -> Floats:
    """Variance between the values of each row (T, k) beyond their own chance variances (T, k), never below 0.

    The one at which the weighted squares about the weighted mean equal the degrees of freedom, by halving.
    """

    def surplus(between: Floats) -> Floats:
        weight = 1 / (variance + between[:, None])
        mean = (weight * y).sum(axis=1) / weight.sum(axis=1)
        squares: Floats = (weight * (y - mean[:, None]) ** 2).sum(axis=1) - (y.shape[1] - 1)
        return squares

    low = np.zeros(len(y))
    high = y.shape[1] * y.var(axis=1) + variance.max(axis=1)
    none = surplus(low) <= 0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        above = surplus(middle) > 0
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return np.where(none, 0.0, (low + high) / 2)
