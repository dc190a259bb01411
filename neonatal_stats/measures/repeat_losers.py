"""Dams that lost newborns in more than one season, beside how many chance alone would give."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.estimates.intraclass import RepeatLosers, repeat_losers

SHUFFLES = 500
OF_CHANCE = 0.95  # the share of the draws that `low` and `high` enclose, whatever the review's level
NO_DAM = RepeatLosers(
    0, float("nan"), float("nan"), float("nan"), float("nan"), 0, "no dam seen in two seasons"
)


def repeat_losing_dams(births: pd.DataFrame) -> RepeatLosers:
    """Dams that lost newborns in two seasons or more.

    Counted: newborns of known dams with `event`; losses are dealt by chance within season and litter size.
    """
    known = births[births["dam_id"].notna()] if "dam_id" in births else births.head(0)
    if known.empty or known["season"].nunique() < 2:
        return NO_DAM
    kind = known["birth_type"].cat.codes.to_numpy() + 1 if "birth_type" in known else None
    return repeat_losers(
        known["event"].to_numpy(int),
        known["dam"].to_numpy(),
        pd.factorize(known["season"])[0],
        stratum=kind,
        level=OF_CHANCE,
        shuffles=SHUFFLES,
    )
