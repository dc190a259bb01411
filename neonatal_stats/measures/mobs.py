"""Counts by the mob: what went from one stage to the next, and the shares that the mobs, as clusters, allow."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.estimates.seasons import swing
from neonatal_stats.estimates.totals import ratio_of_totals
from neonatal_stats.season.following.mobs import count


def class_survival(foetuses: ArrayLike, kept: ArrayLike) -> Floats:
    """Survival of each scanned class from the totals of mobs, shares from 0 to 1; NaN where the mobs cannot tell.

    Parameters
    ----------
    foetuses : array_like (C, K)
        Foetuses of each of K classes in each mob.
    kept : array_like (C,)
        Newborns of all classes that were there at the later count.

    Method
    ------
    Least squares of the kept on the foetuses of each class, weighted by 1 / foetuses and held between 0 and 1. Of mobs
    of one class each it is the ratio of their totals; mixed mobs tell of a class by how much of it they hold. A class
    is NaN where fewer mobs than classes hold any, or the mobs' mixes are too much alike to part it from the others.
    """
    x, y = np.asarray(foetuses, dtype=np.float64), np.asarray(kept, dtype=np.float64)
    found = np.full(x.shape[1], np.nan)
    held = x.sum(axis=0) > 0
    size = x.sum(axis=1)
    x, y, size = x[size > 0][:, held], y[size > 0], size[size > 0]
    if not held.any() or len(y) < held.sum():
        return found
    scale = 1 / np.sqrt(size)
    design = x * scale[:, None]
    if np.linalg.cond(x / size[:, None]) > TOO_ALIKE:
        return found
    from scipy.optimize import lsq_linear

    found[held] = lsq_linear(design, y * scale, bounds=(0, 1)).x
    return found


TOO_ALIKE = 30.0
"""Condition number of the mobs' shares of each class, from which their mixes cannot tell the classes apart."""
