"""Checks of the first hours as predictors of death, among newborns alive when the check was due."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.diagnostic import screening
from neonatal_stats.measures.milestones import alive_at, met

MEASURES = (
    "sensitivity",
    "specificity",
    "positive_predictive_value",
    "negative_predictive_value",
    "positive_likelihood_ratio",
    "negative_likelihood_ratio",
)
COLUMNS = (
    "key", "n", "lost", "not_known",
    "events", "n_failed", "events_passed", "n_passed", "ratio", "ratio_low", "ratio_high", "p",
    *(f"{name}{side}" for name in MEASURES for side in ("", "_low", "_high")),
)  # fmt: skip


def predictors(
    newborns: pd.DataFrame,
    states: Mapping[str, pd.Series],
    due_h: Mapping[str, float],
    lost: str,
    *,
    level: float = 0.95,
    minimum: int = 10,
    cluster: str = "cluster",
) -> pd.DataFrame:
    """How well "not met" at the due age foretold death in the window.

    Parameters
    ----------
    newborns : born alive, with `lost` and `cluster`.
    states : for each check, the states of `measures.milestones`.
    due_h : for each check, the age at which it was due.
    lost : a yes-no column, missing where the outcome in the window is not known.

    Returns
    -------
    One row a check with the columns of `COLUMNS`: ``events`` of ``n_failed`` that had not met it were lost,
    ``events_passed`` of ``n_passed`` that had; ``not_known`` were checked but their outcome in the window is
    not known.

    Counted
    -------
    Alive when the check was due, observed, and followed through the window. A death known only to the hour
    counts as after the check when it falls in the hour of the check.

    Method
    ------
    Clustered screening measures; clustered risk ratio of those that had not against those that had.
    """
    rows = [
        _row(key, newborns, state, due_h[key], lost, level, cluster)
        for key, state in states.items()
        if met(state).notna().any()
    ]
    return pd.DataFrame([row for row in rows if row], columns=list(COLUMNS))


def _row(
    key: str, newborns: pd.DataFrame, state: pd.Series, due_h: float, lost: str, level: float, cluster: str
) -> dict[str, object]:
    passed = met(state)
    checked = passed.notna() & alive_at(newborns, due_h)
    known = checked & newborns[lost].notna()
    if not known.any():
        return {}
    failed = ~passed[known].to_numpy(dtype=bool)
    died = newborns.loc[known, lost].to_numpy(dtype=bool)
    litter = newborns.loc[known, cluster].to_numpy()
    counts = {
        "key": key,
        "n": len(died),
        "lost": int(died.sum()),
        "not_known": int(checked.sum() - known.sum()),
        "events": int(died[failed].sum()),
        "n_failed": int(failed.sum()),
        "events_passed": int(died[~failed].sum()),
        "n_passed": int((~failed).sum()),
    }
    return counts | _ratio(died, failed, litter, level) | _screened(failed, died, litter, level)


def _ratio(died: np.ndarray, failed: np.ndarray, litter: np.ndarray, level: float) -> dict[str, object]:
    found = compare(died, failed, cluster=litter, measure="risk_ratio", level=level)
    return {"ratio": found.estimate, "ratio_low": found.low, "ratio_high": found.high, "p": found.p}


def _screened(failed: np.ndarray, died: np.ndarray, litter: np.ndarray, level: float) -> dict[str, object]:
    found = screening(failed, died, cluster=litter, level=level)
    cells: dict[str, object] = {}
    for name in MEASURES:
        one = getattr(found, name)
        cells |= {name: one.estimate, f"{name}_low": one.low, f"{name}_high": one.high}
    return cells
