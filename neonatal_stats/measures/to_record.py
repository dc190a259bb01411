"""How completely the columns that open questions were recorded, so that next season can answer more."""

from __future__ import annotations

import pandas as pd

ENOUGH = 0.80
"""Share recorded from which a column can carry its question."""

WANTED = (
    ("born_at", "all"),
    ("birth_weight_kg", "all"),
    ("delivery", "all"),
    ("dam_parity", "all"),
    ("sex", "all"),
    ("suck_reflex", "alive"),
    ("stood_after_min", "alive"),
    ("fed_after_min", "alive"),
    ("mothered_up", "alive"),
    ("died_at", "lost"),
    ("cause", "lost"),
    ("cause_basis", "lost"),
    ("last_seen_at", "living"),
)
"""Columns that open a chapter, and of whom they are asked: all, born alive, lost after a live birth, not lost."""


def to_record(births: pd.DataFrame) -> pd.DataFrame:
    """Recorded newborns per wanted column: column, of, recorded, n, share, enough."""
    alive = ~births["stillborn"].astype(bool)
    died = births["died"].astype(bool)
    asked = {"all": alive | True, "alive": alive, "lost": died & alive, "living": ~died}
    rows = []
    for column, of in WANTED:
        here = births[asked[of]]
        recorded = int(_recorded(here, column).sum())
        share = recorded / len(here) if len(here) else float("nan")
        rows.append((column, of, recorded, len(here), share, not share < ENOUGH))
    return pd.DataFrame(rows, columns=["column", "of", "recorded", "n", "share", "enough"])


def _recorded(births: pd.DataFrame, column: str) -> pd.Series:
    """A value that says something: a time for a time of birth, a cause that is not "unknown"."""
    if column == "born_at":
        return births["born_precision"].eq("time")
    if column == "last_seen_at":
        seen = [births[name].notna() for name in ("last_seen_at", "left_at") if name in births]
        return pd.concat(seen, axis=1).any(axis=1) if seen else pd.Series(False, index=births.index)
    if column == "died_at":
        return births["age_known"].astype(bool)
    if column not in births:
        return pd.Series(False, index=births.index)
    values = births[column].astype(object)
    extra = f"{column}_not_by"
    known = values.notna() & ~values.isin(["unknown", "none", "not checked", "not judged"])
    return known | births[extra].notna() if extra in births else known
