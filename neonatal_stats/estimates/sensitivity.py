"""How strong would something unrecorded have to be to explain a result away?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neonatal_stats.estimates.arguments import one_of

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
    """E-value of a ratio and of its interval.

    Parameters
    ----------
    estimate, low, high : float
        Ratio above zero with its limits; NaN limits give a NaN limit.
    measure : {"risk_ratio", "odds_ratio", "hazard_ratio"}
    rare : bool
        Deaths under 15 % by the end of the window: odds and hazard ratios are then taken as risk ratios.

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
    VanderWeele & Ding (2017):

    >>> from neonatal_stats.estimates import e_value
    >>> found = e_value(3.9, 1.8, 8.7)
    >>> round(found.estimate, 2), round(found.limit, 2)
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
