"""One season out of several, for the chapters that speak of this season only."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from neonatal_stats.season.model import Season


def in_focus(season: Season, name: str) -> Season:
    """The births, feeds and samples of the season of that name; weather, problems and balances stay whole.

    Raises
    ------
    ValueError : where the records hold no such season; the sentence names those they hold.
    """
    if name not in season.seasons:
        raise ValueError(f"season: no records of {name!r}; the records hold {', '.join(season.seasons)}")
    births = season.births[season.births["season"].astype(str) == name]
    position = pd.Series(np.arange(len(births)), index=births["newborn"].to_numpy())
    births = births.reset_index(drop=True).assign(newborn=np.arange(len(births)))
    return replace(
        season,
        births=births,
        feeds=_of_these(season.feeds, position),
        samples=_of_these(season.samples, position),
    )


def _of_these(rows: pd.DataFrame, position: pd.Series) -> pd.DataFrame:
    if rows.empty:
        return rows
    kept = rows[rows["newborn"].isin(position.index)].reset_index(drop=True)
    return kept.assign(newborn=position.loc[kept["newborn"]].to_numpy())
