"""Are the records whole: in every season, and for the dead as well as for the living?"""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from neonatal_stats.measures.association import contrasts


def missing_by_season(births: pd.DataFrame, columns: Sequence[str]) -> pd.DataFrame:
    """Newborns without a value in each column, by season.

    Returns
    -------
    One row a column and season: column, season, events (without a value), n, share.
    """
    if not len(columns) or births.empty:
        return pd.DataFrame(columns=["column", "season", "events", "n", "share"])
    season = births["season"]
    n = season.groupby(season, observed=True).size()
    empty = pd.DataFrame({column: births[column].isna() for column in columns})
    empty = empty.groupby(season, observed=True).sum()
    long = empty.rename_axis("season").reset_index().melt("season", var_name="column", value_name="events")
    sizes = long["season"].map(n).astype(int)
    place = long["column"].map({column: place for place, column in enumerate(columns)})
    frame = long.assign(n=sizes, share=long["events"] / sizes, place=place)
    frame = frame.sort_values(["place", "season"], ignore_index=True).drop(columns="place")
    return frame.astype({"season": str})


def recorded_by_outcome(births: pd.DataFrame, columns: Sequence[str], *, level: float = 0.95) -> pd.DataFrame:
    """Share of newborns with a value in each column, of those lost against those not lost.

    Returns
    -------
    ``contrasts`` frame (risk difference of having a value) with `column`; one row a column, none where all or
    none of the newborns were lost.
    """
    outcome = births["died"].astype(bool).map({True: "lost", False: "not lost"})
    asked = pd.DataFrame(
        {
            "outcome": pd.Categorical(outcome, ["not lost", "lost"], ordered=True),
            "cluster": births["cluster"],
        }
    )
    parts = [
        contrasts(
            asked.assign(filled=births[column].notna()),
            "outcome",
            "not lost",
            "filled",
            measure="risk_difference",
            level=level,
        ).assign(column=column)
        for column in columns
        if outcome.nunique() == 2
    ]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=["column", *CONTRAST])


CONTRAST = ("events", "n", "events_versus", "n_versus", "estimate", "low", "high", "p")
