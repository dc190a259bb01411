"""Shares of newborns with intervals that hold for small numbers and for litters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from neonatal_stats.estimates.arguments import Floats, Integers, codes, refuse, same_length, share
from neonatal_stats.estimates.clusters import (
    alike,
    cluster_rows,
    design_effects_at,
    event_rows,
    stood_for,
    totals,
)
from neonatal_stats.estimates.results import OfArrays, critical, ratio

Limits = tuple[Floats, Floats]


@dataclass(frozen=True, eq=False, repr=False)
class Proportions(OfArrays):
    """Shares of G groups, (G,): ``events`` of ``n`` newborns; ``share`` from 0 to 1 with ``low`` and ``high``, NaN in a
    group without newborns; ``design_effect`` by which litters shrink the information (never below 1); ``clusters``
    that hold newborns of the group (rows without clusters).
    """

    events: NDArray[Any]
    n: NDArray[Any]
    share: Floats
    low: Floats
    high: Floats
    design_effect: Floats
    clusters: Integers
    method: str


def wilson(events: ArrayLike, n: ArrayLike, *, level: float) -> Limits:
    """Wilson's score limits, (low, high) of the broadcast shape, for shares of independent newborns; NaN where n is 0.

    Limits
    ------
    Ignores litters; see `proportions`. Mean coverage is near the level; at one true share it may stray by a
    few percent for n under 20, as for every interval of a count.

    References
    ----------
    Wilson EB (1927) J Am Stat Assoc 22:209-212. Altman DG et al. (2000) Statistics with Confidence, p. 47.

    Examples
    --------
    >>> from neonatal_stats.estimates import wilson
    >>> [round(float(limit), 3) for limit in wilson(81, 263, level=0.95)]  # Altman (2000)
    [0.255, 0.366]
    """
    x, size = checked_counts(events, n)
    return wilson_limits(ratio(x, size), size, critical(level))


def clopper_pearson(events: ArrayLike, n: ArrayLike, *, level: float, mid_p: bool = False) -> Limits:
    """Clopper-Pearson limits, or their mid-P version, (low, high), for shares of independent newborns.

    Limits
    ------
    Clopper-Pearson covers at least the level and usually more (97-99 % at 95 % in small groups): it cannot do
    better since counts are whole. Mid-P covers the level on average.

    References
    ----------
    Clopper CJ, Pearson ES (1934) Biometrika 26:404-413. Mid-P: Berry G, Armitage P (1995) Statistician 44:417-423.

    Examples
    --------
    >>> from neonatal_stats.estimates import clopper_pearson
    >>> [round(float(limit), 4) for limit in clopper_pearson(4, 200, level=0.95)]
    [0.0055, 0.0504]
    """
    x, size = checked_counts(events, n)
    tail = (1 - share(level)) / 2
    if mid_p:
        low, high = _mid_p(x, size, tail), 1 - _mid_p(size - x, size, tail)
    else:
        low = special.betaincinv(np.maximum(x, 0.5), size - x + 1, tail)
        high = special.betaincinv(x + 1, np.maximum(size - x, 0.5), 1 - tail)
    low, high = np.where(x == 0, 0.0, low), np.where(x == size, 1.0, high)
    return np.where(size > 0, low, np.nan), np.where(size > 0, high, np.nan)


def proportions(
    event: ArrayLike,
    *,
    group: ArrayLike | None = None,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    n_groups: int | None = None,
    level: float,
) -> Proportions:
    """Share of newborns with the event in each group (one without ``group``), its interval allowing for litters.

    Method
    ------
    Wilson's limits at n / design effect; the design effect is the ratio-estimator variance over clusters
    divided by the binomial one, and is never taken below 1. Its uncertainty enters by Student's t (see
    `degrees_of_freedom`). Where it cannot be measured (no event, all events, one cluster) it is 1 + (mean size - 1) x
    the correlation of littermates in all rows.

    Limits
    ------
    The floor makes intervals a little wide where litters agree no more than chance.

    References
    ----------
    Wilson (1927) J Am Stat Assoc 22:209-212; Rao & Scott (1992) Biometrics 48:577-585.

    Examples
    --------
    Four litters of two with deaths (2, 0, 0, 0): residuals about 1/4 are 1.5, -.5, -.5, -.5, variance
    4/3 x 3 / 64 = 1/16, binomial 3/128, design effect 8/3.

    >>> from neonatal_stats.estimates import proportions
    >>> found = proportions([1, 1, 0, 0, 0, 0, 0, 0], cluster=[0, 0, 1, 1, 2, 2, 3, 3], level=0.95)
    >>> round(float(found.design_effect[0]), 9)
    2.666666667
    """
    y, w = event_rows(event, weight)
    labels, groups = _group_rows(group, len(y), n_groups)
    members = cluster_rows(cluster, len(y))
    each = alike(repeats, members)
    whole = w if members is None else stood_for(w, members[0], each)
    n = totals(labels, whole, groups)
    events = totals(labels, whole * y, groups)
    p = ratio(events, n)
    if members is None:
        effect = wide = np.where(n > 0, 1.0, np.nan)
        clusters = np.bincount(labels[w > 0], minlength=groups)
        method = "Wilson score"
    else:
        kept = w > 0
        effect, wide, clusters = design_effects_at(
            y[kept], w[kept], labels[kept], members[0][kept], groups, level, each
        )
        method = "Wilson score at n / design effect (clustered)"
    low, high = wilson_limits(p, ratio(n, wide), critical(level))
    return Proportions(_whole(events), _whole(n), p, low, high, effect, clusters, method)


def checked_counts(events: ArrayLike, n: ArrayLike) -> tuple[Floats, Floats]:
    """Counts of events among n, finite, not negative and never more than n."""
    x, size = np.broadcast_arrays(np.asarray(events, np.float64), np.asarray(n, np.float64))
    for name, array in (("events", x), ("n", size)):
        bad = ~np.isfinite(array) | (array < 0)
        refuse(name, bad, array, "counts must be finite and not negative")
    refuse("events", x > size, x, "must not exceed n")
    return x, size


def wilson_limits(p: Floats, n: Floats, quantile: ArrayLike) -> Limits:
    """Wilson's limits for a share ``p`` of ``n`` (which may be an effective, broken number)."""
    z2 = np.square(np.asarray(quantile, dtype=np.float64))
    middle = ratio(p + ratio(z2, 2 * n), 1 + ratio(z2, n))
    half = ratio(np.sqrt(z2 * (ratio(p * (1 - p), n) + ratio(z2, 4 * n * n))), 1 + ratio(z2, n))
    low = np.where(p == 0, 0.0, np.clip(middle - half, 0, 1))
    high = np.where(p == 1, 1.0, np.clip(middle + half, 0, 1))
    return np.where(n > 0, low, np.nan), np.where(n > 0, high, np.nan)


def _mid_p(x: Floats, n: Floats, tail: float) -> Floats:
    """The share at which P(X > x) + P(X = x) / 2 equals the tail, by halving."""
    low, high = np.zeros(x.shape), np.ones(x.shape)
    for _ in range(60):
        middle = (low + high) / 2
        at_least = special.betainc(np.maximum(x, 0.5), n - x + 1, middle)
        more = np.where(x < n, special.betainc(x + 1, np.maximum(n - x, 0.5), middle), 0.0)
        above = (at_least + more) / 2 > tail
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return (low + high) / 2


def _group_rows(group: ArrayLike | None, size: int, n_groups: int | None) -> tuple[Integers, int]:
    if group is None:
        return np.zeros(size, dtype=np.int64), n_groups or 1
    labels = codes(group, "group", below=n_groups)
    same_length(event=np.empty(size), group=labels)
    return labels, n_groups if n_groups is not None else (int(labels.max()) + 1 if size else 0)


def _whole(counts: Floats) -> NDArray[Any]:
    """Counts as whole numbers where they are whole."""
    rounded = counts.astype(np.int64)
    return rounded if (rounded == counts).all() else counts
