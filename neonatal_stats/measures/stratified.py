"""A group held against another within strata, so that another mix does not pass for a difference."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.stratified import mantel_haenszel
from neonatal_stats.measures.groups import grouped


def risk_differences(
    newborns: pd.DataFrame, comparisons: pd.DataFrame, event: str, *, level: float = 0.95
) -> pd.DataFrame:
    """Risk difference of each comparison of a `compared` frame.

    Returns
    -------
    One row a row of `comparisons`, its index kept: difference, difference_low, difference_high (shares);
    missing where nothing was compared.
    """
    found = [_difference(newborns, row, event, level) for row in _named(comparisons)]
    columns = ["difference", "difference_low", "difference_high"]
    return pd.DataFrame(found, columns=columns, index=comparisons.index, dtype=float)


def adjusted_ratios(
    newborns: pd.DataFrame,
    comparisons: pd.DataFrame,
    event: str,
    *,
    within: Sequence[str] = ("birth_type",),
    level: float = 0.95,
) -> pd.DataFrame:
    """Mantel-Haenszel risk ratio of each comparison of a `compared` frame, within strata.

    Returns
    -------
    One row a row of `comparisons`: adjusted, adjusted_low, adjusted_high, agree_p (do the strata agree?);
    missing where nothing was compared, where there are no strata or the factor is itself one, or where no
    stratum holds both groups.

    Method
    ------
    Mantel-Haenszel with the variance summed over clusters; Woolf's test of homogeneity.
    """
    found = [_adjusted(newborns, row, event, within, level) for row in _named(comparisons)]
    columns = ["adjusted", "adjusted_low", "adjusted_high", "agree_p"]
    return pd.DataFrame(found, columns=columns, index=comparisons.index, dtype=float)


def _named(comparisons: pd.DataFrame) -> list[dict[str, object]]:
    cells = zip(*(comparisons[name] for name in ("factor", "group", "versus")), strict=True)
    return [{"factor": factor, "group": group, "versus": versus} for factor, group, versus in cells]


def _pair(newborns: pd.DataFrame, row: dict[str, object], event: str) -> pd.DataFrame:
    """The newborns of the two groups, with `exposed`; empty where nothing was compared."""
    factor, group, versus = str(row["factor"]), row["group"], row["versus"]
    if not isinstance(versus, str):
        return newborns.head(0)
    level = newborns[factor].astype(str)
    pair = newborns[newborns[event].notna() & level.isin([str(group), versus])]
    return pair.assign(exposed=level[pair.index] == str(group))


def _difference(
    newborns: pd.DataFrame, row: dict[str, object], event: str, level: float
) -> tuple[float, float, float]:
    pair = _pair(newborns, row, event)
    if pair.empty:
        return np.nan, np.nan, np.nan
    found = compare(
        pair[event].to_numpy(bool),
        pair["exposed"].to_numpy(bool),
        cluster=pair["cluster"].to_numpy(),
        measure="risk_difference",
        level=level,
    )
    return found.estimate, found.low, found.high


def _adjusted(
    newborns: pd.DataFrame, row: dict[str, object], event: str, within: Sequence[str], level: float
) -> tuple[float, float, float, float]:
    nothing = (np.nan, np.nan, np.nan, np.nan)
    pair = _pair(newborns, row, event)
    if pair.empty or not within or row["factor"] in within:
        return nothing
    _, stratum = grouped(pair, within)
    pair, stratum = pair[stratum >= 0], stratum[stratum >= 0]
    both = pd.Series(pair["exposed"].to_numpy(bool)).groupby(stratum).nunique()
    if not (both == 2).any():
        return nothing
    found, agree = mantel_haenszel(
        pair[event].to_numpy(bool),
        pair["exposed"].to_numpy(bool),
        stratum,
        cluster=pair["cluster"].to_numpy(),
        measure="risk_ratio",
        level=level,
    )
    return found.estimate, found.low, found.high, agree.p
