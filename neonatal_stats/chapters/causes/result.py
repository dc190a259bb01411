"""Losses by cause: counts, shares of all losses, incidence against age, by age window, by basis, by birth
type.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.measures.causes import UNKNOWN, cause_by_age, cause_by_basis, losses_by_cause
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.curves import incidence
from neonatal_stats.measures.differences import cause_differs
from neonatal_stats.measures.windows import (
    UNKNOWN_AGES,
    age_edges_h,
    deaths_without_age,
    last_age_h,
    watched_to_h,
)
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.terms import CAUSE_BASES
from neonatal_stats.words import Voice

LEADING_EVENTS = 10
"""A cause is compared between birth types from this many losses on."""


@dataclass(frozen=True, eq=False)
class Causes(Shown):
    """Losses by cause.

    ``by_cause`` a ``rates`` frame (of all losses) with `highest`, and at_end, at_end_low, at_end_high: the
    share of all born lost to the cause by the last age watched; ``incidence`` the ``curve`` frame of every
    cause and "alive" (empty where too few ages are known); ``by_age`` counts by cause and age window,
    between ``edges_h``; ``by_basis`` what each cause rests on; ``by_type`` Gray's test of each leading cause
    between birth types, with q.
    """

    by_cause: pd.DataFrame
    incidence: pd.DataFrame
    by_age: pd.DataFrame
    edges_h: tuple[float, ...]
    by_basis: pd.DataFrame
    by_type: pd.DataFrame
    end_h: float
    counted: Counted
    settings: Settings
    voice: Voice

    @property
    def causes(self) -> list[str]:
        """The causes that occurred, largest first and "unknown" last."""
        return [str(cause) for cause in self.by_cause["cause"]]


def answer(season: Season) -> Causes:
    """Count every loss once, under the cause that was written down; none written is "unknown"."""
    births, settings = season.births, season.settings
    dated = deaths_without_age(births) <= UNKNOWN_AGES * int(births["died"].sum())
    end_h = watched_to_h(births, settings)
    by_cause = losses_by_cause(births, level=settings.level)
    causes = [str(cause) for cause in by_cause["cause"]]
    curve = incidence(births, level=settings.level) if dated else pd.DataFrame()
    edges_h = age_edges_h(settings, last_age_h(births, settings))
    return Causes(
        by_cause=by_cause.merge(_at_end(curve, causes), on="cause", how="left"),
        incidence=curve,
        by_age=cause_by_age(births, causes, edges_h),
        edges_h=edges_h,
        by_basis=cause_by_basis(births, causes, CAUSE_BASES),
        by_type=_by_type(births, by_cause, settings.minimum_group) if dated else pd.DataFrame(),
        end_h=end_h,
        counted=_counted(births),
        settings=settings,
        voice=voice_of(season),
    )


def _at_end(curve: pd.DataFrame, causes: list[str]) -> pd.DataFrame:
    """Share of all born lost to each cause by the last age watched."""
    names = {"share": "at_end", "low": "at_end_low", "high": "at_end_high"}
    if curve.empty:
        return pd.DataFrame({"cause": causes, **dict.fromkeys(names.values(), np.nan)})
    last = curve.groupby(curve["cause"].astype(str)).tail(1)
    last = last.assign(cause=last["cause"].astype(str))
    return last[["cause", *names]].rename(columns=names)


def _by_type(births: pd.DataFrame, by_cause: pd.DataFrame, minimum_group: int) -> pd.DataFrame:
    """Gray's test between birth types of every known cause with enough losses; q over all that were tried."""
    size = births["birth_type"].value_counts()
    large = births[births["birth_type"].isin(size[size >= minimum_group].index)]
    if large["birth_type"].nunique() < 2:
        return pd.DataFrame()
    leading = by_cause[(by_cause["events"] >= LEADING_EVENTS) & (by_cause["cause"] != UNKNOWN)]
    rows = [_one_cause(large, str(cause)) for cause in leading["cause"]]
    if not rows:
        return pd.DataFrame()
    frame = pd.DataFrame(rows)
    return frame.assign(q=benjamini_hochberg(frame["p"].to_numpy(float)))


def _one_cause(births: pd.DataFrame, cause: str) -> dict[str, object]:
    test = cause_differs(births, ("birth_type",), cause)
    of_cause = births["cause"].astype(str) == cause
    by_type = births.assign(events=of_cause).groupby("birth_type", observed=True)["events"]
    told = {str(name): (int(mine.sum()), len(mine)) for name, mine in by_type}
    smallest = min(n for _, n in told.values())
    events = int(of_cause.sum())
    return {
        "cause": cause,
        "statistic": test.statistic,
        "df": test.df,
        "p": test.p,
        "events": events,
        "smallest": smallest,
        "told": told,
    }


def _counted(births: pd.DataFrame) -> Counted:
    lost = int(births["died"].sum())
    return Counted(lost, "{newborns} lost")
