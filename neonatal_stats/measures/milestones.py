"""Milestones of the first hours: met, not met, died before it was due, and not observed are four different things; and
the time to each, in which death comes first for some. And what is not asked of these newborns, since nobody takes it of
every one of them in such a flock or herd.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.incidence import aalen_johansen
from neonatal_stats.measures.rates import grouped, rates
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.published import TAKEN_OFF
from neonatal_stats.vocabulary.species import SPECIES

STATES = ("met", "not met", "died before it was due", "not observed")
SLACK_H = 1e-9  # 60 minutes is within 1 hour, whatever the rounding of a division by 60
EARLIEST, LATEST = "last seen alive", "found dead"
"""Where a death known only to lie between two checks may be placed."""


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
        recorded = newborns[column].to_numpy(dtype=float, na_value=np.nan)
        return pd.Series(np.where(recorded >= 0, recorded, np.nan), index=newborns.index)
    return pd.Series(np.nan, index=newborns.index)


def last_seen_alive_h(newborns: pd.DataFrame) -> pd.Series:
    """The last age at which a newborn found dead was surely alive: seen so, or seen to stand, feed or pass meconium.

    Where its death is not bounded, the age that is known of it.
    """
    seen = [hours(newborns, after) for after, _ in (STANDING, FEEDING, MECONIUM)]
    bound = newborns["age_low_h"] if "age_low_h" in newborns else newborns["age_h"]
    ages = [column.to_numpy(dtype=float, na_value=np.nan) for column in (bound, *seen)]
    return pd.Series(np.fmax.reduce(ages), index=newborns.index)


def alive_at(newborns: pd.DataFrame, age_h: float, placed: str = EARLIEST) -> pd.Series:
    """Born alive and not dead before the whole hour of this age.

    Parameters
    ----------
    placed : where a death known only to lie between two checks falls. `EARLIEST`: as soon as nobody saw the newborn
        alive any more, so that one found dead later was not alive at this age unless it was seen so; `LATEST`: when
        it was found.
    """
    dead = newborns["died"] & newborns["age_known"]
    gone = newborns["stillborn"] | (dead & (newborns["age_h"] < np.floor(age_h)))
    if placed == EARLIEST:
        last = last_seen_alive_h(newborns)
        gone |= dead & (last < newborns["age_h"]) & (last < age_h - SLACK_H)
    alive: pd.Series = ~gone
    return alive


def state_when_due(newborns: pd.DataFrame, milestone: Milestone, placed: str = EARLIEST) -> pd.Series:
    """What is known of a milestone at the age at which it is due.

    Parameters
    ----------
    placed : as in `alive_at`.

    Returns
    -------
    Ordered categorical over `STATES`, one per newborn; missing for the stillborn.

    Counted
    -------
    Met: seen at or before the age. Not met: seen later, or alive at the age and "seen not to have" at or after it.
    Died before it was due: not alive at the age (`alive_at`), with nothing seen. Not observed: everything else, never
    lumped with not met.

    Examples
    --------
    Due at 1 h: stood after 45 min is met; stood after 90 min is not met; "not by 2 h" is not met; "not by 30
    min" and nothing more is not observed.
    """
    after, not_by = hours(newborns, milestone.after), hours(newborns, milestone.not_by)
    met = after <= milestone.due_h + SLACK_H
    later = after > milestone.due_h + SLACK_H
    gone = ~alive_at(newborns, milestone.due_h, placed)
    late = later | (~gone & (not_by >= milestone.due_h - SLACK_H))
    state = np.select([met, late, gone], STATES[:3], STATES[3]).astype(object)
    return _as_states(pd.Series(state, index=newborns.index), newborns)


def state_of_check(newborns: pd.DataFrame, passed: pd.Series, due_h: float) -> pd.Series:
    """The same four states for a check with a plain answer (suck reflex, breathing): `passed` yes, no or
    missing.

    One that was checked was alive; one that was not is dead before it was due only where that is certain.
    """
    gone = ~alive_at(newborns, due_h, LATEST)
    known = passed.fillna(False).astype(bool)
    state = np.select([known, passed.notna(), gone], STATES[:3], STATES[3]).astype(object)
    return _as_states(pd.Series(state, index=newborns.index), newborns)


def _as_states(state: pd.Series, newborns: pd.DataFrame) -> pd.Series:
    stillborn = newborns["stillborn"]
    return pd.Series(pd.Categorical(state.where(~stillborn), STATES, ordered=True), index=newborns.index)


def met(state: pd.Series) -> pd.Series:
    """Yes where met, no where not met, missing where nobody can tell."""
    seen = state.isin(["met", "not met"])
    return (state == "met").astype("boolean").where(seen)


def counts_by_state(state: pd.Series) -> dict[str, int]:
    """How many newborns stand in each of the four states."""
    found = state.value_counts()
    return {name: int(found.get(name, 0)) for name in STATES}


def share_met(newborns: pd.DataFrame, state: pd.Series, *, level: float) -> pd.DataFrame:
    """Share that met a milestone, of those observed: the ``rates`` frame with `not_observed` beside it."""
    found = rates(newborns.assign(was_met=met(state)), (), "was_met", level=level)
    return found.assign(not_observed=int(state.isin(["not observed"]).sum()))


def mothering_judged(newborns: pd.DataFrame) -> pd.DataFrame:
    """Born alive with mothering-up judged yes or no."""
    alive = ~newborns["stillborn"]
    return newborns[alive & newborns["failed_mothering"].notna()]


MOST_BY_HAND = 0.5
"""Share of those with a rearing written from which newborns are taken to be taken off their dams."""


def taken_off(births: pd.DataFrame, settings: Settings) -> bool:
    """Are newborns taken off their dams at birth, so that no dam is watched to accept hers?

    So it is where the kind of herd says so, or most were reared by hand, and none was judged at mothering-up.
    """
    judged = "failed_mothering" in births and births["failed_mothering"].notna().any()
    if judged:
        return False
    rearing = births["rearing"].dropna().astype(str) if "rearing" in births else pd.Series(dtype=object)
    by_hand = len(rearing) > 0 and float((rearing == "artificial").mean()) >= MOST_BY_HAND
    return by_hand or settings.kind in TAKEN_OFF


def not_asked(births: pd.DataFrame, settings: Settings) -> frozenset[str]:
    """Columns of births that no review asks to be written for every newborn of these.

    By species, those that its entry names; mothering-up where newborns are taken off at birth.
    """
    here = set(births["species"].dropna().astype(str))
    of_species = {name for one in SPECIES if one.name in here for name in one.not_asked}
    return frozenset(of_species | ({"mothered_up"} if taken_off(births, settings) else set()))


NOT_YET, HAPPENED, DIED_FIRST = 0, 1, 2


def followed(newborns: pd.DataFrame, after: str, not_by: str, horizon_h: float) -> pd.DataFrame:
    """Who is followed for a milestone, to which age, and how that ended.

    Returns
    -------
    `newborns` (fewer rows) with ``until_h`` and ``ended`` (0 seen not yet, 1 happened, 2 died first).

    Counted
    -------
    Born alive. Seen: followed to its time. "Seen not to have by": followed to that time. Nothing seen but
    died within the horizon: died first, at its age at death. Nothing seen and alive at the horizon, or of
    unknown age at death: not observed, not counted.
    """
    at, not_yet = hours(newborns, after), hours(newborns, not_by)
    died = newborns["died"] & newborns["age_known"]
    first = died & at.isna() & (newborns["age_h"] <= horizon_h)
    first &= not_yet.isna() | (newborns["age_h"] <= np.ceil(not_yet.fillna(0)) + 1)
    until = at.where(at.notna(), newborns["age_h"].where(first, not_yet))
    ended = np.select([at.notna(), first], [HAPPENED, DIED_FIRST], NOT_YET)
    kept = until.notna() & ~newborns["stillborn"]
    late = until > horizon_h
    found = newborns.assign(until_h=until.clip(upper=horizon_h), ended=np.where(late, NOT_YET, ended))
    return found[kept]


def time_to(
    newborns: pd.DataFrame,
    after: str,
    not_by: str,
    by: Sequence[str] = (),
    *,
    horizon_h: float,
    level: float,
    cluster: str = "cluster",
) -> pd.DataFrame:
    """Share to which it had happened by each age, per group: a ``curve`` frame, with ``died_first`` beside
    the share.

    Parameters
    ----------
    newborns : births with `age_h`, `age_known`, `died`, `stillborn`, `cluster` and the two columns of hours.
    after, not_by : hours at which it was seen, and at which it was seen not to have happened yet.
    by : group columns.
    horizon_h : watching stops at this age.

    Returns
    -------
    groups..., age_h, at_risk, events, share, low, high, died_first; every group starts with share 0 at age 0,
    and has no interval before its first event.

    Method
    ------
    Aalen-Johansen with death before the event as the competing event and "seen not yet" as right censoring;
    infinitesimal-jackknife variance summed within clusters. One minus Kaplan-Meier would overstate.

    Examples
    --------
    Four newborns: fed at 1 h, fed at 3 h, died at 2 h unfed, "not fed by 2 h". By 1 h 1/4; by 3 h, one left
    at risk of the half still waiting: 1/4 + 1/2 = 3/4, died first 1/4.
    """
    rows = followed(newborns, after, not_by, horizon_h)
    groups, code = grouped(rows, by)
    rows, code = rows[code >= 0], code[code >= 0]
    if rows.empty:
        return _empty(by)
    found = aalen_johansen(
        rows["until_h"].to_numpy(float),
        rows["ended"].to_numpy(),
        cluster=rows[cluster].to_numpy(),
        group=code,
        n_groups=len(groups),
        n_causes=2,
        level=level,
    )
    cells = {
        "at_risk": found.at_risk,
        "events": found.events[:, :, 0],
        "share": found.share[:, :, 0],
        "low": found.low[:, :, 0],
        "high": found.high[:, :, 0],
        "died_first": found.share[:, :, 1],
    }
    return _from_birth(groups, found.age_h, cells)


def _from_birth(
    groups: pd.DataFrame, age_h: NDArray[np.float64], cells: dict[str, NDArray[np.float64]]
) -> pd.DataFrame:
    """The long frame; a first row at age 0 where the first event came later."""
    start = len(age_h) == 0 or age_h[0] > 0
    ages = np.concatenate([[0.0], age_h]) if start else age_h
    frame = groups.loc[np.repeat(np.arange(len(groups)), len(ages))].reset_index(drop=True)
    frame["age_h"] = np.tile(ages, len(groups))
    for name, values in cells.items():
        first = values[:, :1] if name == "at_risk" else np.zeros((len(groups), 1))
        frame[name] = (np.hstack([first, values]) if start else values).ravel()
    none_yet = frame["share"] == 0
    frame.loc[none_yet, ["low", "high"]] = np.nan
    return frame


def _empty(by: Sequence[str]) -> pd.DataFrame:
    return pd.DataFrame(
        columns=[*by, "age_h", "at_risk", "events", "share", "low", "high", "died_first"], dtype=float
    )


def read_at(curve: pd.DataFrame, by: Sequence[str], ages_h: Sequence[float]) -> pd.DataFrame:
    """The curve read at stated ages, at_risk counted just after the last step at or before each."""
    parts = []
    for age in ages_h:
        before = curve[curve["age_h"] <= age + 1e-9]
        last = before.groupby(list(by), observed=True).tail(1) if by else before.tail(1)
        parts.append(last.assign(age_h=age))
    return pd.concat(parts, ignore_index=True) if parts else curve.head(0)
