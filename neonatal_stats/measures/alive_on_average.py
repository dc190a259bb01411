"""Restricted mean survival: days alive, on average, out of the time watched."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.estimates.mean_survival import restricted_mean
from neonatal_stats.measures.groups import grouped


def days_alive(
    newborns: pd.DataFrame,
    by: Sequence[str],
    *,
    until_h: float,
    level: float = 0.95,
    cluster: str = "cluster",
) -> pd.DataFrame:
    """Mean days alive out of the first so many hours, per group.

    Returns
    -------
    One row a group: the columns of `by`, n, days, low, high and note (why it cannot be estimated, or ""). A
    group of a single litter has no interval.

    Method
    ------
    Area under the Kaplan-Meier curve, its variance clustered.
    """
    known = newborns[newborns["age_known"].astype(bool)]
    groups, code = grouped(known, by)
    rows = []
    for number in range(len(groups)):
        mine = known[code == number]
        found = restricted_mean(
            mine["age_h"].to_numpy(float),
            mine["died"].to_numpy(bool),
            until_h=until_h,
            cluster=mine[cluster].to_numpy(),
            level=level,
        )
        alone = mine[cluster].nunique() < 2
        low, high = (np.nan, np.nan) if alone else (found.low / 24, found.high / 24)
        rows.append((len(mine), found.estimate / 24, low, high, found.note))
    counted = pd.DataFrame(rows, columns=["n", "days", "low", "high", "note"], index=groups.index)
    return pd.concat([groups, counted], axis=1)
