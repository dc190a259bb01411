"""The records looked at: read and set aside, whole or not, rounded or not, and who stands in them."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.measures.completeness import missing_by_season, recorded_by_outcome
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.described import described
from neonatal_stats.measures.follow_up import FollowUp, follow_up
from neonatal_stats.measures.heaping import heaping
from neonatal_stats.season.model import Balance, Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice

AT_BIRTH = (
    "dam_id",
    "born_at",
    "litter_size",
    "sex",
    "birth_weight_kg",
    "delivery",
    "dam_parity",
    "dam_condition",
    "sire_id",
    "breed",
    "birth_place",
    "group",
    "born_alive",
)
AFTER_BIRTH = (
    "breathing_after_s",
    "suck_reflex",
    "stood_after_min",
    "fed_after_min",
    "meconium_after_min",
    "mothered_up",
    "rectal_temperature_c",
)


@dataclass(frozen=True, eq=False)
class Records(Shown):
    """What the records are worth.

    ``balances`` rows read, used and set aside by table; ``problems`` how often each problem occurred;
    ``missing`` newborns without a value by column and season (columns filled after birth: of those born
    alive); ``by_outcome`` how often each column known at birth was filled for those lost against the others;
    ``heaped`` round numbers; ``ages`` how exactly age at death is known; ``described`` dams and newborns;
    ``watched`` follow-up by season.
    """

    balances: tuple[Balance, ...]
    problems: pd.DataFrame
    missing: pd.DataFrame
    by_outcome: pd.DataFrame
    heaped: pd.DataFrame
    ages: dict[str, int]
    described: pd.DataFrame
    watched: dict[str, FollowUp]
    counted_litters: int
    unknown_dams: int
    counted: Counted
    settings: Settings
    voice: Voice


def answer(season: Season) -> Records:
    """Look at all seasons read."""
    births, settings = season.births, season.settings
    alive = births[~births["stillborn"].astype(bool)]
    known_at_birth = [name for name in AT_BIRTH if season.has(name)]
    seen_after = [name for name in AFTER_BIRTH if season.has(name)]
    missing = missing_by_season(births, known_at_birth)
    after = missing_by_season(alive, seen_after)
    return Records(
        balances=season.balances,
        problems=_problems(season.problems),
        missing=pd.concat([missing, after], ignore_index=True) if len(missing) and len(after) else missing,
        by_outcome=recorded_by_outcome(births, known_at_birth, level=settings.level),
        heaped=heaping(births, level=settings.level),
        ages=_ages(alive[alive["died"].astype(bool)]),
        described=described(births),
        watched={str(name): follow_up(mine) for name, mine in births.groupby("season", observed=True)},
        counted_litters=int(births["litter_size_counted"].sum()),
        unknown_dams=_unknown_dams(births),
        counted=Counted(len(births)),
        settings=settings,
        voice=voice_of(season),
    )


def _problems(problems: pd.DataFrame) -> pd.DataFrame:
    """One row a problem and what was done: table, problem, ended, events; the commonest first."""
    if problems.empty:
        return pd.DataFrame(columns=["table", "ended", "problem", "events"])
    counted = problems.groupby(["table", "ended", "problem"], as_index=False).size()
    counted = counted.rename(columns={"size": "events"})
    return counted.sort_values(
        ["ended", "events", "table", "problem"], ascending=[False, False, True, True], ignore_index=True
    )


def _ages(died: pd.DataFrame) -> dict[str, int]:
    precision, known = died["age_precision"], died["age_known"].astype(bool)
    wide = (died["age_high_h"] - died["age_low_h"]) > 1
    return {
        "died after birth": len(died),
        "hour known": int((known & (precision == "hour") & ~wide).sum()),
        "between two checks": int((known & wide).sum()),
        "day known": int((known & (precision == "day") & ~wide).sum()),
        "not known": int((~known).sum()),
    }


def _unknown_dams(births: pd.DataFrame) -> int:
    """Newborns with neither dam nor litter written down: each is a litter of its own."""
    unknown = pd.Series(True, index=births.index)
    for name in ("dam_id", "litter_id"):
        if name in births:
            unknown &= births[name].isna()
    return int(unknown.sum())
