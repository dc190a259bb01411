"""Formulas as published: how well a check tells who will die, how strong a confounder must be, how cold it was."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, Integers, codes, one_of, refuse, same_length
from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.estimates.results import Estimate


@dataclass(frozen=True, eq=False)
class Screening:
    """What a check says of death; shares from 0 to 1 and two likelihood ratios, each with its interval.

    ``prevalence`` is the risk of death among those checked; ``n`` newborns were checked.
    """

    sensitivity: Estimate
    specificity: Estimate
    positive_predictive_value: Estimate
    negative_predictive_value: Estimate
    positive_likelihood_ratio: Estimate
    negative_likelihood_ratio: Estimate
    prevalence: Estimate
    n: int


def screening(
    check_positive: ArrayLike,
    died: ArrayLike,
    *,
    cluster: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    level: float,
) -> Screening:
    """Sensitivity, specificity, predictive values and likelihood ratios of a check for death.

    ``check_positive`` is 1 where the check points to trouble (no suck reflex at 10 minutes), ``died`` death within the
    window. Only newborns alive when the check was due and checked: leave the others out before the call.

    Method
    ------
    Shares by `proportions` (Wilson, clustered); the likelihood ratios are risk ratios of a positive
    (negative) check between those that died and those that lived, by `compare`.

    Limits
    ------
    Predictive values hold for flocks with the same risk of death only.

    References
    ----------
    Altman DG, Bland JM (1994) BMJ 308:1552 and 309:102; Simel DL et al. (1991) J Clin Epidemiol 44:763-770.

    Examples
    --------
    Of 10 that died 8 had no suck reflex, of 90 that lived 9:

    >>> from neonatal_stats.estimates import screening
    >>> no_reflex, died = [1] * 8 + [0] * 2 + [1] * 9 + [0] * 81, [1] * 10 + [0] * 90
    >>> found = screening(no_reflex, died, level=0.95)
    >>> shares = found.sensitivity, found.specificity, found.positive_likelihood_ratio
    >>> [round(share.estimate, 9) for share in shares]
    [0.8, 0.9, 8.0]
    """
    check, dead = codes(check_positive, "check_positive", below=2), codes(died, "died", below=2)
    same_length(check_positive=check, died=dead)
    right = check == dead
    shared: Any = {"cluster": cluster, "weight": weight, "repeats": repeats, "level": level}
    by_death, by_check = (_shares(right, group, shared) for group in (dead, check))
    over = proportions(dead, **shared)
    prevalence = Estimate(
        float(over.share[0]),
        float(over.low[0]),
        float(over.high[0]),
        float("nan"),
        over.method,
        _said(over.n[0], ""),
    )
    return Screening(
        sensitivity=by_death[1],
        specificity=by_death[0],
        positive_predictive_value=by_check[1],
        negative_predictive_value=by_check[0],
        positive_likelihood_ratio=compare(check, dead, **shared),
        negative_likelihood_ratio=compare(1 - check, dead, **shared),
        prevalence=prevalence,
        n=int(over.n[0]),
    )


def _shares(right: np.ndarray, group: Integers, shared: Any) -> tuple[Estimate, Estimate]:
    """Share of right answers among the negatives and among the positives."""
    got = proportions(right, group=group, n_groups=2, **shared)
    first, second = (
        Estimate(
            float(got.share[g]), float(got.low[g]), float(got.high[g]), float("nan"), got.method,
            _said(got.n[g], " of this kind"),
        )
        for g in (0, 1)
    )  # fmt: skip
    return first, second


def _said(n: float, kind: str) -> str:
    return "" if n else f"cannot be estimated: no newborns{kind}"


MEASURES = ("risk_ratio", "odds_ratio", "hazard_ratio")


@dataclass(frozen=True, eq=False)
class EValue:
    """Risk ratio an unrecorded confounder would need with both exposure and death.

    ``estimate`` to explain the estimate away, ``limit`` to move the interval's nearer end to "no difference"
    (1 when the interval already reaches it). NaN where there is no estimate.
    """

    estimate: float
    limit: float
    method: str


def e_value(
    estimate: float, low: float, high: float, *, measure: str = "risk_ratio", rare: bool = False
) -> EValue:
    """E-value of a ratio and of its interval: how strong something unrecorded would have to be to explain it away.

    Parameters
    ----------
    estimate, low, high : ratio above zero with its limits; NaN limits give a NaN limit.
    measure : {"risk_ratio", "odds_ratio", "hazard_ratio"}
    rare : deaths under 15 % by the end of the window: odds and hazard ratios are then taken as risk ratios.

    Method
    ------
    RR + sqrt(RR (RR - 1)), with RR turned upside down when below 1. Not rare: RR = sqrt(OR), or
    (1 - 0.5 ** sqrt(HR)) / (1 - 0.5 ** sqrt(1 / HR)).

    Limits
    ------
    Says how strong, not how likely. It speaks of confounding only: not of wrong records or of chance.

    References
    ----------
    VanderWeele TJ, Ding P (2017) Sensitivity analysis in observational research. Ann Intern Med 167:268-274.

    Examples
    --------
    >>> from neonatal_stats.estimates import e_value
    >>> found = e_value(3.9, 1.8, 8.7)
    >>> round(found.estimate, 2), round(found.limit, 2)  # VanderWeele & Ding (2017)
    (7.26, 3.0)
    """
    one_of(measure, MEASURES, "measure")
    for name, value in (("estimate", estimate), ("low", low), ("high", high)):
        if value < 0 or np.isinf(value):
            raise ValueError(f"{name}: must be a finite ratio, not negative; found {value} at position 0")
    value, lower, upper = (_as_risk_ratio(x, measure, rare) for x in (estimate, low, high))
    method = f"E-value of a {measure.replace('_', ' ')}"
    if np.isnan(value):
        return EValue(float("nan"), float("nan"), method)
    near = lower if value >= 1 else upper
    reached = near <= 1 if value >= 1 else near >= 1
    return EValue(_bound(value), 1.0 if reached else _bound(near), method)


def _as_risk_ratio(value: float, measure: str, rare: bool) -> float:
    if rare or measure == "risk_ratio" or not value > 0:
        return value
    if measure == "odds_ratio":
        return float(np.sqrt(value))
    return float((1 - 0.5 ** np.sqrt(value)) / (1 - 0.5 ** np.sqrt(1 / value)))


def _bound(value: float) -> float:
    """The E-value of one risk ratio; NaN for a ratio of zero, which nothing finite explains."""
    if not value > 0:
        return float("nan")
    away = max(value, 1 / value)
    return float(away + np.sqrt(away * (away - 1)))


def sheep_chill_index(wind_m_s: ArrayLike, temperature_c: ArrayLike, rain_mm: ArrayLike) -> Floats:
    """Potential heat loss of a sheep in kJ per square metre and hour, broadcast; NaN where one of the three is.

    Parameters
    ----------
    wind_m_s : mean wind speed in metres a second, near the animal's height; a mast's reading is too high.
    temperature_c : mean air temperature in degrees Celsius.
    rain_mm : rain of the day in millimetres.

    Method
    ------
    (11.7 + 3.1 sqrt(v)) (40 - T) + 481 + 418 (1 - exp(-0.04 x)).

    Limits
    ------
    Made for sheep; not for calves or kids. The formula was checked against several public research programs
    that cite the two papers below; the papers themselves were not at hand. Classes ("high chill" from about
    1,000) differ by source. No allowance for shelter, coat or birth weight.

    References
    ----------
    Nixon-Smith WF (1972), working paper, Bureau of Meteorology, Australia; Donnelly JR (1984) Aust J Agric Res
    35:709-721.

    Examples
    --------
    >>> from neonatal_stats.estimates import sheep_chill_index
    >>> round(float(sheep_chill_index(4, 10, 0)), 6)  # (11.7 + 6.2) x 30 + 481
    1018.0
    """
    wind, rain = np.asarray(wind_m_s, dtype=np.float64), np.asarray(rain_mm, dtype=np.float64)
    temperature = np.asarray(temperature_c, dtype=np.float64)
    refuse("wind_m_s", (wind < 0) | np.isinf(wind), wind, "must be finite and not negative")
    refuse("rain_mm", (rain < 0) | np.isinf(rain), rain, "must be finite and not negative")
    refuse("temperature_c", np.isinf(temperature), temperature, "must be finite")
    dry = (11.7 + 3.1 * np.sqrt(wind)) * (40 - temperature)
    return np.asarray(dry + 481 + 418 * (1 - np.exp(-0.04 * rain)), dtype=np.float64)
