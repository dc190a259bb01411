"""Two risks that share newborns, their difference and ratio, with intervals from resampled litters.

Percentiles of resampled risks are too short where an arm lost few (a risk that came out low by chance varies
little when resampled), so each risk has Wilson's score interval on the effective size that its resampled
variance implies, with Student's t for the deaths to expect, and the two are joined by the method of variance
estimates recovery.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.shares.proportion import wilson_limits

METHOD = "cloning, censoring and weighting; score interval with resampled variance"


@dataclass(frozen=True, eq=False)
class Spread:
    """Variances of two resampled risks and their correlation; NaN under two resamples."""

    variance: Floats
    correlation: float
    resamples: int


def resampled_spread(draws: Floats) -> Spread:
    """Spread of resampled pairs of risks (resamples, 2)."""
    if len(draws) < 2:
        return Spread(np.full(2, np.nan), np.nan, len(draws))
    covariance = np.cov(draws.T)
    scale = float(np.sqrt(covariance[0, 0] * covariance[1, 1]))
    correlation = float(covariance[0, 1]) / scale if scale > 0 else 0.0
    return Spread(np.diag(covariance), correlation, len(draws))


def contrast_of_arms(
    risks: tuple[float, float], spread: Spread, deaths: tuple[float, float], level: float
) -> tuple[Estimate, Estimate, Estimate, Estimate]:
    """First risk, second risk, difference and ratio (first over second).

    Parameters
    ----------
    risks : the two risks.
    spread : from `resampled_spread`.
    deaths : deaths to expect in each arm, less one the degrees of freedom of its interval.
    level : confidence level.

    References
    ----------
    Newcombe 1998, Stat Med 17:873. Zou & Donner 2008, Stat Med 27:1693 (correlated estimates).
    """
    first, second = (
        _risk(risk, variance, expected, level)
        for risk, variance, expected in zip(risks, spread.variance, deaths, strict=True)
    )
    difference = _apart(first, second, spread.correlation)
    logs = _apart(_logarithm(first), _logarithm(second), spread.correlation)
    middle, low, high = (float(np.exp(x)) for x in (logs.estimate, logs.low, logs.high))
    ratio = Estimate(middle, low, high, np.nan, METHOD)
    return first, second, difference, ratio


def _risk(risk: float, variance: float, deaths: float, level: float) -> Estimate:
    """Wilson's interval on the size that the variance implies; none where the risk did not vary."""
    if not variance > 0 or not 0 < risk < 1:
        return Estimate(float(risk), np.nan, np.nan, np.nan, METHOD)
    quantile = stats.t.ppf(0.5 + level / 2, max(deaths - 1, 1))
    low, high = wilson_limits(np.array([risk]), np.array([risk * (1 - risk) / variance]), quantile)
    return Estimate(float(risk), float(low[0]), float(high[0]), np.nan, METHOD)


def _logarithm(risk: Estimate) -> Estimate:
    """The risk and its limits on the log scale; NaN where no death was seen."""
    middle, low, high = (float(np.log(x)) if x > 0 else np.nan for x in (risk.estimate, risk.low, risk.high))
    return Estimate(middle, low, high, np.nan, METHOD)


def _apart(first: Estimate, second: Estimate, correlation: float) -> Estimate:
    """First less second; each limit takes the near sides of both intervals."""
    apart = first.estimate - second.estimate
    low = _reach(first.estimate - first.low, second.high - second.estimate, correlation)
    high = _reach(first.high - first.estimate, second.estimate - second.low, correlation)
    return Estimate(float(apart), float(apart - low), float(apart + high), np.nan, METHOD)


def _reach(a: float, b: float, correlation: float) -> float:
    """Length of the difference of two correlated arms."""
    return float(np.sqrt(max(a * a + b * b - 2 * correlation * a * b, 0.0))) if np.isfinite(a + b) else np.nan
