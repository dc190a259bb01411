"""On which day did deaths begin to rise?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, refuse, same_length, share

SHAPE = 0.5  # of the gamma distribution of either rate beforehand, its scale without bounds


@dataclass(frozen=True, eq=False)
class Rise:
    """The first day of a raised rate, with the days that hold it with the level asked for.

    ``day``, ``low`` and ``high`` count from the first day given; ``chance`` (T,) is how likely each day is. All are -1
    (and ``chance`` 0) where no stretch of days has more deaths than expected.
    """

    day: int
    low: int
    high: int
    chance: Floats


def rise(
    deaths: ArrayLike, expected: ArrayLike, *, level: float, spread: float = 1.0, held_to: float = 0.0
) -> Rise:
    """When the rate of deaths rose, given that it was raised over one stretch of days.

    Parameters
    ----------
    deaths, expected : (T,) by day; expected is in proportion to what a steady rate would give.
    spread : variance of a count over its mean; littermates die together.
    held_to : how firmly ``expected`` is thought to hold on the days outside the stretch: the shape of a gamma
        distribution of mean 1 for what their rate is of it. 0 where it is known in proportion only.

    Method
    ------
    Poisson counts with one rate on the days of a stretch and another, lower one on all others. Each first and last day
    of the stretch is as likely as another beforehand, and so is each rate (gamma of shape 1/2 and no scale: Raftery &
    Akman's change point, here with a second one at the end of the stretch); the rates are integrated out, the log
    likelihood divided by ``spread``. ``day`` is the likeliest first day; the interval cuts off half of what is left at
    either end. Days on which nothing is expected begin no stretch.

    References
    ----------
    Raftery AE, Akman VE (1986) Biometrika 73:85-89.

    Examples
    --------
    One death a day, and four a day from the eleventh on:

    >>> from neonatal_stats.estimates import rise
    >>> found = rise([1] * 10 + [4] * 10, [1] * 20, level=0.95)
    >>> found.low, found.day, found.high
    (8, 10, 12)
    """
    seen, usual = np.asarray(deaths, dtype=np.float64), np.asarray(expected, dtype=np.float64)
    same_length(deaths=seen, expected=usual)
    refuse("expected", ~(usual >= 0), usual, "must not be negative")
    first, last = np.triu_indices(len(seen))
    count, weight = _inside(seen, first, last), _inside(usual, first, last)
    rest, left = seen.sum() - count, usual.sum() - weight
    may = (usual[first] > 0) & (left > 1e-9) & (weight > 1e-9)
    may &= count * (left + held_to) > (rest + held_to) * weight
    if not may.any():
        return Rise(-1, -1, -1, np.zeros(len(seen)))
    log = _log_rate(count[may], weight[may]) + _log_rate(rest[may], left[may], held_to)
    likely = np.exp((log - log.max()) / spread)
    chance = np.bincount(first[may], weights=likely, minlength=len(seen)) / likely.sum()
    tail, upto = (1 - share(level)) / 2, np.cumsum(chance)
    low, high = (int(np.searchsorted(upto, one - 1e-12)) for one in (tail, 1 - tail))
    return Rise(int(chance.argmax()), low, high, chance)


def _inside(values: Floats, first: np.ndarray, last: np.ndarray) -> Floats:
    upto = np.concatenate([[0.0], np.cumsum(values)])
    return np.asarray(upto[last + 1] - upto[first], dtype=np.float64)


def _log_rate(count: Floats, weight: Floats, held_to: float = 0.0) -> Floats:
    """The log likelihood of a count, its rate integrated out; what does not depend on the stretch is left out."""
    shape = count + (held_to or SHAPE)
    return np.asarray(special.gammaln(shape) - shape * np.log(weight + held_to), dtype=np.float64)
