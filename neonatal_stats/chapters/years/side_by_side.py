"""Survival and causes of the seasons, side by side."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.estimates.contrast import compare
from neonatal_stats.measures.curves import survival

MOST_CURVES = 6


def survival_curves(births: pd.DataFrame, level: float) -> tuple[tuple[str, pd.DataFrame], ...]:
    """Survival of those born alive, a curve a season, the last six at most; none where no age is known."""
    alive = births[~births["stillborn"].astype(bool) & births["age_known"].astype(bool)]
    if alive.empty or not alive["died"].any():
        return ()
    curve = survival(alive, ("season",), level=level)
    names = [str(name) for name in alive["season"].cat.remove_unused_categories().cat.categories]
    return tuple((name, curve[curve["season"].astype(str) == name]) for name in names[-MOST_CURVES:])


def cause_changes(births: pd.DataFrame, first: str, second: str, level: float) -> pd.DataFrame:
    """Share of newborns lost to each cause in two seasons.

    Returns
    -------
    One row a cause that occurs: cause, events_a, n_a, share_a, events_b, n_b, share_b, difference, low, high, p.
    """
    season = births["season"].astype(str)
    pair = births[season.isin([first, second])]
    later = (pair["season"].astype(str) == second).to_numpy()
    cause = pair["cause"].astype(object).where(pair["event"])
    rows = []
    for name in births["cause"].cat.categories:
        lost = (cause == name).to_numpy()
        if not lost.any():
            continue
        found = compare(
            lost, later, cluster=pair["cluster"].to_numpy(), measure="risk_difference", level=level
        )
        n = int((~later).sum()), int(later.sum())
        events = int(lost[~later].sum()), int(lost[later].sum())
        shares = events[0] / n[0], events[1] / n[1]
        numbers = (events[0], n[0], shares[0], events[1], n[1], shares[1])
        rows.append((str(name), *numbers, found.estimate, found.low, found.high, found.p))
    columns = [
        "cause",
        "events_a",
        "n_a",
        "share_a",
        "events_b",
        "n_b",
        "share_b",
        "difference",
        "low",
        "high",
        "p",
    ]
    return pd.DataFrame(rows, columns=columns)
