"""The feeds book: feeds given by hand, the first of them at the time that the births table gives."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.clock import at_age
from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan

FEEDS_AT_MOST = 4
HOURS_BETWEEN = 5.0
SHARE_OF_WEIGHT = {"sheep": 0.035, "goat": 0.04, "cattle": 0.055}
SOURCES = ("dam", "tubed from dam", "stored", "another dam", "powder")
PEOPLE = ("keeper 1", "keeper 2", "student")


def written_feeds(page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    """One row per feed, in order of time: newborn_id, fed_at, volume_ml, source, brix_pct, igg_g_per_l, person."""
    feeds = [
        _nth_feed(nth, page, births, plan, draws, chosen=_fed_by_hand(births, plan, draws)) for nth in [0]
    ]
    for nth in range(1, FEEDS_AT_MOST):
        again = page["newborn_id"].isin(feeds[-1]["newborn_id"]) & draws.yes(0.75, len(page))
        feeds.append(_nth_feed(nth, page, births, plan, draws, chosen=again))
    table = pd.concat(feeds, ignore_index=True)
    return table.sort_values(["fed_at", "newborn_id"], ignore_index=True)


def _fed_by_hand(births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.Series:
    needs_it = (births["suck_reflex"] != "strong") | births["not_mothered"]
    share = np.where(needs_it, max(0.65, plan["feeds_seen"]), plan["feeds_seen"])
    return pd.Series(draws.yes(share, len(births)), index=births.index)


def _nth_feed(
    nth: int, page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws, chosen: pd.Series
) -> pd.DataFrame:
    n = len(page)
    later = nth * HOURS_BETWEEN * (0.8 + 0.4 * draws.uniform(n)) if nth else 0.0
    age_h = page["_fed_h"] + later
    fed_at = at_age(page["born_at"], age_h)
    grams = births["weight_kg"] * 1000 * SHARE_OF_WEIGHT[plan["species"]]
    step = 250 if plan["species"] == "cattle" else 10
    volume = np.maximum(np.round(grams * np.exp(0.3 * draws.normal(n)) / step), 1) * step
    weak = births["suck_reflex"] != "strong"
    source = np.where(
        weak,
        draws.pick(SOURCES, [0.1, 0.5, 0.2, 0.1, 0.1], n),
        draws.pick(SOURCES, [0.5, 0.1, 0.2, 0.1, 0.1], n),
    )
    brix = np.round(np.where(source == "powder", 20.0, 23.5 + 3.5 * draws.normal(n)), 1)
    tested = draws.yes(0.4, n)
    table = pd.DataFrame(
        {
            "newborn_id": page["newborn_id"],
            "fed_at": fed_at,
            "volume_ml": volume.astype(int),
            "source": source,
            "brix_pct": pd.Series(brix).where(tested),
            "igg_g_per_l": pd.Series(np.round(3.6 * brix - 20 + 8 * draws.normal(n)).clip(5)).where(
                tested & draws.yes(0.3, n)
            ),
            "person": draws.pick(PEOPLE, [0.5, 0.35, 0.15], n),
        }
    )
    lived = (age_h <= page["_death_h"]) & page["newborn_id"].notna() & fed_at.notna()
    return table[lived & chosen]
