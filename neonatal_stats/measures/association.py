"""Measures of association: each group held against one reference, clustered, never called a cause."""

from __future__ import annotations

from typing import Literal

import pandas as pd

from neonatal_stats.estimates.contrast import compare

Measure = Literal["risk_difference", "risk_ratio", "odds_ratio"]


def contrasts(
    newborns: pd.DataFrame,
    by: str,
    versus: str,
    event: str,
    *,
    measure: Measure = "risk_ratio",
    level: float = 0.95,
    cluster: str = "cluster",
) -> pd.DataFrame:
    """Every other level of a column held against the level `versus`: the ``contrasts`` frame.

    Returns
    -------
    Empty where the level `versus` does not occur; else one row a level that does.
    Frame: `by`, versus, measure, events, n, events_versus, n_versus, estimate, low, high, p, method, note.
    """
    known = newborns[newborns[event].notna() & newborns[by].notna()]
    present = set(known[by].dropna()) if (known[by] == versus).any() else set()
    levels = [one for one in known[by].cat.categories if one != versus and one in present]
    rows = []
    for one in levels:
        pair = known[known[by].isin([one, versus])]
        exposed = (pair[by] == one).to_numpy()
        died = pair[event].to_numpy(dtype=bool)
        found = compare(died, exposed, cluster=pair[cluster].to_numpy(), measure=measure, level=level)
        rows.append(
            {
                by: one,
                "versus": versus,
                "measure": measure,
                "events": int(died[exposed].sum()),
                "n": int(exposed.sum()),
                "events_versus": int(died[~exposed].sum()),
                "n_versus": int((~exposed).sum()),
                "estimate": found.estimate,
                "low": found.low,
                "high": found.high,
                "p": found.p,
                "method": found.method,
                "note": found.note,
            }
        )
    columns = [by, "versus", "measure", "events", "n", "events_versus", "n_versus", "estimate", "low", "high"]
    return pd.DataFrame(rows, columns=[*columns, "p", "method", "note"])
