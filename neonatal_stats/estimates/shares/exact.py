"""Two groups with few events: exact and mid-P answers, which ask nothing of large numbers."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, share
from neonatal_stats.estimates.results import Estimate, Test
from neonatal_stats.estimates.shares.two_by_two import checked_table

Support = tuple[Floats, Floats]


def fisher(a: int, n1: int, c: int, n0: int) -> Test:
    """Fisher's exact test of a/n1 against c/n0, two-sided by adding every table no likelier (as R does).

    Limits
    ------
    Rejects less often than its level says, since counts are whole: about 2-4 % at 5 % in small groups.

    References
    ----------
    Fisher RA (1935) J R Stat Soc 98:39-54. Computed by ``scipy.stats.fisher_exact``.
    """
    from scipy import stats  # a second of import, paid only by those who ask

    checked_table(a, n1, c, n0)
    answer = stats.fisher_exact([[a, n1 - a], [c, n0 - c]])
    return Test(float("nan"), 1, float(answer.pvalue), "Fisher exact")


def mid_p(a: ArrayLike, n1: ArrayLike, c: ArrayLike, n0: ArrayLike) -> Floats:
    """Mid-P of a/n1 against c/n0: twice the smaller tail, counting the table seen by half; arrays.

    References
    ----------
    Lancaster HO (1961) J Am Stat Assoc 56:223-234; Hirji KF et al. (1991) Stat Med 10:1137-1153.
    """
    tables = np.broadcast_arrays(*checked_table(a, n1, c, n0))
    out = np.empty(tables[0].size)
    for i, (x, m1, y, m0) in enumerate(zip(*(cells.ravel() for cells in tables), strict=True)):
        below, at = _tails(x, m1, y, m0, 0.0)
        out[i] = min(1.0, 2 * min(below + at / 2, 1 - below - at / 2))
    return out.reshape(tables[0].shape)


def _support(a: float, n1: float, c: float, n0: float) -> Support:
    """Every number of events the first group could have had, and the log weight of each."""
    events = a + c
    x = np.arange(max(0.0, events - n0), min(n1, events) + 1)
    logs = special.gammaln(n1 + 1) - special.gammaln(x + 1) - special.gammaln(n1 - x + 1)
    y = events - x
    logs += special.gammaln(n0 + 1) - special.gammaln(y + 1) - special.gammaln(n0 - y + 1)
    return x, logs


def _tails(a: float, n1: float, c: float, n0: float, log_odds: float) -> tuple[float, float]:
    """P(X < a) and P(X = a) at an odds ratio, given all the margins."""
    x, logs = _support(a, n1, c, n0)
    weight = np.exp(logs + log_odds * x - (logs + log_odds * x).max())
    weight /= weight.sum()
    return float(weight[x < a].sum()), float(weight[x == a].sum())


def conditional_odds_ratio(
    a: int, n1: int, c: int, n0: int, *, level: float = 0.95, use_mid_p: bool = True
) -> Estimate:
    """Odds ratio of a/n1 against c/n0 given all margins, with mid-P (or exact) limits.

    Returns
    -------
    Estimate
        The conditional maximum likelihood estimate; where one cell is empty, the limit that cannot be had is
        NaN and the note says so.

    Limits
    ------
    Independent newborns. Exact limits cover 95 % or more; mid-P limits cover it on average.

    References
    ----------
    Cornfield J (1956) Proc Third Berkeley Symp 4:135-148; Hirji KF et al. (1991) Stat Med 10:1137-1153.

    Examples
    --------
    27/59 against 13/91 of lambs without passive transfer (Sawyer 1977): Fisher p = 4.99e-05.
    """
    checked_table(a, n1, c, n0)
    table = (float(a), float(n1), float(c), float(n0))
    kept = 0.5 if use_mid_p else 0.0  # how much of the table seen is left out of a tail
    tail = (1 - share(level)) / 2
    x, _ = _support(*table)
    low, high, middle = 0.0, float("nan"), float("nan")
    if a > x[0]:
        low = np.exp(_solve(lambda t: 1 - _tails(*table, t)[0] - kept * _tails(*table, t)[1] - tail))
    if a < x[-1]:
        high = np.exp(-_solve(lambda t: _tails(*table, -t)[0] + (1 - kept) * _tails(*table, -t)[1] - tail))
    if x[0] < a < x[-1]:
        middle = np.exp(_solve(lambda t: _mean(*table, t) - a))
    elif a == x[0] < x[-1]:
        middle = 0.0
    name = "mid-P" if use_mid_p else "exact"
    note = "" if np.isfinite(middle) else "cannot be estimated: an odds of zero in the comparison"
    p = float(mid_p(*table)) if use_mid_p else fisher(a, n1, c, n0).p
    return Estimate(float(middle), float(low), float(high), p, f"conditional odds ratio, {name}", note)


def _mean(a: float, n1: float, c: float, n0: float, log_odds: float) -> float:
    x, logs = _support(a, n1, c, n0)
    weight = np.exp(logs + log_odds * x - (logs + log_odds * x).max())
    return float((weight * x).sum() / weight.sum())


def _solve(rising: object) -> float:
    """Root of a function that rises in the log odds ratio."""
    from scipy import optimize

    return float(optimize.brentq(rising, -40.0, 40.0, xtol=1e-13))
