"""Measures of occurrence: how many of how many, per group, with the interval that litters deserve."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.measures.groups import grouped


def rates(
    newborns: pd.DataFrame, by: Sequence[str], event: str, *, level: float = 0.95, cluster: str = "cluster"
) -> pd.DataFrame:
    """Share of newborns with an event, per group: the ``rates`` frame.

    Parameters
    ----------
    newborns : one row a newborn, with the columns of `by`, `event` and `cluster`.
    by : group columns; an empty sequence counts all together.
    event : a yes-no column; newborns where it is missing are not counted.
    level : confidence level.
    cluster : the column of litter (or farm) numbers; newborns of one cluster are not independent.

    Returns
    -------
    Frame with the columns of `by`, then events, n, share, low, high, design_effect; one row per group.

    Method
    ------
    Wilson score interval on n divided by the design effect (Rao & Scott 1992).
    """
    known = newborns[newborns[event].notna()]
    groups, code = grouped(known, by)
    kept = code >= 0
    found = proportions(
        known.loc[kept, event].to_numpy(dtype=bool),
        group=code[kept],
        cluster=known.loc[kept, cluster].to_numpy(),
        n_groups=len(groups),
        level=level,
    )
    return groups.assign(
        events=found.events.astype(int),
        n=found.n.astype(int),
        share=found.share,
        low=found.low,
        high=found.high,
        design_effect=found.design_effect,
    )
