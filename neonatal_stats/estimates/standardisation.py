"""Rates made comparable: what would the loss have been had every season had the same mix of births?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, Integers, codes, one_of, refuse, same_length, share
from neonatal_stats.estimates.clusters import (
    FewClusters,
    agreement,
    alike,
    are_few,
    by_cluster_and_group,
    cluster_rows,
    correction,
    degrees_of_freedom,
    design_effects_at,
    event_rows,
    few_groups,
    over,
    renumber,
    stood_for,
    totals,
    unfolded,
)
from neonatal_stats.estimates.proportion import checked_counts, wilson, wilson_limits
from neonatal_stats.estimates.results import Estimate, critical, ratio, two_sided

Members = tuple[Integers, int] | None
METHODS = {"wilson": "Wilson at the effective number", "gamma": "Fay-Feuer gamma limits"}


def directly_standardised(
    event: ArrayLike,
    stratum: ArrayLike,
    standard: ArrayLike,
    *,
    level: float,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    limits: str = "wilson",
) -> Estimate:
    """Share of newborns lost had the strata been mixed as in the ``standard`` (S,), counts or shares.

    ``limits`` are "wilson" or "gamma". The note says which share of the standard has no newborns to go by; the rest is
    then standardised to what is left of the mix. p is NaN.

    Method
    ------
    Wilson: linearised variance over clusters, never below the binomial one, turned into an effective number of
    newborns for Wilson's limits (Korn & Graubard's device). Gamma: the limits of Fay & Feuer (1997), which hold
    for few events and uneven weights, each stratum's counts divided by its design effect.

    Limits
    ------
    Wilson: strata in which all or none died add no variance; with many tiny strata the interval is too narrow,
    so join strata of fewer than about ten newborns. Gamma: deaths are taken as Poisson, so the limits are wider
    than needed where the risk is high: simulated coverage is 97-98 % at risks of 5 to 30 %.

    References
    ----------
    Korn EL, Graubard BI (1998) Surv Methodol 24:193-201; Yan X, Su XG (2010) Stat Biopharm Res 2:329-335. Fay
    MP, Feuer EJ (1997) Confidence intervals for directly standardized rates. Stat Med 16:791-801.

    Examples
    --------
    Singles 5/50, twins 20/100, mix half and half: 0.5 x 0.1 + 0.5 x 0.2.

    >>> from neonatal_stats.estimates import directly_standardised
    >>> counts = {"event": [1, 0, 1, 0], "stratum": [0, 0, 1, 1], "weight": [5, 45, 20, 80]}
    >>> round(directly_standardised(**counts, standard=[1, 1], level=0.95).estimate, 9)
    0.15
    """
    one_of(limits, ("wilson", "gamma"), "limits")
    y, w = event_rows(event, weight)
    mix = np.atleast_1d(np.asarray(standard, dtype=np.float64))
    refuse("standard", ~np.isfinite(mix) | (mix < 0), mix, "must be finite and not negative")
    k = codes(stratum, "stratum", below=len(mix))
    same_length(event=y, stratum=k)
    members = cluster_rows(cluster, len(y))
    rows, members, each = unfolded(members, alike(repeats, members), w)
    y, w, k = y[rows], w[rows], k[rows]
    whole = w if members is None else stood_for(w, members[0], each)
    n, deaths = totals(k, whole, len(mix)), totals(k, whole * y, len(mix))
    used = (n > 0) & (mix > 0)
    method = "directly standardised, " + METHODS[limits]
    if not used.any():
        return Estimate(np.nan, np.nan, np.nan, np.nan, method, "cannot be estimated: no newborns in the mix")
    pull = np.where(used, mix, 0) / mix[used].sum()
    rate = float(pull @ np.nan_to_num(ratio(deaths, n)))
    find = _wilson if limits == "wilson" else _gamma
    low, high = find(y, w, k, (deaths, n), pull, members, level, each)
    left = float(mix[~used & (mix > 0)].sum() / mix.sum())
    note = (
        f"{left:.3g} of the standard mix had no newborns here; standardised to the rest of it" if left else ""
    )
    return Estimate(rate, low, high, np.nan, method + (", clustered" if members else ""), note)


def variance_under_one_risk(
    event: ArrayLike,
    group: ArrayLike,
    stratum: ArrayLike,
    standard: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
) -> Floats:
    """Variance of each group's directly standardised share (G,) if all groups shared the risk of each stratum.

    Parameters
    ----------
    event : array_like of 0 and 1, one entry a newborn.
    group : array_like of whole numbers below G; every group has newborns in every stratum of the standard.
    stratum : array_like of whole numbers below the length of ``standard``.
    standard : array_like (S,)
        The common mix, counts or shares.
    cluster : array_like of whole numbers, optional
        Litter; littermates' outcomes are then equally correlated. Litters that span groups are taken in each by
        itself, which errs to the safe side in a difference.
    repeats : array_like of whole numbers, optional
        How many identical litters the newborn's litter stands for.

    Method
    ------
    Each stratum's risk is that of all groups together, so that a group without a loss is not known for certain.

    Examples
    --------
    10 of 100 and 30 of 100, one stratum: 0.2 x 0.8 / 100 each.

    >>> from neonatal_stats.estimates import variance_under_one_risk
    >>> died = [1] * 10 + [0] * 90 + [1] * 30 + [0] * 70
    >>> variance_under_one_risk(died, [0] * 100 + [1] * 100, [0] * 200, [1]).round(9).tolist()
    [0.0016, 0.0016]
    """
    y, w = event_rows(event, None)
    g, k = codes(group, "group"), codes(stratum, "stratum", below=len(np.atleast_1d(standard)))
    same_length(event=y, group=g, stratum=k)
    mix, groups = np.asarray(standard, dtype=np.float64), int(g.max(initial=-1)) + 1
    members = cluster_rows(cluster, len(y))
    each = alike(repeats, members)
    whole = w if members is None else stood_for(w, members[0], each)
    risk = np.nan_to_num(ratio(totals(k, whole * y, len(mix)), totals(k, whole, len(mix))))
    n = totals(g * len(mix) + k, whole, groups * len(mix))
    lean = (mix / mix.sum())[k] / n[g * len(mix) + k] * np.sqrt(risk * (1 - risk))[k]
    alone = totals(g, whole * lean**2, groups)
    if members is None:
        return alone
    pair, both = renumber(members[0] * groups + g)
    times = np.ones(len(both)) if each is None else each[both // groups]
    together = totals(both % groups, times * totals(pair, lean, len(both)) ** 2, groups)
    return alone + agreement(y, w, *members, each) * (together - alone)


def indirectly_standardised(
    events: float,
    expected: float,
    *,
    n: float | None = None,
    level: float,
    design_effect: float = 1.0,
) -> Estimate:
    """Observed over expected deaths (standardised mortality ratio); 1 is "as expected".

    Parameters
    ----------
    expected : deaths the standard's risks would have given in the same births, see `expected_events`.
    n : newborns the deaths come from. With it the limits are Wilson's for a share, which suits risks that are
        not small, and p the score test; without it they are exact Poisson limits, and p twice the smaller tail (mid-P).
    design_effect : litters: all counts are divided by it before the limits are taken.

    Limits
    ------
    The expected count is taken as known. Exact Poisson limits cover at least their level, and 97-98 % at risks
    of 5 to 30 % (simulated), since deaths of few newborns vary less than Poisson; give ``n`` there.

    References
    ----------
    Garwood F (1936) Biometrika 28:437-442; Dohoo I et al. (2009) Veterinary Epidemiologic Research.

    Examples
    --------
    >>> from neonatal_stats.estimates import indirectly_standardised
    >>> round(indirectly_standardised(58, 52, level=0.95).estimate, 3)  # tuberculosis in cattle (Dohoo 2009)
    1.115
    """
    if not (np.isfinite(events) and events >= 0):
        raise ValueError(f"events: must be finite and not negative; found {events} at position 0")
    method = "indirectly standardised, exact Poisson limits"
    if not expected > 0:
        return Estimate(np.nan, np.nan, np.nan, np.nan, method, "cannot be estimated: no deaths expected")
    tail, x, mean = (1 - share(level)) / 2, events / design_effect, expected / design_effect
    if n is not None:
        size = n / design_effect
        low, high = (float(limit) * size / mean for limit in wilson(x, size, level=level))
        p = float(two_sided((x - mean) / np.sqrt(mean * (1 - mean / size)))) if mean < size else float("nan")
        return Estimate(events / expected, low, high, p, "indirectly standardised, Wilson limits")
    low = float(special.gammaincinv(x, tail)) / mean if x > 0 else 0.0
    high = float(special.gammaincinv(x + 1, 1 - tail)) / mean
    at_most = float(special.gammaincc(x + 1, mean))
    below = float(special.gammaincc(x, mean)) if x > 0 else 0.0
    half = (at_most + below) / 2
    return Estimate(events / expected, low, high, min(1.0, 2 * min(half, 1 - half)), method)


def expected_events(n: ArrayLike, standard_risk: ArrayLike) -> float:
    """Deaths that the standard's risk in each stratum would have given among ``n`` newborns."""
    size, risk = np.asarray(n, dtype=np.float64), np.asarray(standard_risk, dtype=np.float64)
    known = size > 0
    return float((size[known] * np.broadcast_to(risk, size.shape)[known]).sum())


def _wilson(
    y: Floats,
    w: Floats,
    k: Integers,
    counted: tuple[Floats, Floats],
    pull: Floats,
    members: Members,
    level: float,
    repeats: Floats | None,
) -> tuple[float, float]:
    """Wilson's limits at the number of newborns that would vary as much; ``pull`` is the mix in use."""
    deaths, n = counted
    p = np.nan_to_num(ratio(deaths, n))
    rate, binomial = float(pull @ p), float((pull**2 * np.nan_to_num(ratio(p * (1 - p), n))).sum())
    residual = w * np.nan_to_num(ratio(pull, n))[k] * (y - p[k])
    variance, quantile = binomial, critical(level)
    if members is not None:
        labels, distinct = members
        together = over(totals(labels, residual, distinct) ** 2, repeats)
        clusters = over(np.ones(distinct), repeats)
        if repeats is None and are_few(clusters, n.sum()):
            few = few_groups(by_cluster_and_group(labels, k, w, len(pull)), p, pull)
            variance = binomial * float(few.effect(ratio(together, binomial), level)) if binomial else 0.0
        else:
            variance = max(binomial, float(correction(clusters, n.sum())) * together)
            quantile = critical(level, degrees_of_freedom(n.sum() / clusters, clusters))
    effective = rate * (1 - rate) / variance if variance > 0 else float(n[pull > 0].sum())
    low, high = wilson_limits(np.array(rate), np.array(effective), quantile)
    return float(low), float(high)


def _gamma(
    y: Floats,
    w: Floats,
    k: Integers,
    counted: tuple[Floats, Floats],
    pull: Floats,
    members: Members,
    level: float,
    repeats: Floats | None,
) -> tuple[float, float]:
    """Fay-Feuer limits at the strata's design effects."""
    deaths, n = counted
    used, effect = pull > 0, np.ones(len(pull))
    if members is not None:
        kept = w > 0
        at = (y[kept], w[kept], k[kept], members[0][kept], len(pull), level, repeats)
        floored, wide, clusters = design_effects_at(*at)
        effect = np.where(are_few(clusters, n), wide, floored)
    weight, x, unit = ratio(pull, n)[used], deaths[used], ratio(pull * effect, n)[used]
    rate = float((weight * x).sum())
    return _gamma_limits(rate, float((unit * weight * x).sum()), float(unit.max()), level)


def _gamma_limits(rate: float, variance: float, largest: float, level: float) -> tuple[float, float]:
    """Fay-Feuer limits of a weighted sum of Poisson counts; ``largest`` is the largest weight."""
    tail = (1 - share(level)) / 2
    low = 0.0
    if rate > 0:
        low = variance / rate * float(special.gammaincinv(rate**2 / variance, tail))
    top, spread = rate + largest, variance + largest**2
    return low, spread / top * float(special.gammaincinv(top**2 / spread, 1 - tail))


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
    repeats: ArrayLike | None = None,
    labels: Sequence[str] | None = None,
) -> MixAndRate:
    """Kitagawa's split of the change in crude risk from season A to season B (``later`` 1), by stratum.

    A litter counts whole, both in risk and in mix (twins come in twos).

    Method
    ------
    mix term: (share in B - share in A) x mean risk; rate term: (risk in B - risk in A) x mean share. A
    stratum seen in one season only lends its risk to the other, so all of it is mix. Limits: delta method,
    births of a season multinomial over strata; the risk of a stratum seen in one season only counts whole in the
    mix and not at all in the rate; with clusters what each newborn adds to the error is summed over its litter.

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
    members = cluster_rows(cluster, len(y))
    rows, members, each = unfolded(members, alike(repeats, members), w)
    y, w, when, k = y[rows], w[rows], when[rows], k[rows]
    whole = w if members is None else stood_for(w, members[0], each)
    counts = ((when == s, name) for s, name in ((0, "a"), (1, "b")))
    a, b = (
        _Season.of(totals(k[of], (whole * y)[of], strata), totals(k[of], whole[of], strata), name)
        for of, name in counts
    )
    if members is None:
        return _split(a, b, labels, _variances(a, b), level, "Kitagawa")
    squares: Floats = np.array(
        [over(totals(members[0], w * part, members[1]) ** 2, each) for part in _influence(y, when, k, a, b)]
    )
    method = "Kitagawa, clustered"
    clusters = over(np.ones(members[1]), each)
    if each is not None or not are_few(clusters, w.sum()):
        return _split(a, b, labels, float(correction(clusters, whole.sum())) * squares, level, method)
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
