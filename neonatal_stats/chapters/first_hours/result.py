"""The first hours, counted: milestones, time to each, who was behind, what went with a loss, and
resuscitation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.first_hours.checks import Check, checks
from neonatal_stats.chapters.first_hours.resuscitated import resuscitated
from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.measures import milestones
from neonatal_stats.measures.compared import compared
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.milestones import counts_by_state, met, share_met
from neonatal_stats.measures.predictors import predictors
from neonatal_stats.measures.time_to import time_to
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice

FACTORS: dict[str, str | None] = {
    "birth_type": "single",
    "difficulty": "easy",
    "parity_class": "second or third",
    "weight_class": "middle",
    "season": None,
}
TIMED = {"standing": milestones.STANDING, "feeding": milestones.FEEDING, "meconium": milestones.MECONIUM}
BEHIND_CHECKS = ("suck", "standing", "feeding")
HORIZON_H = 12.0


@dataclass(frozen=True, eq=False)
class FirstHours(Shown):
    """The first hours of the newborns born alive.

    ``states`` one row a check: key, due_h, the four counts (met, not met, died before it was due, not
    observed) and the rate of those observed; ``curves`` a ``curve`` frame per timed milestone;
    ``by_birth_type`` the same for the first feed by birth type; ``behind`` the groups less often on time;
    ``predictors`` each check against death in ``window``; ``resuscitation`` a ``rates`` frame of what was
    done and how many were lost.
    """

    states: pd.DataFrame
    curves: Mapping[str, pd.DataFrame]
    by_birth_type: pd.DataFrame
    behind: pd.DataFrame
    predictors: pd.DataFrame
    window: str
    resuscitation: pd.DataFrame
    counted: Counted
    settings: Settings
    voice: Voice


def answer(season: Season) -> FirstHours:
    """Count the first hours."""
    births, settings = season.births, season.settings
    alive = births[~births["stillborn"].fillna(False).astype(bool)]
    found = checks(alive, settings.marks)
    window = list(settings.windows_h)[-1] if settings.windows_h else ""
    lost = f"lost_by_{window.replace(' ', '_')}" if window else "lost"
    curves = {key: _curve(alive, key, settings) for key in TIMED if any(check.key == key for check in found)}
    return FirstHours(
        states=_states(alive, found, settings),
        curves=curves,
        by_birth_type=_curve(alive, "feeding", settings, ("birth_type",))
        if "feeding" in curves
        else pd.DataFrame(),
        behind=_behind(alive, found, settings),
        predictors=predictors(
            alive,
            {check.key: check.state for check in found},
            {check.key: check.due_h for check in found},
            lost,
            level=settings.level,
            minimum=settings.minimum_group,
        ),
        window=window,
        resuscitation=resuscitated(alive, lost, settings.level),
        counted=Counted(len(alive), left_out=(("stillborn", len(births) - len(alive)),)),
        settings=settings,
        voice=voice_of(season),
    )


def _states(alive: pd.DataFrame, found: tuple[Check, ...], settings: Settings) -> pd.DataFrame:
    rows = []
    for check in found:
        share = share_met(alive, check.state, level=settings.level)
        rows.append({"key": check.key, "due_h": check.due_h, **counts_by_state(check.state), **share.iloc[0]})
    columns = ["key", "due_h", *milestones.STATES, "events", "n", "share", "low", "high"]
    return pd.DataFrame(rows, columns=columns)


def _curve(alive: pd.DataFrame, key: str, settings: Settings, by: tuple[str, ...] = ()) -> pd.DataFrame:
    after, not_by = TIMED[key]
    return time_to(alive, after, not_by, by, horizon_h=HORIZON_H, level=settings.level)


def _behind(alive: pd.DataFrame, found: tuple[Check, ...], settings: Settings) -> pd.DataFrame:
    """Groups that met a mark less often: the event is "not met"."""
    frame = alive.copy()
    parts = []
    for check in found:
        if check.key in BEHIND_CHECKS:
            frame["behind"] = ~met(check.state)
            part = compared(frame, FACTORS, "behind", level=settings.level, minimum=settings.minimum_group)
            parts.append(part.assign(key=check.key))
    return (
        pd.concat(parts, ignore_index=True)
        if parts
        else compared(frame.head(0).assign(behind=None), {}, "behind")
    )
