"""How far the true losses of seasons lie apart by themselves, and what is taken where few seasons cannot tell."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.estimates.seasons import swing
from neonatal_stats.estimates.standardisation import variance_under_one_risk

SWING_FROM = 3  # seasons from which their swing is measured
USUAL_SWING = 0.20
"""Swing of seasons, as a share of their loss, where it cannot be measured: common practice, no source."""
LEAST_SWING = 0.10
"""Few seasons cannot show that there is none: a swing that came out smaller is taken as this."""


@dataclass(frozen=True)
class Swing:
    """How far the true losses of seasons lie apart: their standard deviation as a share of their mean.

    ``measured`` over the ``seasons`` that hold enough newborns, NaN under three; ``taken`` is what is planned with.
    """

    seasons: int
    measured: float
    taken: float


def swing_of(births: pd.DataFrame, minimum_group: int) -> Swing:
    """How far the seasons swing beyond chance and litters, and what is taken for it.

    Counted: newborns with `event`, of seasons that hold at least ``minimum_group`` of them.
    """
    sizes = births["season"].astype(str).value_counts()
    used = births[births["season"].astype(str).isin(sizes.index[sizes >= minimum_group])]
    season = pd.factorize(used["season"].astype(str))[0]
    seasons, event = int(season.max(initial=-1)) + 1, used["event"].to_numpy(int)
    if seasons < SWING_FROM or not 0 < event.mean() < 1:
        return Swing(seasons, math.nan, USUAL_SWING)
    of_one = np.zeros_like(season)
    variance = variance_under_one_risk(event, season, of_one, [1.0], cluster=used["litter"].to_numpy())
    share = np.bincount(season, event) / np.bincount(season)
    measured = math.sqrt(swing(share, variance)) / float(share.mean())
    return Swing(seasons, measured, max(LEAST_SWING, measured))
