"""A chart of loss by season: is this one out of line with what seasons here usually do?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.quantiles import ratio
from neonatal_stats.estimates.shares.proportion import checked_counts

D2 = 1.128  # mean range of two standard normal values (Shewhart); 2 / sqrt(pi)


@dataclass(frozen=True, eq=False)
class ControlChart:
    """Shares of T seasons with a centre line and limits, and which seasons lie outside them.

    ``sigma_z`` is how many times more the seasons swing than chance would (1 without Laney's correction).
    """

    share: Floats
    low: Floats
    high: Floats
    centre: float
    sigma_z: float
    outside: NDArray[np.bool_]
    method: str


def p_chart(events: ArrayLike, n: ArrayLike, *, laney: bool = True, widths: float = 3.0) -> ControlChart:
    """p-chart over seasons, with Laney's limits for overdispersion.

    Parameters
    ----------
    events, n : array_like (T,)
        Deaths and newborns, seasons in order.
    laney : bool
        Widen the limits by the moving range of the standardised shares; False gives binomial limits.
    widths : float
        Half-width of the limits in standard deviations.

    Method
    ------
    sigma_z is the mean absolute difference of neighbouring z-values over 1.128; it is never taken below 1, so
    that seasons that happen to agree do not narrow the limits.

    Limits
    ------
    With fewer than about eight seasons sigma_z is itself a guess.

    References
    ----------
    Laney DB (2002) Improved control charts for attributes. Qual Eng 14:531-537.

    Examples
    --------
    10/100, 20/100, 10/100: centre 0.1333, z -0.981, 1.961, -0.981, moving range 2.942, sigma_z 2.608.
    """
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    p = ratio(x, size)
    total = size.sum()
    centre = float(x.sum() / total) if total else float("nan")
    error = np.sqrt(ratio(centre * (1 - centre), size))
    z = ratio(p - centre, error)
    z = z[np.isfinite(z)]
    sigma = float(np.abs(np.diff(z)).mean() / D2) if laney and len(z) > 1 else 1.0
    sigma = max(sigma, 1.0)
    low = np.clip(centre - widths * sigma * error, 0, 1)
    high = np.clip(centre + widths * sigma * error, 0, 1)
    outside = (p < low) | (p > high)
    return ControlChart(p, low, high, centre, sigma, outside, "p-chart, Laney limits" if laney else "p-chart")
