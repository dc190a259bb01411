"""Intervals for a share that must stay between 0 and 1, on the scale of log(-log)."""

from __future__ import annotations

import numpy as np

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.quantiles import critical


def log_log(share: Floats, se: Floats, at_risk: Floats, n: Floats, level: float) -> tuple[Floats, Floats]:
    """Complementary log-log interval of a share surviving, (G, K), age along the last axis.

    Wilson's stands in where that one does not exist: on ``n`` newborns where nothing has been lost yet or nothing
    varies (a single litter); on those at risk when the last was lost, and never above the bound that held just
    before, where all is lost. ``at_risk`` and ``n`` are already divided by a design effect where there is one.
    """
    z = float(critical(level))
    inside = (share > 0) & (share < 1) & (se > 0)
    safe = np.where(inside, share, 0.5)
    spread = z * se / (safe * -np.log(safe))
    low, high = wilson(share, n, z)
    low = np.where(inside, safe ** np.exp(spread), low)
    high = np.where(inside, safe ** np.exp(-spread), high)
    lost = share == 0
    high = np.where(lost, _all_lost(lost, high, at_risk, z), high)
    known = np.isfinite(share)
    return np.where(known, low, np.nan), np.where(known, high, np.nan)


def wilson(share: Floats, n: Floats, z: float) -> tuple[Floats, Floats]:
    """Wilson's score interval of a share of n; from 0 to 1 where n is 0."""
    centre, total = n * share + z**2 / 2, n + z**2
    half = z * np.sqrt(n * share * (1 - share) + z**2 / 4)
    low = np.where(share == 0, 0.0, (centre - half) / total)
    return low, np.where(share == 1, 1.0, (centre + half) / total)


def _all_lost(lost: Floats, high: Floats, at_risk: Floats, z: float) -> Floats:
    if not lost.any():
        return np.zeros((len(lost), 1))
    first = np.argmax(lost, axis=1)[:, None]
    before = np.take_along_axis(high, np.maximum(first - 1, 0), axis=1)
    n = np.take_along_axis(at_risk, first, axis=1)
    return np.minimum(np.where(first > 0, before, 1.0), z**2 / (n + z**2))
