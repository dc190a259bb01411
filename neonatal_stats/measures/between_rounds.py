"""When did a newborn found dead at a round die? Placed so that it meets the right share of still unfed
others.

A newborn that died unfed between two rounds is more likely to have died early in between, when many were
still unfed, than late. Placing it at the round (or half way) sets it against others of which too many have
fed.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]
STEP_H = 0.05


def unfed_share(fed_h: Floats, watched_h: Floats, ages_h: Floats) -> Floats:
    """Share not yet fed at each age, of those still watched at it; never rising.

    Parameters
    ----------
    fed_h : age at first feed, infinite where none; watched_h : age at which watching ended.
    """
    watched, fed = np.sort(watched_h), np.sort(np.maximum(fed_h, 0.0)[np.isfinite(fed_h)])
    alive = len(watched) - np.searchsorted(watched, ages_h, side="right")
    gone_unfed = np.sort(watched_h[~np.isfinite(fed_h)])
    unfed = len(fed_h) - np.searchsorted(fed, ages_h, side="right")
    unfed = unfed - np.searchsorted(gone_unfed, ages_h, side="right")
    share = np.divide(unfed, alive, out=np.zeros(len(ages_h)), where=alive > 0)
    return np.asarray(np.minimum.accumulate(np.clip(share, 0.0, 1.0)), dtype=np.float64)


def placed(low_h: Floats, high_h: Floats, fed_h: Floats, all_fed_h: Floats, all_watched_h: Floats) -> Floats:
    """Ages at death for newborns known to have died after ``low_h`` and by ``high_h``.

    Parameters
    ----------
    low_h, high_h, fed_h : last seen alive, found dead, first feed (infinite where none) of those to be
    placed. all_fed_h, all_watched_h : of all newborns, to tell how many were still unfed at each age.

    Returns
    -------
    One age each, between low (or its own feed) and high.

    Method
    ------
    With G(t) the share still unfed and a level hazard in between, a newborn that died unfed died at t with a
    chance in proportion to G(t), one that had fed with an even chance after its feed. It is placed where G
    is the mean of G under that chance, which is what a Cox model's score asks of it. The middle where nobody
    was unfed any more.

    Limits
    ------
    Takes the hazard as level between two rounds.
    """
    grid = np.arange(0.0, float(high_h.max(initial=0.0)) + STEP_H, STEP_H)
    share = unfed_share(all_fed_h, all_watched_h, grid)
    return np.array(
        [
            _place(max(low, fed) if np.isfinite(fed) else low, high, np.isfinite(fed), grid, share)
            for low, high, fed in zip(low_h, high_h, fed_h, strict=True)
        ],
        dtype=np.float64,
    )


def _place(low: float, high: float, fed: bool, grid: Floats, share: Floats) -> float:
    inside = (grid > low) & (grid <= high)
    between, ages = share[inside], grid[inside]
    if not len(between) or between[0] <= 0:
        return (low + high) / 2
    chance = np.ones(len(between)) if fed else between
    wanted = float((chance * between).sum() / chance.sum())
    return float(ages[np.argmax(between <= wanted)])
