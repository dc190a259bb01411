"""Do groups differ? Survival over all ages, and the losses of one cause with the others competing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.estimates.curve_tests import gray_test, logrank
from neonatal_stats.estimates.results import Test
from neonatal_stats.estimates.risk_tests import clustered_test
from neonatal_stats.measures.groups import grouped


def survival_differs(newborns: pd.DataFrame, by: Sequence[str], *, cluster: str = "cluster") -> Test:
    """Log-rank test between groups, its variance clustered; only newborns with a known age count."""
    known, code, n_groups = _known(newborns, by)
    return logrank(
        known["age_h"].to_numpy(float),
        known["died"].to_numpy(bool),
        code,
        cluster=known[cluster].to_numpy(),
        n_groups=n_groups,
    )


def risk_differs(newborns: pd.DataFrame, by: Sequence[str], event: str, *, cluster: str = "cluster") -> Test:
    """Chi-square test that the groups share one risk, adjusted for litters (Rao & Scott 1992)."""
    known = newborns[newborns[event].notna()]
    _, code = grouped(known, by)
    kept = code >= 0
    known = known[kept]
    return clustered_test(known[event].to_numpy(bool), code[kept], known[cluster].to_numpy())


def cause_differs(newborns: pd.DataFrame, by: Sequence[str], cause: str, *, cluster: str = "cluster") -> Test:
    """Gray's test between groups for one cause, its variance clustered."""
    known, code, n_groups = _known(newborns, by)
    outcome = outcomes(known)
    number = list(known["cause"].cat.categories).index(cause) + 1
    return gray_test(
        known["age_h"].to_numpy(float),
        outcome,
        code,
        number,
        cluster=known[cluster].to_numpy(),
        n_groups=n_groups,
    )


def outcomes(newborns: pd.DataFrame) -> np.ndarray:
    """0 where alive, else the number of the cause, from 1, in the causes' printed order."""
    died = newborns["died"].to_numpy(bool)
    return np.where(died, newborns["cause"].cat.codes.to_numpy() + 1, 0)


def _known(newborns: pd.DataFrame, by: Sequence[str]) -> tuple[pd.DataFrame, np.ndarray, int]:
    known = newborns[newborns["age_known"].astype(bool)]
    groups, code = grouped(known, by)
    kept = code >= 0
    return known[kept], code[kept], len(groups)
