"""When may a newborn found dead at a round have died? Likely ages, given how many others were still unfed.

A newborn that died unfed between two rounds is more likely to have died early in between, when many were
still unfed, than late. Placing it at the round (or half way) sets it against others of which too many have
fed, and being unfed then looks deadlier than it is.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]
STEP_H = 0.05
PARTS = 8


def unfed_share(fed_h: Floats, watched_h: Floats, ages_h: Floats) -> Floats:
    """Share not yet fed at each age, of those still watched at it; never rising.

    Parameters
    ----------
    fed_h : age at first feed, infinite where none.
    watched_h : age at which watching ended.
    """
    watched, fed = np.sort(watched_h), np.sort(np.maximum(fed_h, 0.0)[np.isfinite(fed_h)])
    alive = len(watched) - np.searchsorted(watched, ages_h, side="right")
    gone_unfed = np.sort(watched_h[~np.isfinite(fed_h)])
    unfed = len(fed_h) - np.searchsorted(fed, ages_h, side="right")
    unfed = unfed - np.searchsorted(gone_unfed, ages_h, side="right")
    share = np.divide(unfed, alive, out=np.zeros(len(ages_h)), where=alive > 0)
    return np.minimum.accumulate(np.clip(share, 0.0, 1.0))


def possible_ages(
    low_h: Floats, high_h: Floats, fed_h: Floats, all_fed_h: Floats, all_watched_h: Floats, parts: int = PARTS
) -> Floats:
    """Equally likely ages at death for newborns known to have died after ``low_h`` and by ``high_h``.

    Parameters
    ----------
    low_h, high_h, fed_h : last seen alive, found dead, first feed (infinite where none) of those found dead.
    all_fed_h, all_watched_h : of all newborns, to tell how many were still unfed at each age.
    parts : how many ages each.

    Returns
    -------
    (n, parts) ages, rising, between low (or its own feed) and high.

    Method
    ------
    Under a level hazard in between, a newborn that died unfed died at t with a chance in proportion to the
    share still unfed at t, whatever being unfed does to the hazard; one that had fed, with an even chance
    after its feed. The ages are the middles of ``parts`` equal parts of that chance.

    Limits
    ------
    Takes the hazard as level between two rounds.

    Examples
    --------
    Half of the others fed at 1 h. A death unfed between 0 and 2 h was twice as likely in the first hour as
    in the second: of three ages two lie in the first hour.
    """
    grid = np.arange(0.0, float(high_h.max(initial=0.0)) + STEP_H, STEP_H)
    share = unfed_share(all_fed_h, all_watched_h, grid)
    middles = (np.arange(parts) + 0.5) / parts
    ages = np.empty((len(low_h), parts))
    for place, (low, high, fed) in enumerate(zip(low_h, high_h, fed_h, strict=True)):
        inside = (grid > max(low, fed if np.isfinite(fed) else low)) & (grid <= high)
        chance = share[inside] if not np.isfinite(fed) else np.ones(int(inside.sum()))
        ages[place] = _quantiles(grid[inside], chance, middles, (low + high) / 2)
    return ages


def _quantiles(ages: Floats, chance: Floats, at: Floats, otherwise: float) -> Floats:
    if not len(ages):
        return np.full(len(at), otherwise)
    level = chance if chance.sum() > 0 else np.ones(len(ages))
    upto = np.cumsum(level) / level.sum()
    return ages[np.minimum(np.searchsorted(upto, at), len(ages) - 1)]
