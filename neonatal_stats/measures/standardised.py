"""Seasons (or farms) on one common mix of births, and the change between two of them split into mix and rate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.standardisation import MixAndRate, directly_standardised, mix_and_rate
from neonatal_stats.measures.rates import grouped

HALF = 0.5


@dataclass(frozen=True, eq=False)
class CommonMix:
    """The strata of births that a comparison is standardised by.

    ``columns`` those of the wanted ones that could be used, ``unusable`` the others; ``strata`` one row a stratum
    with the columns, n, share (of the standard: births of all seasons whose stratum every season has) and
    ``everywhere``; ``code`` each newborn's stratum, -1 where a column is missing.
    """

    columns: tuple[str, ...]
    unusable: tuple[str, ...]
    strata: pd.DataFrame
    code: NDArray[np.int64]

    @property
    def standard(self) -> NDArray[np.float64]:
        """Share of the standard in each stratum; 0 where a season has none of it."""
        return self.strata["share"].to_numpy(float)

    @property
    def placed(self) -> NDArray[np.bool_]:
        """Newborns whose stratum is known and occurs in every season."""
        everywhere: NDArray[np.bool_] = self.strata["everywhere"].to_numpy(bool)
        return (self.code >= 0) & everywhere[np.maximum(self.code, 0)]


def common_mix(births: pd.DataFrame, wanted: Sequence[str], by: str = "season") -> CommonMix:
    """The strata of the wanted columns, and the standard: all births in strata that occur in every season.

    A column that less than half of the newborns of some season have a value in cannot be standardised by, and
    one with a single level need not be.
    """
    usable = [name for name in wanted if _usable(births, name, by)]
    unusable = tuple(name for name in wanted if name not in usable)
    if not usable:
        empty = pd.DataFrame({"n": [len(births)], "share": [1.0], "everywhere": [True]})
        return CommonMix((), unusable, empty, np.zeros(len(births), dtype=np.int64))
    strata, code = grouped(births, usable)
    seasons, season = grouped(births, (by,))
    known = code >= 0
    counts = np.zeros((len(strata), len(seasons)))
    np.add.at(counts, (code[known], season[known]), 1)
    everywhere, n = np.asarray((counts > 0).all(axis=1)), counts.sum(axis=1).astype(int)
    share = np.where(everywhere, n, 0) / max(n[everywhere].sum(), 1)
    return CommonMix(tuple(usable), unusable, strata.assign(n=n, share=share, everywhere=everywhere), code)


def _usable(births: pd.DataFrame, name: str, by: str) -> bool:
    if name not in births or births[name].dropna().nunique() < 2:
        return False
    filled = births[name].notna().groupby(births[by].astype(str)).mean()
    return bool((filled >= HALF).all())


STANDARDISED = (
    "n_standardised", "n_not_standardised", "standardised", "standardised_low", "standardised_high",
)  # fmt: skip


def standardised(
    births: pd.DataFrame, mix: CommonMix, by: str = "season", *, level: float, cluster: str = "cluster"
) -> pd.DataFrame:
    """Share lost in each season had its births been mixed as in the standard.

    Returns
    -------
    One row a season: `by` and the columns of `STANDARDISED` (NaN where nothing could be standardised).

    Method
    ------
    Direct standardisation; clustered variance, Wilson's limits at the effective number of newborns.
    """
    rows = []
    for name in births[by].cat.remove_unused_categories().cat.categories:
        here = (births[by] == name).to_numpy()
        used = here & mix.placed
        found = directly_standardised(
            births.loc[used, "event"].to_numpy(int),
            mix.code[used],
            mix.standard,
            cluster=births.loc[used, cluster].to_numpy(),
            level=level,
        )
        counts = int(used.sum()), int(here.sum() - used.sum())
        rows.append((name, *counts, found.estimate, found.low, found.high))
    return pd.DataFrame(rows, columns=[by, *STANDARDISED])


def mix_and_rate_split(
    births: pd.DataFrame, mix: CommonMix, first: str, second: str, *, level: float
) -> tuple[MixAndRate, pd.DataFrame]:
    """The change in loss from one season to another, split into mix and rate, term by term.

    Newborns whose stratum is not known form a stratum of their own, so that the terms add up to the whole
    change.

    Returns
    -------
    (split, terms) : the split, and one row a stratum: the mix's columns (missing for "not known"), n_a, events_a,
    n_b, events_b, mix_term, rate_term.
    """
    pair = births["season"].isin([first, second]).to_numpy()
    code = np.where(mix.code < 0, len(mix.strata), mix.code)[pair]
    number, stratum = np.unique(code, return_inverse=True)
    later = (births.loc[pair, "season"] == second).to_numpy(int)
    event = births.loc[pair, "event"].to_numpy(int)
    cluster = births.loc[pair, "cluster"].to_numpy()
    labels = [str(one) for one in number]
    split = mix_and_rate(event, later, stratum, cluster=cluster, labels=labels, level=level)
    terms = mix.strata[list(mix.columns)].reindex(number).reset_index(drop=True)
    for name, side in (("a", 0), ("b", 1)):
        here = stratum[later == side], event[later == side]
        terms[f"n_{name}"] = np.bincount(here[0], minlength=len(number))
        terms[f"events_{name}"] = np.bincount(*here, minlength=len(number)).astype(int)
    return split, terms.assign(mix_term=split.mix_terms, rate_term=split.rate_terms)
