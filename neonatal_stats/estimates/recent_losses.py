"""Losses of a stretch of days against what another time's losses by age lead one to expect; and a test of an excess.

Newborns of every age are watched in any week, and the young die most, so a week is held against others at the same
ages. At each age a at which anyone was lost, r newborns of the stretch and R of the reference were watched; d and D of
them were lost. Expected of the stretch, by the reference's curve, is the sum of r D / R: indirect standardisation with
ages as strata. The interval takes the losses expected as resting on E^2 / V reference losses, V the sum of r^2 D / R^2
(what its Poisson variance is worth), and is the exact one for the ratio of two Poisson means. The test of an excess
asks how often as many of all those losses, which may be of either time, would fall in the stretch: at age a the share
r / (r + R) of d + D, as in the log-rank test, and the binomial tail of their sum. Littermates share their fate: all
counts are divided by the design effect of the residuals, losses less losses expected, summed over litters.

References
----------
Breslow NE, Day NE (1987) Statistical methods in cancer research II, chapter 2. IARC, Lyon.
Przyborowski J, Wilenski H (1940) Homogeneity of results in testing samples from Poisson series. Biometrika 31:313-323.
Rao JNK, Scott AJ (1992) A simple method for the analysis of clustered binary data. Biometrics 48:577-585.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from neonatal_stats.estimates.arguments import Floats, ages, codes, no_repeats, refuse, same_length, share


@dataclass(frozen=True, eq=False)
class AgainstCurve:
    """Losses of a stretch of days beside those expected.

    ``lost`` and ``expected`` count losses at ages that the reference reaches, ``beyond`` those at later ages. ``ratio``
    is lost over expected with its interval, NaN where none was expected; ``excess_p`` the one-sided p of at least so
    many lost; ``design_effect`` what litters do to both, 1 or more; ``reference_lost`` the losses that the curve
    rests on.
    """

    lost: float
    expected: float
    ratio: float
    low: float
    high: float
    excess_p: float
    design_effect: float
    beyond: float
    reference_lost: float


@dataclass(frozen=True, eq=False)
class _Counts:
    """Newborns at risk and lost at each age that the reference reaches, in the stretch and in the reference."""

    age_h: Floats
    risk: Floats
    lost: Floats
    reference_risk: Floats
    reference_lost: Floats
    beyond: float


def losses_against_curve(
    from_h: ArrayLike,
    to_h: ArrayLike,
    died: ArrayLike,
    reference_to_h: ArrayLike,
    reference_died: ArrayLike,
    *,
    cluster: ArrayLike,
    reference_cluster: ArrayLike,
    level: float,
    repeats: ArrayLike | None = None,
) -> AgainstCurve:
    """Losses of a stretch of days against the losses by age of a reference.

    Parameters
    ----------
    from_h, to_h, died : of each newborn watched in the stretch the first age in it (0 where it was born in it), the
        last, both included, and whether it was lost at the last. Hours since birth.
    reference_to_h, reference_died : of each newborn of the reference the last age watched, from birth on.
    cluster, reference_cluster : the litters, numbered alike in both: one that is in both stays one.

    Examples
    --------
    >>> found = losses_against_curve(
    ...     [0] * 50, [48] * 50, [1] * 6 + [0] * 44, [48] * 100, [1] * 4 + [0] * 96,
    ...     cluster=range(50), reference_cluster=range(50, 150), level=0.95,
    ... )
    >>> found.lost, found.expected, found.ratio
    (6.0, 2.0, 3.0)
    """
    no_repeats(repeats, "a season in progress is held against its own newborns one by one")
    start, end, lost = ages(from_h, "from_h"), ages(to_h, "to_h"), codes(died, "died", 2)
    until, gone = ages(reference_to_h, "reference_to_h"), codes(reference_died, "reference_died", 2)
    litter, other = codes(cluster, "cluster"), codes(reference_cluster, "reference_cluster")
    same_length(from_h=start, to_h=end, died=lost, cluster=litter)
    same_length(reference_to_h=until, reference_died=gone, reference_cluster=other)
    refuse("from_h", start > end, start, "must not come after to_h")
    level = share(level)
    counts = _counted(start, end, lost, until, gone)
    effect = _design_effect(counts, (start, end, lost, litter), (np.zeros_like(until), until, gone, other))
    expected = float((counts.risk * counts.reference_lost / counts.reference_risk).sum())
    low, high = _interval(counts, expected, effect, level)
    seen = float(counts.lost.sum())
    return AgainstCurve(
        lost=seen,
        expected=expected,
        ratio=seen / expected if expected else np.nan,
        low=low,
        high=high,
        excess_p=_excess(counts, effect),
        design_effect=effect,
        beyond=counts.beyond,
        reference_lost=float(counts.reference_lost.sum()),
    )


def in_last_days(since_birth_h: ArrayLike, age_h: ArrayLike, days: int) -> tuple[NDArray[np.bool_], Floats]:
    """Who was watched within the last days, and from which age on, in whole hours.

    Parameters
    ----------
    since_birth_h : hours from birth to now, of each newborn.
    age_h : its age when it was lost or last seen, in whole hours.
    """
    from_h = np.maximum(0.0, np.floor(np.asarray(since_birth_h, dtype=np.float64)) - 24.0 * days)
    return np.asarray(age_h, dtype=np.float64) >= from_h, from_h


def last_days_against_before(
    since_birth_h: ArrayLike,
    age_h: ArrayLike,
    died: ArrayLike,
    *,
    cluster: ArrayLike,
    days: int,
    level: float,
    repeats: ArrayLike | None = None,
) -> AgainstCurve:
    """Losses of a season's last days against what its earlier days lead one to expect, at the same ages.

    Arguments as of `in_last_days`; ``died`` says of each newborn whether it was lost by now. A newborn that lived into
    the last days is of both: of the earlier ones until they began.
    """
    no_repeats(repeats, "a season in progress is held against its own newborns one by one")
    recent, from_h = in_last_days(since_birth_h, age_h, days)
    until, lost, litter = (
        np.asarray(age_h, dtype=np.float64),
        np.asarray(died).astype(bool),
        np.asarray(cluster),
    )
    before = ~recent | (from_h > 0)
    return losses_against_curve(
        from_h[recent],
        until[recent],
        lost[recent],
        np.where(recent, from_h - 1, until)[before],
        (lost & ~recent)[before],
        cluster=litter[recent],
        reference_cluster=litter[before],
        level=level,
    )


def _counted(
    start: Floats, end: Floats, lost: NDArray[np.int64], until: Floats, gone: NDArray[np.int64]
) -> _Counts:
    """The table of ages at which anyone was lost; ages that no newborn of the reference reached are left out."""
    grid = np.unique(np.concatenate([end[lost == 1], until[gone == 1]]))
    risk = np.searchsorted(np.sort(start), grid, side="right") - np.searchsorted(np.sort(end), grid)
    reference_risk = len(until) - np.searchsorted(np.sort(until), grid)
    died, reference_died = _at(grid, end[lost == 1]), _at(grid, until[gone == 1])
    kept = reference_risk > 0
    parts = (grid, risk, died, reference_risk, reference_died)
    table = [np.asarray(part[kept], dtype=np.float64) for part in parts]
    return _Counts(table[0], table[1], table[2], table[3], table[4], float(died[~kept].sum()))


def _at(grid: Floats, at_h: Floats) -> NDArray[np.int64]:
    """How many of some ages are each age of a grid that holds them all."""
    return np.bincount(np.searchsorted(grid, at_h), minlength=len(grid))


def _design_effect(
    counts: _Counts, *parts: tuple[Floats, Floats, NDArray[np.int64], NDArray[np.int64]]
) -> float:
    """Squared residuals summed within litters over those of newborns alone; the curve is of both times together."""
    at_risk = counts.risk + counts.reference_risk
    hazard = np.concatenate([[0.0], np.cumsum((counts.lost + counts.reference_lost) / at_risk)])
    last = counts.age_h[-1] if len(counts.age_h) else -1.0
    residuals, litters = [], []
    for start, end, lost, litter in parts:
        due = hazard[np.searchsorted(counts.age_h, end, side="right")]
        due -= hazard[np.searchsorted(counts.age_h, start)]
        residuals.append(lost * (end <= last) - due)
        litters.append(litter)
    residual = np.concatenate(residuals)
    alone = float((residual**2).sum())
    if not alone:
        return 1.0
    _, compact = np.unique(np.concatenate(litters), return_inverse=True)
    return max(1.0, float((np.bincount(compact, residual) ** 2).sum()) / alone)


def _interval(counts: _Counts, expected: float, effect: float, level: float) -> tuple[float, float]:
    """The exact interval for the ratio of two Poisson means, the reference's losses as many as the curve is worth."""
    if not expected:
        return np.nan, np.nan
    variance = (counts.risk**2 * counts.reference_lost / counts.reference_risk**2).sum()
    worth, seen, tail = (
        float(expected**2 / variance) / effect,
        float(counts.lost.sum()) / effect,
        (1 - level) / 2,
    )
    low = special.betaincinv(seen, worth + 1, tail) if seen else 0.0
    high = special.betaincinv(seen + 1, worth, 1 - tail)
    times = worth * effect / expected
    return float(times * low / (1 - low)), float(times * high / (1 - high))


def _excess(counts: _Counts, effect: float) -> float:
    """How often as many of the losses of both times, or more, would fall in the stretch; 1 where nothing is known."""
    both = counts.lost + counts.reference_lost
    told = (both > 0) & (counts.risk > 0)
    total, seen = float(both[told].sum()), float(counts.lost.sum())
    if not seen:
        return 1.0
    due = float((both * counts.risk / (counts.risk + counts.reference_risk))[told].sum())
    return float(special.betainc(seen / effect, (total - seen) / effect + 1, due / total))
