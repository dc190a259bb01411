"""Groups held against one of them, factor by factor, with how many comparisons were tried allowed for."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.measures.association import contrasts
from neonatal_stats.measures.rates import rates

COLUMNS = (
    "factor", "group", "events", "n", "share", "low", "high",
    "versus", "events_versus", "n_versus", "share_versus", "ratio", "ratio_low", "ratio_high", "p", "q", "note",
)  # fmt: skip
TEXT = ("factor", "group", "versus", "note")


def compared(
    newborns: pd.DataFrame,
    references: Mapping[str, str | None],
    event: str,
    *,
    level: float = 0.95,
    minimum: int = 10,
    cluster: str = "cluster",
) -> pd.DataFrame:
    """Share with an event in every group of every factor, and its risk ratio against the factor's reference
    group.

    Parameters
    ----------
    newborns : births with the factors, `event` and `cluster`.
    references : each factor (a column) and its reference group; None takes the largest group.
    event : a yes-no column; newborns where it is missing are not counted.
    minimum : groups with fewer newborns are shown, not compared.

    Returns
    -------
    One row a factor and group, in the groups' own order: the columns of `COLUMNS`; the ratio is missing in
    the reference group and in groups not compared.

    Method
    ------
    Wilson interval at n / design effect; clustered risk ratio; q of Benjamini & Hochberg (1995) over all
    comparisons made here.
    """
    parts = [
        _factor(newborns, factor, given, event, level, minimum, cluster)
        for factor, given in references.items()
    ]
    parts = [part for part in parts if len(part) > 1]
    if not parts:
        return pd.DataFrame({name: pd.Series(dtype=object if name in TEXT else float) for name in COLUMNS})
    whole = pd.concat(parts, ignore_index=True)
    whole["q"] = np.nan
    tested = whole["p"].notna()
    if tested.any():
        whole.loc[tested, "q"] = np.asarray(
            benjamini_hochberg(whole.loc[tested, "p"].to_numpy()), dtype=float
        )
    return whole[list(COLUMNS)]


def _factor(
    newborns: pd.DataFrame,
    factor: str,
    given: str | None,
    event: str,
    level: float,
    minimum: int,
    cluster: str,
) -> pd.DataFrame:
    if factor not in newborns:
        return pd.DataFrame()
    frame = newborns[newborns[factor].notna() & newborns[event].notna()]
    if frame.empty:
        return pd.DataFrame()
    frame = frame.assign(**{factor: _ordered(frame[factor])})
    shares = rates(frame, (factor,), event, level=level, cluster=cluster)
    big = shares[shares["n"] >= minimum]
    reference = _reference(big, factor, given)
    found = shares.drop(columns="design_effect").rename(columns={factor: "group"})
    found["group"] = found["group"].astype(str)
    found.insert(0, "factor", factor)
    compared_with = frame[frame[factor].isin(list(big[factor]))] if reference else frame.head(0)
    against = _contrasts(compared_with, factor, reference, event, level, cluster)
    return found.merge(against, on="group", how="left")


def _ordered(values: pd.Series) -> pd.Series:
    if isinstance(values.dtype, pd.CategoricalDtype):
        return values
    text = values.map({True: "yes", False: "no"}) if values.dtype == "boolean" else values.astype(str)
    return pd.Series(pd.Categorical(text, sorted(text.unique()), ordered=True), index=values.index)


def _reference(big: pd.DataFrame, factor: str, given: str | None) -> str:
    """The reference group: the one given, else the largest; "" where fewer than two groups are large
    enough.
    """
    if len(big) < 2:
        return ""
    levels = big[factor].astype(str)
    if given is not None and given in set(levels):
        return given
    return str(levels.iloc[int(big["n"].to_numpy().argmax())])


def _contrasts(
    frame: pd.DataFrame, factor: str, reference: str, event: str, level: float, cluster: str
) -> pd.DataFrame:
    names = {"estimate": "ratio", "low": "ratio_low", "high": "ratio_high", factor: "group"}
    kept = ["group", "versus", "events_versus", "n_versus", "share_versus"]
    kept += ["ratio", "ratio_low", "ratio_high", "p", "note"]
    if not reference:
        return pd.DataFrame({name: pd.Series(dtype=object if name in TEXT else float) for name in kept})
    found = contrasts(frame, factor, reference, event, level=level, cluster=cluster).rename(columns=names)
    share = found["events_versus"] / found["n_versus"]
    return found.assign(group=found["group"].astype(str), share_versus=share)[kept]
