"""Newborns reared for each dam that was put to the male, the dams without a birth counted in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.estimates.results import critical


@dataclass(frozen=True)
class Joined:
    """``reared`` newborns not lost by the end, of ``dams`` put to the male; ``each`` reared for each of them, from
    ``low`` to ``high``.
    """

    reared: int
    dams: int
    each: float
    low: float
    high: float


def reared_per_joined(
    births: pd.DataFrame, expected: Mapping[str, int | None], *, level: float
) -> Joined | None:
    """Reared for each dam joined; None where those joined were not counted, or fewer than gave birth.

    Counted: newborns not lost by the end that is stated, those that left alive among them; a dam without a birth on
    record rears none.

    Method
    ------
    The mean over dams with its normal interval, the spread between dams taken as it is (a dam is a cluster).
    """
    dams, litters = expected.get("dams_put_to_male"), births["litter"].nunique()
    if not dams or dams < max(litters, 2):
        return None
    reared = (~births["lost"]).groupby(births["litter"]).sum().to_numpy(float)
    each = float(reared.sum()) / dams
    spread = (float((reared**2).sum()) - dams * each**2) / (dams - 1)
    margin = float(critical(level)) * math.sqrt(max(spread, 0.0) / dams)
    return Joined(int(reared.sum()), dams, each, max(0.0, each - margin), each + margin)
