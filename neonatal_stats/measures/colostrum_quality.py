"""Colostrum as it was tested: Brix or IgG of each milking or feed, held against the mark of its species."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.measures.rates import one_below_another
from neonatal_stats.season.following.follow import by_place, ordered, parity_class
from neonatal_stats.season.following.placing import NOBODY
from neonatal_stats.season.model import Season
from neonatal_stats.vocabulary.passive_transfer import BRIX, IGG, Mark, mark
from neonatal_stats.vocabulary.terms import FEED_SOURCES, MILKED, PARITY_CLASSES

TESTED_BY = (BRIX, IGG)
"""The measures of colostrum, the one that is asked first before the other."""
MILKED_WITHIN_H = (2.0, 6.0, 12.0)


def marks(season: Season) -> tuple[Mark, ...]:
    """The mark of every measure of colostrum with a value for which the species has one."""
    held = (mark(season.species, one) for one in TESTED_BY if measured(season, one))
    return tuple(one for one in held if one is not None)


def measured(season: Season, measure: str) -> bool:
    """True where any colostrum, of a milking or of a feed, has a value of this measure."""
    return any(
        measure in frame and bool(frame[measure].notna().any()) for frame in (season.colostrum, season.feeds)
    )


def tests(season: Season, measure: str) -> pd.DataFrame:
    """Every test of colostrum by one measure.

    Counted
    -------
    Rows of the colostrum table with a value; and feeds with one, of newborns that the colostrum table does not name, so
    that a test written down in both is counted once.

    Returns
    -------
    One row a test: value, dam_id, newborn (-1 where nobody is named), newborn_id, season, source, parity_class, milked
    (ordered classes), hours (NaN where not known to the hour), cluster (the dam's litter; a row that names none is its
    own).
    """
    milked, fed = season.colostrum, season.feeds
    milked = milked[milked[measure].notna()] if measure in milked else milked.head(0)
    fed = fed[fed[measure].notna()] if measure in fed else fed.head(0)
    if len(milked) and len(fed):
        fed = fed[~fed["newborn"].isin(milked["newborn"])]
    births = season.births
    of_newborn = fed["newborn"].map(births["litter"]) if len(fed) else pd.Series(dtype=float)
    rows = one_below_another(_taken(milked, measure), _taken(fed, measure).assign(litter=of_newborn))
    return _grouped(rows, births)


KEPT: tuple[str, ...] = (
    "dam_id",
    "dam_parity",
    "newborn",
    "newborn_id",
    "litter",
    "season",
    "source",
    "age_h",
)
KEPT += ("age_low_h", "age_high_h")


def _taken(rows: pd.DataFrame, measure: str) -> pd.DataFrame:
    """What a test says; hours from birth to milking are those of a milking alone, not of a feed."""
    names = [name for name in KEPT if not (name.startswith("age") and "fed_at" in rows)]
    taken = rows.reindex(columns=names).astype(object)
    return taken.assign(value=rows[measure].astype(float) if measure in rows else np.nan)


def _grouped(rows: pd.DataFrame, births: pd.DataFrame) -> pd.DataFrame:
    numbers = ("newborn", "litter", "dam_parity", "age_h", "age_low_h", "age_high_h")
    rows = rows.assign(**{name: pd.to_numeric(rows[name]).astype(float) for name in numbers})
    rows = rows.assign(**{name: rows[name].fillna(NOBODY).astype(np.int64) for name in ("newborn", "litter")})
    own = pd.factorize(rows["litter"])[0]
    alone = (rows["litter"] == NOBODY).to_numpy()
    made = rows.assign(cluster=np.where(alone, len(rows) + np.arange(len(rows)), own))
    if len(births):
        by_litter = births.drop_duplicates("litter").set_index("litter")
        for name in ("dam_id", "dam_parity"):
            if name in by_litter:
                told = made["litter"].map(by_litter[name])
                made[name] = made[name].where(made[name].notna(), told)
    made["parity_class"] = ordered(parity_class(made["dam_parity"]).astype(object), PARITY_CLASSES)
    made["source"] = ordered(made["source"], FEED_SOURCES)
    made["hours"] = made["age_h"]
    made["milked"] = milked_class(
        made["hours"].fillna(made["age_low_h"]), made["hours"].fillna(made["age_high_h"])
    )
    return made.reset_index(drop=True)


def milked_class(low_h: pd.Series, high_h: pd.Series) -> pd.Series:
    """The class of the hours from birth to milking; missing where the two ends lie in different ones.

    >>> milked_class(pd.Series([2.0, 0.0]), pd.Series([2.0, 24.0])).tolist()
    ['within 2 h', nan]
    """
    ends = [np.searchsorted(MILKED_WITHIN_H, end.to_numpy(float), side="left") for end in (low_h, high_h)]
    known = low_h.notna().to_numpy() & high_h.notna().to_numpy() & (ends[0] == ends[1])
    return by_place(np.where(known, ends[0], -1), MILKED)
