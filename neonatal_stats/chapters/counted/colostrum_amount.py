"""Colostrum given, counted: volume and IgG by an age, out of the feeds that were written down, against the targets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.measures.rates import rates
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.kinds import SUCKLED, kind_of
from neonatal_stats.vocabulary.passive_transfer import BRIX_TO_IGG, CALF_IGG_MASS_G

BY_WEIGHT, FIRST_FEED, SMALL_FEED, IGG_MASS = "by weight", "first feed", "small first feed", "IgG mass"
FIRST_BY_WEIGHT = "first feed by weight"
CALVES, SMALL = ("cattle", "buffalo"), ("sheep", "goat")
"""Species whose first feed is held against litres, and those of which so little as a tenth of one already helps."""


@dataclass(frozen=True, eq=False)
class Amount:
    """Colostrum given by hand.

    ``intake`` the frame of `intake_by`, newborns with every feed measured and weighed;
    ``met`` a ``rates`` frame of targets met (target: by weight, first feed, first feed by weight, small first feed, IgG
    mass);
    ``unmeasured`` newborns fed by then with a volume or weight missing; ``quartiles`` of ml/kg.
    """

    intake: pd.DataFrame
    met: pd.DataFrame
    unmeasured: int
    species: str


def amount(births: pd.DataFrame, feeds: pd.DataFrame, species: str, settings: Settings) -> Amount | None:
    """Count the amounts; None where no feed has a volume.

    Counted
    -------
    Against the share of weight: newborns whose every feed by then has a volume and whose birth weight is known. Against
    a volume of the first feed: first feeds with a volume, for calves that are not suckled also against the share of
    their weight, where that is known. Against an IgG mass: newborns with one.
    """
    if feeds.empty or "volume_ml" not in feeds or not feeds["volume_ml"].notna().any():
        return None
    marks = settings.marks
    whole = intake_by(births, feeds, marks.colostrum_amount_by_h, species)
    ready = whole[whole["complete"] & whole["weight_kg"].notna() & whole["volume_ml"].notna()]
    enough = ready["volume_ml"] >= 1000 * marks.colostrum_share_of_weight * ready["weight_kg"] - 1e-9
    first = first_feeds(feeds).dropna(subset=["volume_ml"])
    parts = [(BY_WEIGHT, ready["newborn"], enough)]
    if species in CALVES:
        parts.append((FIRST_FEED, first["newborn"], first["volume_ml"] >= marks.calf_first_feed_ml))
    if species in CALVES and kind_of(settings) not in SUCKLED:
        weighed = first.assign(kg=first["newborn"].map(weights(births))).dropna(subset=["kg"])
        least = 1000 * marks.colostrum_share_of_weight * weighed["kg"] - 1e-9
        parts.append((FIRST_BY_WEIGHT, weighed["newborn"], weighed["volume_ml"] >= least))
    if species == "cattle":
        massed = whole[whole["igg_g"].notna()]
        parts.append((IGG_MASS, massed["newborn"], massed["igg_g"] >= CALF_IGG_MASS_G[0]))
    if species in SMALL:
        parts.append((SMALL_FEED, first["newborn"], first["volume_ml"] >= marks.small_first_feed_ml))
    cluster = births.set_index("newborn")["cluster"]
    rows = [_met(name, newborn, event, cluster, settings.level) for name, newborn, event in parts]
    met = pd.DataFrame(rows, columns=["target", "events", "n", "share", "low", "high"])
    return Amount(ready.reset_index(drop=True), met, len(whole) - len(ready), species)


def _met(
    name: str, newborn: pd.Series, event: pd.Series, cluster: pd.Series, level: float
) -> dict[str, object]:
    frame = pd.DataFrame({"event": event.astype("boolean"), "cluster": newborn.map(cluster)})
    if frame.empty:
        return {"target": name, "events": 0, "n": 0, "share": np.nan, "low": np.nan, "high": np.nan}
    found = rates(frame, (), "event", level=level).iloc[0]
    return {"target": name, **{key: found[key] for key in ("events", "n", "share", "low", "high")}}


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
