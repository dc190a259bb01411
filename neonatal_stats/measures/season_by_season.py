"""Did a group lose more than the rest in one season, or in season after season?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.measures.birth_factors import Factor
from neonatal_stats.measures.each_row import each_row


def season_by_season(
    births: pd.DataFrame, factors: Sequence[Factor], groups: pd.DataFrame, *, minimum_group: int = 10
) -> pd.DataFrame:
    """In how many seasons each group lost more than its rest.

    Parameters
    ----------
    births : newborns with `event` and season; codes of `factors` are as long.
    groups : rows of `measures.risk_groups`.

    Returns
    -------
    One row a group, in its order: seasons_more of seasons_seen (those with `minimum_group` newborns in the group
    and in the rest).
    """
    by_name = {factor.name: factor for factor in factors}
    season, names = pd.factorize(births["season"].astype(str))
    event = births["event"].to_numpy(float)
    rows = []
    for row in each_row(groups):
        known, inside = _members(by_name, row.factor, row.level)
        if row.with_factor:
            also_known, also = _members(by_name, row.with_factor, row.with_level)
            known, inside = known & also_known, inside & also
        n, lost = _by_season(season, known & inside, event, len(names))
        rest_n, rest_lost = _by_season(season, known & ~inside, event, len(names))
        seen = np.minimum(n, rest_n) >= minimum_group
        more = seen & (lost * rest_n > rest_lost * n)
        rows.append((int(more.sum()), int(seen.sum())))
    return pd.DataFrame(rows, columns=["seasons_more", "seasons_seen"], index=groups.index)


def _members(
    by_name: dict[str, Factor], factor: str, level: str
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    one = by_name[factor]
    return one.known, one.code == one.levels.index(level)


def _by_season(
    season: NDArray[np.intp], part: NDArray[np.bool_], event: NDArray[np.float64], seasons: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Newborns and losses of a part, season by season."""
    n = np.bincount(season[part], minlength=seasons).astype(float)
    return n, np.bincount(season[part], weights=event[part], minlength=seasons).astype(float)
