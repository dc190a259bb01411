"""Loss against birth weight: a smooth curve, and the curve read at stated weights."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.smooth import smooth_share

POINTS = 60
READ_AT = (0.05, 0.25, 0.50, 0.75, 0.95)


@dataclass(frozen=True, eq=False)
class ByWeight:
    """Loss against birth weight.

    ``curve`` and ``read`` have value (kg), share, low, high: a fine grid, and the weights below which 5, 25,
    50, 75 and 95 % of newborns lie. ``weight_kg`` and ``lost`` are the newborns weighed; ``p`` tests whether
    loss goes with weight at all; ``notes`` say what could not be done.
    """

    curve: pd.DataFrame
    read: pd.DataFrame
    weight_kg: NDArray[np.float64]
    lost: NDArray[np.bool_]
    p: float
    notes: tuple[str, ...]


def loss_by_weight(births: pd.DataFrame, *, level: float = 0.95) -> ByWeight | None:
    """Smooth loss against birth weight; None where no curve can be drawn (too few weighed, or too few lost).

    Counted: newborns weighed, those born dead too. Species of very different weights are not mixed: None
    where several stand together.
    """
    if "birth_weight_kg" not in births or len(births["species"].unique()) > 1:
        return None
    weighed = births[births["birth_weight_kg"].notna()]
    weight, lost = weighed["birth_weight_kg"].to_numpy(float), weighed["lost"].to_numpy(bool)
    if len(weighed) < 2 or weight.min() == weight.max():
        return None
    first, last = np.quantile(weight, [0.005, 0.995])
    grid = np.linspace(float(first), float(last), POINTS)
    marks = np.unique(np.quantile(weight, READ_AT, method="nearest"))
    at = np.concatenate([grid, marks])
    found = smooth_share(weight, lost, cluster=weighed["cluster"].to_numpy(), at=at, level=level)
    frame = pd.DataFrame({"value": at, "share": found.share, "low": found.low, "high": found.high})
    if frame["share"].isna().all():
        return None
    curve, read = frame.iloc[:POINTS], frame.iloc[POINTS:].reset_index(drop=True)
    return ByWeight(curve, read, weight, lost, found.p, found.notes)
