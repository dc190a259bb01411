"""Losses litter by litter: how many dams lost none, some or all of what they bore."""

from __future__ import annotations

import pandas as pd


def litters_by_losses(births: pd.DataFrame) -> pd.DataFrame:
    """Litters by how many newborns they held and how many of those were lost.

    Returns
    -------
    One row a number born: born, litters, none, some, all (litters that lost none, some, all of theirs).

    Counted: every litter; a newborn of an unknown dam is a litter of its own.
    """
    whole = births.groupby("litter")["lost"].agg(["size", "sum"])
    born, lost = whole["size"].astype(int), whole["sum"].astype(int)
    table = pd.DataFrame(
        {"born": born, "none": lost == 0, "some": (lost > 0) & (lost < born), "all": lost == born}
    )
    counted = table.groupby("born")[["none", "some", "all"]].sum().astype(int)
    return counted.assign(litters=counted.sum(axis=1)).reset_index()
