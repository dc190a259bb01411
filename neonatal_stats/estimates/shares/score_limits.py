"""Score limits for a risk ratio or odds ratio: they hold for small numbers and for empty cells.

References
----------
Koopman PAR (1984) Biometrics 40:513-517; Miettinen O, Nurminen M (1985) Stat Med 4:213-226 (without its
n / (n - 1)); Cornfield J (1956) for the odds ratio.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.quantiles import ratio

Table = tuple[Floats, Floats, Floats, Floats]
Statistic = Callable[[Floats, Table], Floats]


def _risk_ratio(theta: Floats, table: Table) -> Floats:
    """Distance of the data from risk ratio ``theta``, in standard errors under it."""
    x1, n1, x0, n0 = table
    a = (n1 + n0) * theta
    b = -(n1 * theta + x1 + n0 + x0 * theta)
    events = x1 + x0
    p0 = np.minimum(2 * events / (-b + np.sqrt(np.maximum(b * b - 4 * a * events, 0))), 1.0)
    p1 = np.minimum(theta * p0, 1.0)
    variance = p1 * (1 - p1) / n1 + theta**2 * p0 * (1 - p0) / n0
    distance = (x1 / n1 - theta * x0 / n0) / np.maximum(np.sqrt(variance), 1e-150)
    return np.asarray(distance, dtype=np.float64)


def _odds_ratio(theta: Floats, table: Table) -> Floats:
    """Distance of the data from odds ratio ``theta``, in standard errors under it."""
    x1, n1, x0, n0 = table
    events = x1 + x0
    b = n1 * theta + n0 - events * (theta - 1)
    p0 = 2 * events / (b + np.sqrt(np.maximum(b * b + 4 * n0 * (theta - 1) * events, 0)))
    p0 = np.clip(p0, 1e-150, 1.0)
    p1 = np.clip(p0 * theta / (1 - p0 + p0 * theta), 1e-150, 1.0)
    information = ratio(1, n1 * p1 * (1 - p1)) + ratio(1, n0 * p0 * (1 - p0))
    return np.asarray((x1 - n1 * p1) * np.sqrt(information), dtype=np.float64)


def _crossing(statistic: Statistic, table: Table, at: float) -> Floats:
    """The log ratio at which a falling statistic crosses ``at``, by halving."""
    low, high = np.full(table[0].shape, -25.0), np.full(table[0].shape, 25.0)
    for _ in range(70):
        middle = (low + high) / 2
        above = statistic(np.exp(middle), table) > at
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return np.asarray(np.exp((low + high) / 2), dtype=np.float64)


def score_limits(table: Table, quantile: float, measure: str) -> tuple[Floats, Floats]:
    """Limits of the ratio for tables (x1, n1, x0, n0), which may hold effective, broken numbers.

    The low limit is 0 when the first group has no event (or, for odds, the second has nothing else); the high
    limit is NaN where the ratio has no upper bound. Both are NaN when neither group has an event.
    """
    x1, n1, x0, n0 = (np.asarray(cell, dtype=np.float64) for cell in table)
    odds = measure == "odds_ratio"
    known = (n1 > 0) & (n0 > 0) & (x1 + x0 > 0) & ~(odds & (x1 + x0 >= n1 + n0))
    safe = tuple(np.where(known, cell, fill) for cell, fill in ((x1, 1), (n1, 2), (x0, 1), (n0, 2)))
    inside: Table = (safe[0], safe[1], safe[2], safe[3])
    statistic = _odds_ratio if odds else _risk_ratio
    low = _crossing(statistic, inside, quantile)
    high = _crossing(statistic, inside, -quantile)
    low = np.where((x1 == 0) | (odds & (x0 >= n0)), 0.0, low)
    high = np.where((x0 == 0) | (odds & (x1 >= n1)), np.nan, high)
    return np.where(known, low, np.nan), np.where(known, high, np.nan)
