"""Which groups of births did better or worse in one season than in another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.measures.birth_factors import Factor

COLUMNS = (
    "factor",
    "level",
    "events_a",
    "n_a",
    "events_b",
    "n_b",
    "difference",
    "low",
    "high",
    "p",
    "q",
    "moved",
)


def moved_groups(
    births: pd.DataFrame,
    factors: Sequence[Factor],
    first: str,
    second: str,
    *,
    minimum_group: int = 10,
    level: float = 0.95,
    cluster: str = "cluster",
) -> pd.DataFrame:
    """Every level's risk in two seasons, those that moved most losses first.

    Returns
    -------
    One row a level with at least `minimum_group` newborns in each season: the columns of `COLUMNS`; ``moved`` is
    the risk difference times the newborns of the second season: losses more (or fewer) than at the first's risk.

    Method
    ------
    Clustered risk difference (Newcombe); q of Benjamini & Hochberg over all levels shown.
    """
    season = births["season"].astype(str).to_numpy()
    event, clusters = births["event"].to_numpy(bool), births[cluster].to_numpy()
    rows = []
    for factor in factors:
        for place, name in enumerate(factor.levels):
            here = (factor.code == place) & np.isin(season, [first, second])
            later = season[here] == second
            n = int((~later).sum()), int(later.sum())
            if min(n) < minimum_group:
                continue
            died = event[here]
            found = compare(died, later, cluster=clusters[here], measure="risk_difference", level=level)
            counts = (int(died[~later].sum()), n[0], int(died[later].sum()), n[1])
            rows.append((factor.name, name, *counts, found.estimate, found.low, found.high, found.p))
    frame = pd.DataFrame(rows, columns=list(COLUMNS[:-2])).astype({"p": float, "difference": float})
    frame = frame.drop_duplicates(["events_a", "n_a", "events_b", "n_b"], ignore_index=True)
    q = benjamini_hochberg(frame["p"].to_numpy(float))
    frame = frame.assign(q=q, moved=frame["difference"] * frame["n_b"])
    order = frame["moved"].abs().sort_values(ascending=False, kind="stable").index
    return frame.loc[order].reset_index(drop=True)
