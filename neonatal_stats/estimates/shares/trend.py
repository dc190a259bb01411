"""Is the loss rising or falling over seasons (or over classes of birth weight)?"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, refuse, same_length
from neonatal_stats.estimates.clusters import cluster_rows, event_rows, totals
from neonatal_stats.estimates.quantiles import chi_square_p
from neonatal_stats.estimates.results import Test
from neonatal_stats.estimates.shares.clustered_test import exchangeable_score
from neonatal_stats.estimates.shares.proportion import checked_counts


def cochran_armitage(events: ArrayLike, n: ArrayLike, score: ArrayLike | None = None) -> Test:
    """Cochran-Armitage test for a straight-line trend in risk over ordered groups.

    Parameters
    ----------
    events, n : array_like (G,)
        Deaths and newborns, groups in order.
    score : array_like (G,), optional
        Where each group stands; 0, 1, 2, ... without it.

    Returns
    -------
    Test
        Chi-square with one degree of freedom; `slope` tells which way.

    Limits
    ------
    Independent newborns; `cochran_armitage_births` allows for litters. A trend that turns is missed.

    References
    ----------
    Cochran WG (1954) Biometrics 10:417-451; Armitage P (1955) Biometrics 11:375-386.

    Examples
    --------
    1/10, 2/10, 3/10: p = 0.2, sum of score x (deaths - expected) = 2, variance 0.16 x 20 = 3.2, so 1.25.
    """
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    places = _places(score, len(x))
    same_length(events=x, score=places)
    total = size.sum()
    p = x.sum() / total if total else np.nan
    top = float((places * (x - size * p)).sum())
    spread = float((size * places**2).sum() - (size * places).sum() ** 2 / total) if total else 0.0
    method = "Cochran-Armitage trend"
    if not spread > 0 or p in (0.0, 1.0):
        return Test(np.nan, 1, np.nan, method, "cannot be tested: one group or one outcome")
    statistic = float(top**2 / (p * (1 - p) * spread))
    return Test(statistic, 1, chi_square_p(statistic, 1), method)


def _places(score: ArrayLike | None, groups: int) -> Floats:
    places = np.arange(groups, dtype=np.float64) if score is None else np.asarray(score, dtype=np.float64)
    refuse("score", ~np.isfinite(places), places, "must be finite")
    return places


def slope(events: ArrayLike, n: ArrayLike, score: ArrayLike | None = None) -> float:
    """Change in risk for one step of the score: the weighted least-squares line; NaN for a single group."""
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    places = _places(score, len(x))
    lean = places - (size * places).sum() / max(size.sum(), 1.0)
    spread = float((size * lean**2).sum())
    return float((lean * x).sum() / spread) if spread > 0 else float("nan")


def cochran_armitage_births(
    event: ArrayLike, score: ArrayLike, *, cluster: ArrayLike | None = None, weight: ArrayLike | None = None
) -> Test:
    """As `cochran_armitage`, from one row a newborn, littermates' outcomes equally correlated.

    Parameters
    ----------
    event : array_like of 0 and 1.
    score : array_like
        Where the newborn's group stands (season, class).
    cluster : array_like of whole numbers, optional
    """
    y, w = event_rows(event, weight)
    places = _places(score, len(y))
    same_length(event=y, score=places)
    kept = w > 0
    y, w, places = y[kept], w[kept], places[kept]
    method = "Cochran-Armitage trend"
    if len(y) == 0 or np.ptp(places) == 0 or np.ptp(y) == 0:
        return Test(np.nan, 1, np.nan, method, "cannot be tested: one group or one outcome")
    if cluster is None:
        values, where = np.unique(places, return_inverse=True)
        return cochran_armitage(totals(where, w * y, len(values)), totals(where, w, len(values)), values)
    members = cluster_rows(np.asarray(cluster)[kept], len(y))
    assert members is not None
    lean = places - (w * places).sum() / w.sum()
    score = np.array([(w * y * lean).sum()])
    alone, together = (w * lean**2).sum(), (totals(members[0], w * lean, members[1]) ** 2).sum()
    test = exchangeable_score(score, np.array([[alone]]), np.array([[together]]), y, w, members[0])
    return Test(test.statistic, 1, test.p, method + ", clustered")
