"""The book closed early: what nobody could have known yet is taken out again."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.season.demo.clock import at_age

AFTER_BIRTH = ("stood", "fed", "meconium")


def closed_early(page: pd.DataFrame, closed_on: pd.Timestamp) -> pd.DataFrame:
    """The births written by then, with later deaths, departures, feeds and sightings not yet known."""
    page = page[page["born_at"] <= closed_on].reset_index(drop=True)
    died = page["died_at"].fillna(page["found_dead_at"])
    page = _unwritten(
        page, died > closed_on, ["died_at", "last_alive_at", "found_dead_at", "cause", "cause_basis"]
    )
    page.loc[died > closed_on, "died"] = "no"
    page = _unwritten(page, page["left_at"] > closed_on, ["left_at", "left_reason"])
    alive = (page["died"] == "no") & page["left_at"].isna()
    still_watched = page["last_seen_at"].isna() | (page["last_seen_at"] > closed_on)
    page.loc[alive & still_watched, "last_seen_at"] = closed_on
    for name in AFTER_BIRTH:
        later = at_age(page["born_at"], page[f"_{name}_h"]) > closed_on
        unseen_yet = later | (page[f"_{name}_h"].isna() & (died > closed_on))
        page = _unwritten(page, unseen_yet, [f"{name}_after_min", f"_{name}_h"])
    return page


def _unwritten(page: pd.DataFrame, rows: pd.Series, names: list[str]) -> pd.DataFrame:
    held = [name for name in names if name in page]
    return page.assign(**{name: page[name].mask(rows) for name in held})
