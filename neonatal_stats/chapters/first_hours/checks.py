"""The checks of the first hours: which were recorded, and how each newborn stood when they were due."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.measures import milestones
from neonatal_stats.measures.milestones import Milestone, state_of_check, state_when_due
from neonatal_stats.season.settings import Marks


@dataclass(frozen=True, eq=False)
class Check:
    """One check: its key, the age at which it is due, and each newborn's state (missing for the
    stillborn).
    """

    key: str
    due_h: float
    state: pd.Series


def checks(newborns: pd.DataFrame, marks: Marks) -> tuple[Check, ...]:
    """Every check of which at least one newborn was observed, in the order of the first hours."""
    found = [*_plain(newborns, marks), *_timed(newborns, marks)]
    order = {"breathing": 0, "suck": 1, "standing": 2, "standing_late": 3, "feeding": 4, "meconium": 5}
    seen = [check for check in found if check.state.isin(["met", "not met"]).any()]
    return tuple(sorted(seen, key=lambda check: order[check.key]))


def _plain(newborns: pd.DataFrame, marks: Marks) -> list[Check]:
    found = []
    if "breathing_after_s" in newborns:
        seconds = newborns["breathing_after_s"].astype(float)
        passed = (seconds <= marks.breathing_s).astype("boolean").where(seconds.notna())
        due = marks.breathing_s / 3600
        found.append(Check("breathing", due, state_of_check(newborns, passed, due)))
    if "suck_class" in newborns:
        suck = newborns["suck_class"]
        passed = (suck == "strong").astype("boolean").where(suck.notna())
        due = marks.suck_reflex_min / 60
        found.append(Check("suck", due, state_of_check(newborns, passed, due)))
    return found


def _timed(newborns: pd.DataFrame, marks: Marks) -> list[Check]:
    timed = (
        Milestone("standing", *milestones.STANDING, marks.standing_h),
        Milestone("standing_late", *milestones.STANDING, marks.standing_late_h),
        Milestone("feeding", *milestones.FEEDING, marks.fed_h),
        Milestone("meconium", *milestones.MECONIUM, marks.meconium_h),
    )
    return [Check(one.key, one.due_h, state_when_due(newborns, one)) for one in timed]
