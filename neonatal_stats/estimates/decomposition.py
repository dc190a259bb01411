"""Was it worse, or did we just have more twins? The change between two seasons split into mix and rate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, Integers, codes, same_length
from neonatal_stats.estimates.clusters import (
    FewClusters,
    are_few,
    by_cluster_and_group,
    cluster_rows,
    correction,
    event_rows,
    few_groups,
    totals,
)
from neonatal_stats.estimates.proportion import checked_counts
from neonatal_stats.estimates.results import Estimate, critical, ratio, two_sided


@dataclass(frozen=True, eq=False)
class MixAndRate:
    """The change in crude risk from season A to season B, in shares of newborns.

    ``mix_terms`` and ``rate_terms`` hold one number a stratum (in the order of ``labels``); they add up to
    ``mix`` and ``rate``, and these to ``change``, exactly. ``note`` names strata seen in one season only.
    """

    labels: tuple[str, ...]
    mix_terms: Floats
    rate_terms: Floats
    change: Estimate
    mix: Estimate
    rate: Estimate
    note: str


def mix_and_rate(
    event: ArrayLike,
    later: ArrayLike,
    stratum: ArrayLike,
    *,
    level: float,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    labels: Sequence[str] | None = None,
) -> MixAndRate:
    """Kitagawa's split of the change in crude risk from season A to season B.

    Parameters
    ----------
    event, later : array_like of 0 and 1, one entry a newborn
        Death, and whether the newborn belongs to season B.
    stratum : array_like of whole numbers.
    cluster : array_like of whole numbers, optional
        Litter: it counts whole, both in risk and in mix (twins come in twos).
    weight : array_like, optional
        How many newborns the row stands for.
    labels : sequence of str, optional
        Names of the strata.

    Method
    ------
    mix term: (share in B - share in A) x mean risk; rate term: (risk in B - risk in A) x mean share. A
    stratum seen in one season only lends its risk to the other, so all of it is mix. Limits: delta method,
    births of a season multinomial over strata; the risk of a stratum seen in one season only counts whole in the
    mix and not at all in the rate; with clusters what each newborn adds to the error is summed
    over its litter.

    Limits
    ------
    A term is arithmetic, not a cause. The sum of the mix terms, not each one, tells whether the mix worsened.

    References
    ----------
    Kitagawa EM (1955) Components of a difference between two rates. J Am Stat Assoc 50:1168-1194.

    Examples
    --------
    A: singles 5/50, twins 10/50 (crude 0.15); B: singles 2/20, twins 16/80 (0.18). Risks are the same, so the
    change 0.03 is all mix: singles -0.3 x 0.1 + twins 0.3 x 0.2.

    >>> from neonatal_stats.estimates import mix_and_rate
    >>> died, later, twin = [1, 0] * 4, [0] * 4 + [1] * 4, [0, 0, 1, 1] * 2
    >>> births = [5, 45, 10, 40, 2, 18, 16, 64]
    >>> found = mix_and_rate(died, later, twin, weight=births, level=0.95)
    >>> found.mix_terms.round(9).tolist(), bool(abs(found.rate_terms).max() < 1e-12)
    ([-0.03, 0.06], True)
    """
    y, w = event_rows(event, weight)
    when, k = codes(later, "later", below=2), codes(stratum, "stratum")
    same_length(event=y, later=when, stratum=k)
    strata = len(labels) if labels is not None else (int(k.max()) + 1 if len(k) else 0)
    codes(k, "stratum", below=max(strata, 1))
    a, b = (
        _Season.of(
            totals(k[when == s], (w * y)[when == s], strata), totals(k[when == s], w[when == s], strata), name
        )
        for s, name in ((0, "a"), (1, "b"))
    )
    members = cluster_rows(cluster, len(y))
    if members is None:
        return _split(a, b, labels, _variances(a, b), level, "Kitagawa")
    squares: Floats = np.array(
        [
            float((totals(members[0], w * part, members[1]) ** 2).sum())
            for part in _influence(y, when, k, a, b)
        ]
    )
    method = "Kitagawa, clustered"
    if not are_few(members[1], w.sum()):
        return _split(a, b, labels, float(correction(members[1], w.sum())) * squares, level, method)
    sizes = by_cluster_and_group(members[0], when, w, 2)
    few = few_groups(sizes, float((w * y).sum() / w.sum()), [1.0, -1.0])
    return _split(a, b, labels, _variances(a, b), level, method, (few, squares))


@dataclass(frozen=True, eq=False)
class _Season:
    """Deaths, newborns, share of births and risk of each stratum in one season."""

    events: Floats
    n: Floats
    mix: Floats
    risk: Floats

    @classmethod
    def of(cls, events: ArrayLike, n: ArrayLike, name: str) -> _Season:
        """A season from its counts."""
        x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
        if not size.sum() > 0:
            raise ValueError(f"n_{name}: a season without newborns cannot be split; found 0 at position 0")
        return cls(x, size, size / size.sum(), ratio(x, size))


def _risks(a: _Season, b: _Season) -> tuple[Floats, Floats]:
    """Risks of both seasons; a stratum missing from one takes the other's, missing from both zero."""
    first = np.where(a.n > 0, a.risk, b.risk)
    second = np.where(b.n > 0, b.risk, a.risk)
    return np.nan_to_num(first), np.nan_to_num(second)


def _parts(a: _Season, b: _Season) -> tuple[Floats, Floats]:
    """How far the mix and the rate term of each stratum move with either season's own risk.

    Half and half; a stratum seen in one season only lends its risk to the other, so that its mix term moves with
    all of it and its rate term, which is zero whatever the risk, with none.
    """
    both = (a.n > 0) & (b.n > 0)
    return (b.mix - a.mix) * np.where(both, 0.5, 1.0), (a.mix + b.mix) * np.where(both, 0.5, 0.0)


def _variances(a: _Season, b: _Season) -> list[float]:
    """Variances of change, mix and rate for independent newborns."""
    risk_a, risk_b = _risks(a, b)
    to_mix, to_rate = _parts(a, b)
    change = mix = rate = 0.0
    for season, risk in ((a, risk_a), (b, risk_b)):
        n = season.n.sum()
        within = np.nan_to_num(ratio(risk * (1 - risk), season.n))
        step, mean = risk_b - risk_a, (risk_a + risk_b) / 2
        crude = float((season.mix * risk).sum())
        change += crude * (1 - crude) / n
        mix += (to_mix**2 * within).sum() + _spread(mean, season.mix) / n
        rate += (to_rate**2 * within).sum() + _spread(step / 2, season.mix) / n
    return [float(change), float(mix), float(rate)]


def _spread(value: Floats, mix: Floats) -> float:
    """Variance of a value over strata drawn with probabilities ``mix``."""
    return float((mix * value**2).sum() - (mix * value).sum() ** 2)


def _split(
    a: _Season,
    b: _Season,
    labels: Sequence[str] | None,
    variances: Sequence[float] | Floats,
    level: float,
    method: str,
    few: tuple[FewClusters, Floats] | None = None,
) -> MixAndRate:
    names = tuple(labels) if labels is not None else tuple(str(i) for i in range(len(a.n)))
    if len(names) != len(a.n):
        raise ValueError(f"labels: must be as long as n_a ({len(a.n)}); found {len(names)} at position 0")
    risk_a, risk_b = _risks(a, b)
    mix = (b.mix - a.mix) * (risk_a + risk_b) / 2
    rate = (risk_b - risk_a) * (a.mix + b.mix) / 2
    totals_ = (a.events.sum() / a.n.sum(), b.events.sum() / b.n.sum())
    change = float(totals_[1] - totals_[0])
    values = (change, float(mix.sum()), float(rate.sum()))
    change_, mix_, rate_ = (
        _estimate(value, variance, level, method, None if few is None else (few[0], few[1][place]))
        for place, (value, variance) in enumerate(zip(values, variances, strict=True))
    )
    once = [name for name, p, q in zip(names, a.n > 0, b.n > 0, strict=True) if p != q]
    note = f"seen in one season only, counted as mix: {', '.join(once)}" if once else ""
    return MixAndRate(names, mix, rate, change_, mix_, rate_, note)


def _estimate(
    value: float, variance: float, level: float, method: str, few: tuple[FewClusters, float] | None
) -> Estimate:
    """One part; with ``few`` clusters their variance stands there, and ``variance`` is that of independent newborns."""
    error = float(np.sqrt(max(variance, 0.0)))
    half = float(critical(level)) * error
    p = float(two_sided(value / error)) if error > 0 else float("nan")
    if few is not None and error > 0:
        half *= float(np.sqrt(few[0].effect(few[1] / variance, level)))
        p = float(few[0].p(value / error, few[1] / variance))
    return Estimate(value, value - half, value + half, p, method)


def _influence(
    y: Floats, when: Integers, k: Integers, a: _Season, b: _Season
) -> tuple[Floats, Floats, Floats]:
    """What each newborn adds to the error of change, mix and rate."""
    risk_a, risk_b = _risks(a, b)
    sign = np.where(when == 1, 1.0, -1.0) / np.where(when == 1, b.n.sum(), a.n.sum())
    own = np.where(when == 1, risk_b[k], risk_a[k])
    n = np.where(when == 1, b.n[k], a.n[k])
    residual = (y - own) / n
    mean, step = (risk_a + risk_b) / 2, (risk_b - risk_a) / 2

    def drawn(value: Floats) -> Floats:
        centre = np.where(when == 1, (b.mix * value).sum(), (a.mix * value).sum())
        return np.asarray(value[k] - centre, dtype=np.float64)

    to_mix, to_rate = _parts(a, b)
    mix = to_mix[k] * residual + sign * drawn(mean)
    turned = np.where(when == 1, 1.0, -1.0)
    rate = turned * to_rate[k] * residual + np.abs(sign) * drawn(step)
    crude = np.where(when == 1, b.events.sum() / b.n.sum(), a.events.sum() / a.n.sum())
    return sign * (y - crude), mix, rate
