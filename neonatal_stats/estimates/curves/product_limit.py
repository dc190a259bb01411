"""Hazards at each age and their product, the share surviving."""

from __future__ import annotations

import numpy as np

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.curves.counts import without_dust


def product_limit(at_risk: Floats, deaths: Floats) -> Floats:
    """Share surviving past each age, (G, K); NaN for a group that never had anyone at risk."""
    staying = np.divide(survivors(at_risk, deaths), at_risk, out=np.ones_like(at_risk), where=at_risk > 0)
    share = np.cumprod(staying, axis=1)
    return np.where(at_risk.any(axis=1, keepdims=True), share, np.nan)


def survivors(at_risk: Floats, deaths: Floats) -> Floats:
    """Those at risk that the age did not take."""
    return without_dust(at_risk - deaths, at_risk)


def per_survivor(at_risk: Floats, deaths: Floats) -> Floats:
    """1 over those at risk that the age did not take; 0 where it took all, since the share then stays 0."""
    alive = survivors(at_risk, deaths)
    inverse: Floats = np.divide(1.0, alive, out=np.zeros_like(alive), where=alive > 0)
    return inverse


def hazard_per_survivor(at_risk: Floats, deaths: Floats) -> Floats:
    """deaths / (at risk x survivors): the step of Greenwood's sum, and of every newborn's influence."""
    hazard = np.divide(deaths, at_risk, out=np.zeros_like(deaths), where=at_risk > 0)
    per_alive: Floats = hazard * per_survivor(at_risk, deaths)
    return per_alive
