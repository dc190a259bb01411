"""Many groups tried: how many of those flagged would be chance?"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, refuse


def benjamini_hochberg(p: ArrayLike) -> Floats:
    """Benjamini-Hochberg q-values.

    Parameters
    ----------
    p : array_like
        p-values; NaN where no test was possible.

    Returns
    -------
    array of the same shape
        Among all groups with q at or below Q, at most a share Q is expected to be chance. NaN stays NaN and
        does not count as tried.

    Limits
    ------
    Holds for independent or positively dependent tests, which overlapping groups of births nearly are.

    References
    ----------
    Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300; ``scipy.stats.false_discovery_control``.

    Examples
    --------
    p = 0.01, 0.04, 0.03 gives q = 0.03, 0.04, 0.04.
    """
    from scipy import stats  # a second of import, paid only by those who ask

    values = np.asarray(p, dtype=np.float64)
    known = ~np.isnan(values)
    bad = known & ~((values >= 0) & (values <= 1))
    refuse("p", bad, values, "must lie between 0 and 1")
    q = np.full(values.shape, np.nan)
    if known.any():
        q[known] = stats.false_discovery_control(values[known], method="bh")
    return q
