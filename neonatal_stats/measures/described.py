"""Who the dams and newborns were: the table that every report of a cohort begins with."""

from __future__ import annotations

import numpy as np
import pandas as pd

NEWBORN_TERMS = ("species", "birth_type", "sex", "delivery", "birth_place")
DAM_TERMS = ("breed", "parity_class")
MEASURED = ("birth_weight_kg",)
MOST_TERMS = 12


def described(births: pd.DataFrame) -> pd.DataFrame:
    """Dams and newborns by what was recorded of them, in each season.

    Returns
    -------
    One row a season, level ("newborns", "dams", "litters"), about (a column) and term: events, n (with a
    value), missing; for a measured column term is "" and median, low, high (middle half) are given instead of
    events.

    Counted
    -------
    Newborns once each; of dams the first row of each litter. Columns nobody filled (a species of "" is
    one not known) are left out, and terms beyond the twelve commonest of a column are one row "other".
    """
    litters = births.drop_duplicates("litter")
    parts = [_counts(births, name, "newborns") for name in NEWBORN_TERMS]
    parts += [_measured(births, name) for name in MEASURED]
    parts += [_counts(litters, name, "dams") for name in DAM_TERMS]
    kept = [part for part in parts if len(part)]
    return pd.concat(kept, ignore_index=True) if kept else pd.DataFrame(columns=["season", "level", "about"])


def _counts(rows: pd.DataFrame, name: str, level: str) -> pd.DataFrame:
    values = rows[name].mask(rows[name].astype(object) == "") if name in rows else pd.Series(dtype=object)
    if not values.notna().any():
        return pd.DataFrame()
    order = _order(values)
    text = values.astype(object).where(values.isna() | values.astype(str).isin(order), "other")
    out = []
    for season, mine in text.groupby(rows["season"], observed=True):
        n = int(mine.notna().sum())
        counted = mine.dropna().astype(str).value_counts()
        for term in order:
            out.append((season, level, name, term, int(counted.get(term, 0)), n, len(mine) - n))
    return pd.DataFrame(out, columns=["season", "level", "about", "term", "events", "n", "missing"])


def _order(values: pd.Series) -> list[str]:
    """Printed order: a categorical's own, with the terms that occur; else the commonest first."""
    present = values.dropna().astype(str)
    if isinstance(values.dtype, pd.CategoricalDtype):
        return [str(term) for term in values.cat.categories if (present == str(term)).any()]
    common = list(present.value_counts().sort_index().sort_values(ascending=False, kind="stable").index)
    return common if len(common) <= MOST_TERMS else [*common[: MOST_TERMS - 1], "other"]


def _measured(births: pd.DataFrame, name: str) -> pd.DataFrame:
    if name not in births or not births[name].notna().any():
        return pd.DataFrame()
    out = []
    for season, mine in births[name].groupby(births["season"], observed=True):
        known = mine.dropna().to_numpy(float)
        low, median, high = np.quantile(known, [0.25, 0.5, 0.75]) if len(known) else (np.nan,) * 3
        out.append((season, "newborns", name, "", len(known), len(mine) - len(known), median, low, high))
    columns = ["season", "level", "about", "term", "n", "missing", "median", "low", "high"]
    return pd.DataFrame(out, columns=columns)
