"""The first hours, counted: the checks and how each newborn stood when they were due, the time to each, who was behind,
what went with a loss, and what was done to start newborns breathing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.diagnostic import screening
from neonatal_stats.measures.compared import compared
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.milestones import (
    FEEDING,
    MECONIUM,
    STANDING,
    STATES,
    Milestone,
    alive_at,
    counts_by_state,
    met,
    share_met,
    state_of_check,
    state_when_due,
    time_to,
)
from neonatal_stats.measures.occurrence import rates
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Marks, Settings
from neonatal_stats.vocabulary.terms import ANYTHING_DONE, RESUSCITATIONS

KEYS = ("breathing", "suck", "standing", "standing_late", "feeding", "meconium")
"""The checks, in the order of the first hours."""
FACTORS: dict[str, str | None] = {
    "birth_type": "single",
    "difficulty": "easy",
    "parity_class": "second or third",
    "weight_class": "middle",
    "season": None,
}
TIMED = {"standing": STANDING, "feeding": FEEDING, "meconium": MECONIUM}
BEHIND_CHECKS = ("suck", "standing", "feeding")
HORIZON_H = 12.0
MEASURES = (
    "sensitivity",
    "specificity",
    "positive_predictive_value",
    "negative_predictive_value",
    "positive_likelihood_ratio",
    "negative_likelihood_ratio",
)
COLUMNS = (
    "key", "n", "lost", "not_known",
    "events", "n_failed", "events_passed", "n_passed", "ratio", "ratio_low", "ratio_high", "p",
    *(f"{name}{side}" for name in MEASURES for side in ("", "_low", "_high")),
)  # fmt: skip


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
    species: str


def answer(season: Season) -> FirstHours:
    """Count the first hours.

    Counted
    -------
    Born alive; the stillborn are left out with their number. Each check counts those observed at it and names the
    others; as a predictor it counts those alive when it was due, observed and followed through the window.
    """
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
        species=season.species,
    )


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
    seen = [check for check in found if check.state.isin(["met", "not met"]).any()]
    return tuple(sorted(seen, key=lambda check: KEYS.index(check.key)))


def _plain(newborns: pd.DataFrame, marks: Marks) -> list[Check]:
    """Checks with a plain answer: breathing and suck reflex."""
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
    """Checks of an hour: standing, feeding and meconium."""
    timed = (
        Milestone("standing", *STANDING, marks.standing_h),
        Milestone("standing_late", *STANDING, marks.standing_late_h),
        Milestone("feeding", *FEEDING, marks.fed_h),
        Milestone("meconium", *MECONIUM, marks.meconium_h),
    )
    return [Check(one.key, one.due_h, state_when_due(newborns, one)) for one in timed]


def _states(alive: pd.DataFrame, found: tuple[Check, ...], settings: Settings) -> pd.DataFrame:
    """Each check in the four states, and the share that met it, of those observed."""
    rows = []
    for check in found:
        share = share_met(alive, check.state, level=settings.level)
        rows.append({"key": check.key, "due_h": check.due_h, **counts_by_state(check.state), **share.iloc[0]})
    columns = ["key", "due_h", *STATES, "events", "n", "share", "low", "high"]
    return pd.DataFrame(rows, columns=columns)


def _curve(alive: pd.DataFrame, key: str, settings: Settings, by: tuple[str, ...] = ()) -> pd.DataFrame:
    """Time to a milestone of those born alive, death first counted."""
    after, not_by = TIMED[key]
    return time_to(alive, after, not_by, by, horizon_h=HORIZON_H, level=settings.level)


def _behind(alive: pd.DataFrame, found: tuple[Check, ...], settings: Settings) -> pd.DataFrame:
    """Groups that met a mark less often: the event is "not met", of those observed."""
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


def predictors(
    newborns: pd.DataFrame,
    states: Mapping[str, pd.Series],
    due_h: Mapping[str, float],
    lost: str,
    *,
    level: float = 0.95,
    minimum: int = 10,
    cluster: str = "cluster",
) -> pd.DataFrame:
    """How well "not met" at the due age foretold death in the window.

    Parameters
    ----------
    newborns : born alive, with `lost` and `cluster`.
    states : for each check, the states of `measures.milestones`.
    due_h : for each check, the age at which it was due.
    lost : a yes-no column, missing where the outcome in the window is not known.

    Returns
    -------
    One row a check with the columns of `COLUMNS`: ``events`` of ``n_failed`` that had not met it were lost,
    ``events_passed`` of ``n_passed`` that had; ``not_known`` were checked but their outcome in the window is
    not known.

    Counted
    -------
    Alive when the check was due, observed, and followed through the window. A death known only to the hour
    counts as after the check when it falls in the hour of the check.

    Method
    ------
    Clustered screening measures; clustered risk ratio of those that had not against those that had.
    """
    rows = [
        _predictor(key, newborns, state, due_h[key], lost, level, cluster)
        for key, state in states.items()
        if met(state).notna().any()
    ]
    return pd.DataFrame([row for row in rows if row], columns=list(COLUMNS))


def _predictor(
    key: str, newborns: pd.DataFrame, state: pd.Series, due_h: float, lost: str, level: float, cluster: str
) -> dict[str, object]:
    passed = met(state)
    checked = passed.notna() & alive_at(newborns, due_h)
    known = checked & newborns[lost].notna()
    if not known.any():
        return {}
    failed = ~passed[known].to_numpy(dtype=bool)
    died = newborns.loc[known, lost].to_numpy(dtype=bool)
    litter = newborns.loc[known, cluster].to_numpy()
    counts = {
        "key": key,
        "n": len(died),
        "lost": int(died.sum()),
        "not_known": int(checked.sum() - known.sum()),
        "events": int(died[failed].sum()),
        "n_failed": int(failed.sum()),
        "events_passed": int(died[~failed].sum()),
        "n_passed": int((~failed).sum()),
    }
    return counts | _ratio(died, failed, litter, level) | _screened(failed, died, litter, level)


def _ratio(died: np.ndarray, failed: np.ndarray, litter: np.ndarray, level: float) -> dict[str, object]:
    found = compare(died, failed, cluster=litter, measure="risk_ratio", level=level)
    return {"ratio": found.estimate, "ratio_low": found.low, "ratio_high": found.high, "p": found.p}


def _screened(failed: np.ndarray, died: np.ndarray, litter: np.ndarray, level: float) -> dict[str, object]:
    found = screening(failed, died, cluster=litter, level=level)
    cells: dict[str, object] = {}
    for name in MEASURES:
        one = getattr(found, name)
        cells |= {name: one.estimate, f"{name}_low": one.low, f"{name}_high": one.high}
    return cells


def resuscitated(alive: pd.DataFrame, lost: str, level: float) -> pd.DataFrame:
    """Newborns by what was done (one newborn may stand in several rows), and the share lost in the window.

    Returns
    -------
    action, done (born alive with that written), difficult (of these after a difficult birth), events, n,
    share, low, high (lost of those followed); the last row is "anything done". Empty where nothing was
    recorded.
    """
    columns = ["action", "done", "difficult", "events", "n", "share", "low", "high"]
    if "resuscitation" not in alive or not alive["resuscitation"].notna().any():
        return pd.DataFrame(columns=columns)
    written = alive[alive["resuscitation"].notna()]
    said = written["resuscitation"].astype(str).str.split("; ")
    members = {term: said.map(lambda terms, term=term: term in terms) for term in RESUSCITATIONS}
    members[ANYTHING_DONE] = ~members["none"]
    rows = [_done_row(action, written[who], lost, level) for action, who in members.items() if who.any()]
    return pd.DataFrame(rows, columns=columns)


def _done_row(action: str, group: pd.DataFrame, lost: str, level: float) -> dict[str, object]:
    hard = int((group["difficulty"] == "difficult").sum()) if "difficulty" in group else 0
    known = group[group[lost].notna()]
    share: dict[Any, Any] = {"events": 0, "n": 0}
    if len(known):
        share = rates(known, (), lost, level=level).iloc[0].to_dict()
    return {"action": action, "done": len(group), "difficult": hard, **share}
