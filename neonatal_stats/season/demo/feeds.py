"""The feeds book: feeds given by hand, the first of them at the time that the births table gives."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.clock import at_age
from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan

FEEDS_AT_MOST = 4
HOURS_BETWEEN = 3.5
SHARE_OF_WEIGHT = {"sheep": 0.042, "goat": 0.045, "cattle": 0.055}
SOURCES = ("dam", "tubed from dam", "stored", "another dam", "powder")
WEAK_SHARES = (0.1, 0.5, 0.2, 0.1, 0.1)
STRONG_SHARES = (0.5, 0.1, 0.2, 0.1, 0.1)
PEOPLE = ("keeper 1", "keeper 2", "student")
PEOPLE_SHARES = (0.5, 0.35, 0.15)


def written_feeds(page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    """One row per feed, in order of time, with the columns of the feeds table."""
    feeds = [_nth_feed(0, page, births, plan, draws, chosen=_fed_by_hand(births, plan, draws))]
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
    table = pd.DataFrame(
        {
            "newborn_id": page["newborn_id"],
            "fed_at": at_age(page["born_at"], age_h),
            "volume_ml": _volumes(births, plan, draws),
            "source": _sources(births, draws),
        }
    )
    table = table.assign(**_quality(table["source"], draws), person=draws.pick(PEOPLE, PEOPLE_SHARES, n))
    lived = (age_h <= page["_alive_to_h"]) & page["newborn_id"].notna() & table["fed_at"].notna()
    return table[lived & chosen]


def _volumes(births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.Series:
    grams = births["weight_kg"] * 1000 * SHARE_OF_WEIGHT[plan["species"]]
    step = 250 if plan["species"] == "cattle" else 10
    steps = (grams * np.exp(0.3 * draws.normal(len(births))) / step).round().clip(lower=1)
    return (steps * step).astype(int)


def _sources(births: pd.DataFrame, draws: Draws) -> np.ndarray:
    n = len(births)
    to_weak, to_strong = draws.pick(SOURCES, WEAK_SHARES, n), draws.pick(SOURCES, STRONG_SHARES, n)
    return np.where(births["suck_reflex"] != "strong", to_weak, to_strong)


def _quality(source: pd.Series, draws: Draws) -> dict[str, pd.Series]:
    """Brix of four feeds in ten, IgG of three in ten of those."""
    n = len(source)
    brix = (23.5 + 3.5 * pd.Series(draws.normal(n))).mask(source == "powder", 20.0).round(1)
    igg = (3.6 * brix - 20 + 8 * draws.normal(n)).round().clip(lower=5)
    tested = draws.yes(0.4, n)
    return {"brix_pct": brix.where(tested), "igg_g_per_l": igg.where(tested & draws.yes(0.3, n))}
