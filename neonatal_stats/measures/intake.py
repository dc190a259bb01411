"""Colostrum given by hand: what each newborn got of what was written down, and whether it was enough."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.passive_transfer import BRIX_TO_IGG, CALF_IGG_MASS_G
from neonatal_stats.vocabulary.published import SUCKLED

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
