"""Digit preference: numbers that people round, so that times and weights look more exact than they are."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.proportion import wilson

Flags = NDArray[np.bool_]

EXPECTED = {
    "time of birth on the quarter hour": 4 / 60,
    "time of death on the quarter hour": 4 / 60,
    "birth weight on the half kilogram": 2 / 10,
}
MANY_TIMES = 2.0
"""A share this many times the expected one is called heaped."""


def heaping(births: pd.DataFrame, *, level: float = 0.95) -> pd.DataFrame:
    """How many values fall on round numbers, against how many would if nobody rounded.

    Returns
    -------
    ``rates`` frame with `what`, expected (share) and heaped (yes-no): one row a kind of value that was
    recorded.

    Method
    ------
    Minutes spread evenly over the hour would fall on a quarter hour 4 times in 60; weights to 0.1 kg on a
    half kilogram 2 times in 10. Heaped: the interval lies above twice that.
    """
    round_numbers = {
        "time of birth on the quarter hour": _on_quarter(_timed(births)),
        "time of death on the quarter hour": _on_quarter(births.get("died_at")),
        "birth weight on the half kilogram": _on_half(births.get("birth_weight_kg")),
    }
    rows = []
    for what, hits in round_numbers.items():
        if len(hits):
            low, high = (float(limit) for limit in wilson(hits.sum(), len(hits), level=level))
            heaped = low > MANY_TIMES * EXPECTED[what]
            rows.append((what, int(hits.sum()), len(hits), hits.mean(), low, high, EXPECTED[what], heaped))
    columns = ["what", "events", "n", "share", "low", "high", "expected", "heaped"]
    return pd.DataFrame(rows, columns=columns)


def _timed(births: pd.DataFrame) -> pd.Series | None:
    return births.loc[births["born_precision"] == "time", "born"] if "born_at" in births else None


def _on_quarter(moments: pd.Series | None) -> Flags:
    if moments is None:
        return np.zeros(0, dtype=bool)
    known = pd.to_datetime(moments).dropna()
    return np.asarray(known.dt.minute % 15 == 0)


def _on_half(weights_kg: pd.Series | None) -> Flags:
    """Yes where a weight is a whole or a half kilogram."""
    if weights_kg is None:
        return np.zeros(0, dtype=bool)
    tenths = np.round(weights_kg.dropna().to_numpy(float) * 10, 6)
    return np.asarray(np.isclose(tenths % 5, 0))
