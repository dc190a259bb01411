"""Survival of those born alive, and total loss of all born, as curves and at stated ages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.results import Test
from neonatal_stats.measures.alive_on_average import days_alive
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.curves import before_ages, survival
from neonatal_stats.measures.differences import survival_differs
from neonatal_stats.measures.found_dead import FoundDead, found_dead
from neonatal_stats.measures.windows import deaths_without_age, not_watched, watched_to_h
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice

TYPE = ("birth_type",)


@dataclass(frozen=True, eq=False)
class Survival(Shown):
    """Survival to ``end_h``, the last age watched; ``common_h`` the last day to which every large type was.

    ``whole`` and ``by_type`` are ``curve`` frames of those born alive; ``loss`` the ``curve`` frame of all
    born, as shares lost, the stillborn at age 0; ``at_ages`` shares alive at the windows' ends, all together
    (birth_type "all") and by type; ``days`` mean days alive; ``differ`` the clustered log-rank test between
    types; ``between`` what the deaths known only to lie between two checks change (None where there are
    none); ``who`` counts.
    """

    whole: pd.DataFrame
    by_type: pd.DataFrame
    loss: pd.DataFrame
    at_ages: pd.DataFrame
    days: pd.DataFrame
    differ: Test
    between: FoundDead | None
    who: dict[str, int]
    end_h: float
    common_h: float
    counted: Counted
    settings: Settings
    voice: Voice


def answer(season: Season) -> Survival:
    """Follow those born alive until they died, left, or the watching ended."""
    births, settings = season.births, season.settings
    alive = births[~births["stillborn"].astype(bool)]
    end_h = watched_to_h(alive, settings)
    whole, by_type = survival(alive, level=settings.level), survival(alive, TYPE, level=settings.level)
    common_h = _common_h(alive, end_h, settings.minimum_group)
    ages = sorted({*(hour for hour in settings.windows_h.values() if hour < end_h), common_h, end_h})
    who = _who(alive, settings.follow_up_h)
    return Survival(
        whole=whole,
        by_type=by_type,
        loss=_turned(survival(births, level=settings.level)),
        at_ages=_at_ages(whole, by_type, ages, end_h),
        days=_days(alive, common_h, settings.level),
        differ=survival_differs(alive, TYPE),
        between=found_dead(alive, ages),
        who=who,
        end_h=end_h,
        common_h=common_h,
        counted=_counted(births, alive),
        settings=settings,
        voice=voice_of(season),
    )


def _common_h(alive: pd.DataFrame, end_h: float, minimum_group: int) -> float:
    """The last whole day to which every birth type with enough newborns was watched."""
    known = alive[alive["age_known"].astype(bool)]
    groups = known.groupby("birth_type", observed=True)["age_h"]
    last = groups.max()[groups.size() >= minimum_group]
    common_h = float(last.min()) if len(last) and last.min() > 0 else end_h
    return common_h if common_h < 48 else 24.0 * (common_h // 24)


def _turned(curve: pd.DataFrame) -> pd.DataFrame:
    """Shares lost instead of shares surviving."""
    return curve.assign(share=1 - curve["share"], low=1 - curve["high"], high=1 - curve["low"])


def _at_ages(whole: pd.DataFrame, by_type: pd.DataFrame, ages: Sequence[float], end_h: float) -> pd.DataFrame:
    together = before_ages(whole, (), ages, end_h=end_h).assign(birth_type="all")
    apart = before_ages(by_type, TYPE, ages, end_h=end_h)
    return pd.concat([together, apart.assign(birth_type=apart["birth_type"].astype(str))], ignore_index=True)


def _days(alive: pd.DataFrame, end_h: float, level: float) -> pd.DataFrame:
    together = days_alive(alive, (), until_h=end_h, level=level).assign(birth_type="all")
    apart = days_alive(alive, TYPE, until_h=end_h, level=level)
    return pd.concat([together, apart.assign(birth_type=apart["birth_type"].astype(str))], ignore_index=True)


def _who(alive: pd.DataFrame, follow_up_h: float) -> dict[str, int]:
    died, known = alive["died"].astype(bool), alive["age_known"].astype(bool)
    width = alive["age_high_h"] - alive["age_low_h"]
    return {
        "born alive": len(alive),
        "watched to the end": int((~died & known & (alive["age_h"] >= follow_up_h)).sum()),
        "left alive or out of sight": int((not_watched(alive, follow_up_h) & known).sum()),
        "died at a known hour": int((died & known & (alive["age_precision"] == "hour")).sum()),
        "died on a known day": int((died & known & (alive["age_precision"] == "day")).sum()),
        "died between checks over an hour apart": int((died & known & (width > 1)).sum()),
        "died at an unknown age": deaths_without_age(alive),
    }


def _counted(births: pd.DataFrame, alive: pd.DataFrame) -> Counted:
    known = int(alive["age_known"].sum())
    left_out = [
        ("born dead (they are in the curve of all born)", len(births) - len(alive)),
        ("age at death or at the last sight not known", len(alive) - known),
    ]
    return Counted(known, "{newborns}", tuple((why, n) for why, n in left_out if n))


def types(result: Survival) -> list[tuple[str, pd.DataFrame]]:
    """Birth types that occur, each with its curve, in order."""
    column = result.by_type["birth_type"]
    return [
        (str(one), result.by_type[column == one]) for one in column.cat.categories if np.any(column == one)
    ]
