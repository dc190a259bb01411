"""Next season planned: what could be seen, what could be won, at what cost, and what to record."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.planning import newborns_needed
from neonatal_stats.estimates.shares.intraclass import RepeatLosers
from neonatal_stats.measures.birth_factors import factors
from neonatal_stats.measures.compared_window import Window, compared_window, known_in, not_known_in
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.measures.repeat_losers import repeat_losing_dams
from neonatal_stats.measures.risk_groups import TO_LEVELS, flock_design_effect, risk_groups
from neonatal_stats.measures.to_record import to_record
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice
from neonatal_stats.words.groups import phrase

FALLS = (0.20, 0.25, 0.33, 0.50)
POWER = 0.80
MOST_GROUPS = 10


@dataclass(frozen=True, eq=False)
class Planning(Shown):
    """Next season.

    ``last`` one row: season, events, n, share, design_effect; ``needed`` fall, p0, p1, n (newborns in each of two
    seasons); ``avoidable`` the levels that lost more than the rest, with saved, saved_low, saved_high a season and
    the same in cost; ``repeat`` dams that lost in several seasons; ``record`` the columns to record.
    """

    last: pd.DataFrame
    needed: pd.DataFrame
    avoidable: pd.DataFrame
    repeat: RepeatLosers
    record: pd.DataFrame
    seasons: tuple[str, ...]
    window: Window
    counted: Counted
    settings: Settings
    voice: Voice


def answer(season: Season) -> Planning:
    """Plan from all seasons recorded; newborns needed and cost from the one under review."""
    settings, voice = season.settings, voice_of(season)
    window = compared_window(season.births, settings)
    births = known_in(season.births, window)
    latest = season.under_review
    last_births = births[births["season"].astype(str) == latest]
    last = _last(last_births, latest)
    return Planning(
        last=last,
        needed=_needed(last, settings.level),
        avoidable=_avoidable(births, voice, settings, len(season.seasons)),
        repeat=repeat_losing_dams(births),
        record=to_record(season.births[season.births["season"].astype(str) == latest]),
        seasons=season.seasons,
        window=window,
        counted=Counted(len(births), left_out=not_known_in(season.births, window)),
        settings=settings,
        voice=voice,
    )


def _last(births: pd.DataFrame, name: str) -> pd.DataFrame:
    event = births["event"].to_numpy(bool)
    effect = flock_design_effect(event, births["litter"].to_numpy()) if len(births) else 1.0
    share = float(event.mean()) if len(births) else float("nan")
    row = {
        "season": name,
        "events": int(event.sum()),
        "n": len(births),
        "share": share,
        "design_effect": effect,
    }
    return pd.DataFrame([row])


def _needed(last: pd.DataFrame, level: float) -> pd.DataFrame:
    """Newborns needed for each fall; no rows where nobody or everybody was lost."""
    row = last.iloc[0]
    columns = ["fall", "p0", "p1", "n"]
    if not 0 < row["share"] < 1:
        return pd.DataFrame(columns=columns)
    p0, effect = float(row["share"]), float(row["design_effect"])
    rows = []
    for fall in FALLS:
        p1 = p0 * (1 - fall)
        n = newborns_needed(p0, p1, power=POWER, level=level, design_effect=effect)
        rows.append((fall, p0, p1, n))
    return pd.DataFrame(rows, columns=columns)


def _avoidable(births: pd.DataFrame, voice: Voice, settings: Settings, seasons: int) -> pd.DataFrame:
    """Levels with excess losses, most first, a season; in money where a price is set."""
    groups = risk_groups(
        births["event"].to_numpy(bool),
        births["cluster"].to_numpy(),
        factors(births),
        minimum_group=settings.minimum_group,
        level=settings.level,
        pairs=False,
    )
    groups = groups[groups["tried"].astype(bool) & (groups["excess_low"] > 0)]
    groups = groups.sort_values("excess", ascending=False, kind="stable", ignore_index=True).head(MOST_GROUPS)
    price = settings.price if settings.price is not None else float("nan")
    names = {"excess": "saved", "excess_low": "saved_low", "excess_high": "saved_high"}
    a_season = {new: groups[old] / seasons for old, new in names.items()}
    cost = {new.replace("saved", "cost"): value * price for new, value in a_season.items()}
    phrases = [phrase(voice, row.factor, row.level) for row in each_row(groups)]
    within = (
        groups["q"] / TO_LEVELS <= settings.false_discovery_share
    )  # pairs were tried beside these, see the groups
    return groups.assign(phrase=phrases, clear=within, **a_season, **cost)
