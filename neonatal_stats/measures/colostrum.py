"""Colostrum given by hand, and colostrum tested.

What each newborn got of what was written down, and whether it was enough; then Brix or IgG of each milking or feed,
held against the mark of its species.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.measures.rates import one_below_another
from neonatal_stats.season.following.follow import by_place, ordered, parity_class
from neonatal_stats.season.following.placing import NOBODY
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.passive_transfer import BRIX, BRIX_TO_IGG, CALF_IGG_MASS_G, IGG, Mark, mark
from neonatal_stats.vocabulary.published import SUCKLED
from neonatal_stats.vocabulary.terms import FEED_SOURCES, MILKED, PARITY_CLASSES

BY_WEIGHT, FIRST_FEED, SMALL_FEED, IGG_MASS = "by weight", "first feed", "small first feed", "IgG mass"
FIRST_BY_WEIGHT = "first feed by weight"
"""The targets, the first of which anything is known leads."""
CALVES, SMALL = ("cattle", "buffalo"), ("sheep", "goat")
"""Species whose first feed is held against litres, and those of which so little as a tenth of one already helps."""

Target = tuple[str, pd.Series, pd.Series]
"""A target's name, the newborns of which it is known, and whether each met it."""


def measured(feeds: pd.DataFrame) -> bool:
    """True where any feed has a volume."""
    return not feeds.empty and "volume_ml" in feeds and bool(feeds["volume_ml"].notna().any())


def ready(intake: pd.DataFrame) -> pd.DataFrame:
    """The newborns of `intake_by` with every feed measured and weighed."""
    return intake[intake["complete"] & intake["weight_kg"].notna() & intake["volume_ml"].notna()]


def targets_met(
    births: pd.DataFrame, feeds: pd.DataFrame, intake: pd.DataFrame, species: str, settings: Settings
) -> tuple[Target, ...]:
    """Who met each target of the species, of those of whom it is known.

    Parameters
    ----------
    intake : as `intake_by` gives it, by the age of the setting colostrum_amount_by_h.

    Counted
    -------
    Against the share of weight: newborns whose every feed by then has a volume and whose birth weight is known. Against
    a volume of the first feed: first feeds with a volume, for calves that are not suckled also against the share of
    their weight, where that is known. Against an IgG mass: newborns with one.
    """
    marks, all_fed = settings.marks, ready(intake)
    first = first_feeds(feeds).dropna(subset=["volume_ml"])
    found = [
        (BY_WEIGHT, all_fed["newborn"], _by_weight(all_fed["volume_ml"], all_fed["weight_kg"], settings))
    ]
    if species in CALVES:
        found.append((FIRST_FEED, first["newborn"], first["volume_ml"] >= marks.calf_first_feed_ml))
    if species in CALVES and settings.kind not in SUCKLED:
        weighed = first.assign(kg=first["newborn"].map(weights(births))).dropna(subset=["kg"])
        met = _by_weight(weighed["volume_ml"], weighed["kg"], settings)
        found.append((FIRST_BY_WEIGHT, weighed["newborn"], met))
    if species == "cattle":
        massed = intake[intake["igg_g"].notna()]
        found.append((IGG_MASS, massed["newborn"], massed["igg_g"] >= CALF_IGG_MASS_G[0]))
    if species in SMALL:
        found.append((SMALL_FEED, first["newborn"], first["volume_ml"] >= marks.small_first_feed_ml))
    return tuple(found)


def _by_weight(volume_ml: pd.Series, weight_kg: pd.Series, settings: Settings) -> pd.Series:
    """At least the share of the weight that the settings ask for."""
    return volume_ml >= 1000 * settings.marks.colostrum_share_of_weight * weight_kg - 1e-9


def weights(births: pd.DataFrame) -> pd.Series:
    """Birth weights in kg by the number of the newborn; none where nobody weighed."""
    return births.set_index("newborn").get("birth_weight_kg", pd.Series(dtype=float)).astype(float)


def usable(feeds: pd.DataFrame) -> pd.DataFrame:
    """Feeds after birth whose newborn and age are known, in time order."""
    if feeds.empty or "age_h" not in feeds:
        return feeds.head(0).assign(newborn=pd.Series(dtype=int), age_h=pd.Series(dtype=float))
    known = feeds[(feeds["age_h"] >= 0) & feeds["newborn"].notna()]
    return known.sort_values(["newborn", "age_h"], kind="stable").reset_index(drop=True)


def first_feeds(feeds: pd.DataFrame) -> pd.DataFrame:
    """The earliest feed of each newborn, with its volume, source and person where written."""
    return usable(feeds).drop_duplicates("newborn")


def igg_mass_g(feeds: pd.DataFrame, species: str) -> pd.Series:
    """IgG in each feed, g: volume times measured IgG, or times IgG from Brix where the species has an
    equation.

    Missing where the volume or both measures are missing. Example: 2000 ml at 75 g/l is 150 g.
    """
    blank = pd.Series(np.nan, index=feeds.index)
    igg = feeds["igg_g_per_l"].astype(float) if "igg_g_per_l" in feeds else blank
    brix = feeds["brix_pct"].astype(float) if "brix_pct" in feeds else blank
    conversion = BRIX_TO_IGG.get(species)
    if conversion is not None:
        igg = igg.where(igg.notna(), (conversion.slope * brix + conversion.intercept).clip(lower=0.0))
    volume = feeds["volume_ml"].astype(float) if "volume_ml" in feeds else blank
    return volume / 1000 * igg


def intake_by(births: pd.DataFrame, feeds: pd.DataFrame, by_h: float, species: str) -> pd.DataFrame:
    """Volume and IgG taken by an age, per newborn fed and written down.

    Parameters
    ----------
    births : with newborn and birth_weight_kg.
    feeds : with newborn, age_h, volume_ml.
    by_h : feeds up to and at this age count.

    Returns
    -------
    One row a newborn with at least one feed in the feeds table: newborn, feeds, volume_ml, complete (every
    one of its feeds by then has a volume), weight_kg, ml_per_kg, igg_g.

    Counted
    -------
    Suckling that nobody measured is not in it: the volume is what was seen and written, a lower bound.

    Examples
    --------
    A 4 kg lamb with 200 ml at 1 h and 250 ml at 5 h: 450 ml by 10 h, 112.5 ml/kg.
    """
    known = usable(feeds)
    early = known[known["age_h"] <= by_h]
    early = early.assign(
        ml=early["volume_ml"].astype(float) if "volume_ml" in early else np.nan,
        igg=igg_mass_g(early, species),
    )
    grouped = early.groupby("newborn", sort=True)
    found = pd.DataFrame(
        {
            "feeds": grouped.size(),
            "volume_ml": grouped["ml"].sum(min_count=1),
            "complete": grouped["ml"].apply(lambda ml: bool(ml.notna().all())).astype(bool),
            "igg_g": grouped["igg"].sum(min_count=1),
        }
    ).reset_index()
    found["weight_kg"] = found["newborn"].map(weights(births)).astype(float)
    return found.assign(ml_per_kg=found["volume_ml"] / found["weight_kg"])


TESTED_BY = (BRIX, IGG)
"""The measures of colostrum, the one that is asked first before the other."""
MILKED_WITHIN_H = (2.0, 6.0, 12.0)


def marks(season: Season) -> tuple[Mark, ...]:
    """The mark of every measure of colostrum with a value for which the species has one."""
    held = (mark(season.species, one) for one in TESTED_BY if was_tested(season, one))
    return tuple(one for one in held if one is not None)


def was_tested(season: Season, measure: str) -> bool:
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
