"""Milestones of the first hours: met, not met, died before it was due, and not observed are four different
things.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.measures.occurrence import rates

STATES = ("met", "not met", "died before it was due", "not observed")
_SLACK_H = 1e-9  # 60 minutes is within 1 hour, whatever the rounding of a division by 60


@dataclass(frozen=True)
class Milestone:
    """Something a newborn does for the first time, and the age by which it is due.

    ``after`` is the column of hours at which it was seen; ``not_by`` the column of hours at which it was
    seen not to have happened yet ("" where that is never recorded).
    """

    key: str
    after: str
    not_by: str
    due_h: float


STANDING = ("stood_after_h", "stood_not_by_h")
FEEDING = ("fed_after_h", "fed_not_by_h")
MECONIUM = ("meconium_after_h", "meconium_not_by_h")


def hours(newborns: pd.DataFrame, column: str) -> pd.Series:
    """A column of hours, all missing where it was never recorded; hours before birth are no hours of a
    life.
    """
    if column and column in newborns:
        recorded: pd.Series = newborns[column].astype(float)
        return recorded.where(recorded >= 0)
    return pd.Series(np.nan, index=newborns.index)


def alive_at(newborns: pd.DataFrame, age_h: float) -> pd.Series:
    """Born alive and not known to have died before the whole hour of this age."""
    died_before = newborns["died"].astype(bool) & newborns["age_known"].astype(bool)
    died_before &= newborns["age_h"] < np.floor(age_h)
    gone: pd.Series = newborns["stillborn"].fillna(False).astype(bool) | died_before
    return ~gone


def state_when_due(newborns: pd.DataFrame, milestone: Milestone) -> pd.Series:
    """What is known of a milestone at the age at which it is due.

    Returns
    -------
    Ordered categorical over `STATES`, one per newborn; missing for the stillborn.

    Counted
    -------
    Met: seen at or before the age. Not met: seen later, or "seen not to have" at or after the age. Died
    before it was due: died earlier with nothing seen. Not observed: everything else, never lumped with not
    met.

    Examples
    --------
    Due at 1 h: stood after 45 min is met; stood after 90 min is not met; "not by 2 h" is not met; "not by 30
    min" and nothing more is not observed.
    """
    after, not_by = hours(newborns, milestone.after), hours(newborns, milestone.not_by)
    met = after <= milestone.due_h + _SLACK_H
    late = (after > milestone.due_h + _SLACK_H) | (after.isna() & (not_by >= milestone.due_h - _SLACK_H))
    gone = ~alive_at(newborns, milestone.due_h)
    state = np.select([met, late, gone], STATES[:3], STATES[3]).astype(object)
    return _as_states(pd.Series(state, index=newborns.index), newborns)


def state_of_check(newborns: pd.DataFrame, passed: pd.Series, due_h: float) -> pd.Series:
    """The same four states for a check with a plain answer (suck reflex, breathing): `passed` yes, no or
    missing.
    """
    gone = ~alive_at(newborns, due_h)
    known = passed.fillna(False).astype(bool)
    state = np.select([known, passed.notna(), gone], STATES[:3], STATES[3]).astype(object)
    return _as_states(pd.Series(state, index=newborns.index), newborns)


def _as_states(state: pd.Series, newborns: pd.DataFrame) -> pd.Series:
    stillborn = newborns["stillborn"].fillna(False).astype(bool)
    return pd.Series(pd.Categorical(state.where(~stillborn), STATES, ordered=True), index=newborns.index)


def met(state: pd.Series) -> pd.Series:
    """Yes where met, no where not met, missing where nobody can tell."""
    seen = state.isin(["met", "not met"])
    return (state == "met").astype("boolean").where(seen)


def counts_by_state(state: pd.Series) -> dict[str, int]:
    """How many newborns stand in each of the four states."""
    found = state.value_counts()
    return {name: int(found.get(name, 0)) for name in STATES}


def share_met(
    newborns: pd.DataFrame, state: pd.Series, by: Sequence[str] = (), *, level: float
) -> pd.DataFrame:
    """Share that met a milestone, of those observed, per group: the ``rates`` frame with `not_observed`
    beside it.
    """
    frame = newborns.assign(was_met=met(state), unseen=state.isin(["not observed"]))
    found = rates(frame, by, "was_met", level=level)
    if not by:
        return found.assign(not_observed=int(frame["unseen"].sum()))
    unseen = frame.groupby(list(by), observed=True)["unseen"].sum().rename("not_observed").reset_index()
    return found.merge(unseen, on=list(by), how="left")
