"""The first hours, counted: the checks and how each newborn stood when they were due, the time to each, who was behind,
what went with a loss, and what was done to start newborns breathing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.formulas import screening
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.measures.claims import Claim, claims_of, keyed, over_readings
from neonatal_stats.measures.contrasts import CONTRAST, SHOWN, by_factor, contrast_rows, held_against
from neonatal_stats.measures.milestones import (
    EARLIEST,
    FEEDING,
    LATEST,
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
from neonatal_stats.measures.rates import Counted, rates, too_few
from neonatal_stats.measures.windows import last_early_window, watched_weight
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Marks, Settings
from neonatal_stats.vocabulary.terms import ANYTHING_DONE, RESUSCITATIONS

KEYS = ("breathing", "suck", "standing", "standing_late", "feeding", "meconium")
"""The checks, in the order of the first hours."""
FACTORS = ("birth_type", "difficulty", "parity_class", "weight_class", "season")
"""What the groups that may be behind are made by."""
TIMED = {"standing": STANDING, "feeding": FEEDING, "meconium": MECONIUM}
BEHIND_CHECKS = ("suck", "standing", "feeding")
HORIZON_H = 12.0
SCREENED = (
    "sensitivity",
    "specificity",
    "positive_predictive_value",
    "negative_predictive_value",
    "positive_likelihood_ratio",
    "negative_likelihood_ratio",
)
"""How a check foretells a loss, "not met" being its positive test."""


@dataclass(frozen=True)
class Reading:
    """One way to take what the records leave open.

    ``met`` and ``others`` say where the deaths between two checks fall of those that had met a mark and of those that
    had not (`measures.milestones.alive_at`); ``blank_feeds`` the state of those of which it is not known whether they
    had fed by the mark.
    """

    met: str = EARLIEST
    others: str = EARLIEST
    blank_feeds: str = "not observed"


ANSWER = Reading()
READINGS = (
    Reading(met=LATEST), Reading(others=LATEST), Reading(blank_feeds="met"), Reading(blank_feeds="not met"),
)  # fmt: skip
"""Beside the answer, the outermost that the records allow: a comparison is as strong as the weakest of them."""


@dataclass(frozen=True, eq=False)
class FirstHours(Shown):
    """The first hours of the newborns born alive.

    ``states`` one row a check: key, due_h, the four counts (met, not met, died before it was due, not
    observed) and the rate of those observed; ``curves`` a ``curve`` frame per timed milestone;
    ``by_birth_type`` the same for the first feed by birth type, and ``few`` the birth types too small to draw, with n
    and litters; ``behind`` a contrast frame a check of how often each
    group did not meet it (check, then as `measures.contrasts.by_factor`); ``predictors`` one of those that did not
    meet a check against those that did, lost in ``window``; both keyed and read in every way of `READINGS`
    (`measures.claims.over_readings`); ``resuscitation`` a ``rates`` frame of what was done and how many were lost;
    ``period`` the seasons counted.
    """

    states: pd.DataFrame
    curves: Mapping[str, pd.DataFrame]
    by_birth_type: pd.DataFrame
    few: pd.DataFrame
    behind: pd.DataFrame
    predictors: pd.DataFrame
    window: str
    resuscitation: pd.DataFrame
    period: tuple[str, ...]
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
    alive = births[~births["stillborn"]]
    found = checks(alive, settings.marks)
    others = [checks(alive, settings.marks, one) for one in READINGS]
    window, lost = last_early_window(settings)
    curves = {key: _curve(alive, key, settings) for key in TIMED if any(check.key == key for check in found)}
    fed_by_type = (
        _curve(alive, "feeding", settings, ("birth_type",)) if "feeding" in curves else pd.DataFrame()
    )
    return FirstHours(
        states=_states(alive, found, settings),
        curves=curves,
        by_birth_type=fed_by_type,
        few=too_few(alive, "birth_type", settings.minimum_group),
        behind=over_readings(
            _behind(alive, found, settings),
            [_behind(alive, changed(found, one, "state"), settings) for one in others],
        ),
        predictors=over_readings(
            predictors(alive, found, (window, lost), settings),
            [
                predictors(alive, changed(found, one, "state", "alive"), (window, lost), settings)
                for one in others
            ],
        ),
        window=window,
        resuscitation=resuscitated(alive, lost, settings.level),
        period=season.seasons,
        counted=Counted(len(alive), left_out=(("stillborn", len(births) - len(alive)),)),
        settings=settings,
        species=season.species,
    )


def claims(result: FirstHours) -> tuple[Claim, ...]:
    """Each check against loss in the window, and each group against its reference in meeting a mark.

    Standing by the two marks is one line, the suck reflex is one with its group among all groups, and so are the marks
    that one factor's groups missed.
    """
    behind = result.behind
    of_checks = claims_of(
        result.predictors,
        chapter="first_hours",
        family="first hours",
        line=result.predictors["check"].astype(str).str.removesuffix("_late").replace("suck", "suck_class"),
        period=result.period,
        settings=result.settings,
        weakest=result.predictors["weakest"],
    )
    of_groups = claims_of(
        behind,
        chapter="first_hours",
        family="first hours",
        line="marks missed by " + behind["factor"].astype(str),
        period=result.period,
        settings=result.settings,
        weakest=behind["weakest"],
    )
    return (*of_checks, *of_groups)


@dataclass(frozen=True, eq=False)
class Check:
    """One check: its key, the age at which it is due, each newborn's state (missing for the stillborn), and whether it
    was alive then.
    """

    key: str
    due_h: float
    state: pd.Series
    alive: pd.Series


def checks(newborns: pd.DataFrame, marks: Marks, reading: Reading = ANSWER) -> tuple[Check, ...]:
    """Every check of which at least one newborn was observed, in the order of the first hours."""
    found = [*_plain(newborns, marks), *_timed(newborns, marks, reading)]
    seen = [check for check in found if check.state.isin(["met", "not met"]).any()]
    return tuple(sorted(seen, key=lambda check: KEYS.index(check.key)))


def changed(answer: Sequence[Check], read: Sequence[Check], *what: str) -> tuple[Check, ...]:
    """The checks in which another reading puts anybody elsewhere, by ``state`` or by ``alive``."""
    same = {one.key: one for one in answer}
    return tuple(
        one
        for one in read
        if one.key in same
        and not all(getattr(one, name).equals(getattr(same[one.key], name)) for name in what)
    )


def _plain(newborns: pd.DataFrame, marks: Marks) -> list[Check]:
    """Checks with a plain answer: breathing and suck reflex. One that was checked was alive."""
    passed, due_h = {}, {"breathing": marks.breathing_s / 3600, "suck": marks.suck_reflex_min / 60}
    if "breathing_after_s" in newborns:
        seconds = newborns["breathing_after_s"].astype(float)
        passed["breathing"] = (seconds <= marks.breathing_s).astype("boolean").where(seconds.notna())
    if "suck_class" in newborns:
        suck = newborns["suck_class"]
        passed["suck"] = (suck == "strong").astype("boolean").where(suck.notna())
    return [
        Check(
            key, due_h[key], state_of_check(newborns, one, due_h[key]), alive_at(newborns, due_h[key], LATEST)
        )
        for key, one in passed.items()
    ]


def _timed(newborns: pd.DataFrame, marks: Marks, reading: Reading) -> list[Check]:
    """Checks of an hour: standing, feeding and meconium."""
    timed = (
        Milestone("standing", *STANDING, marks.standing_h),
        Milestone("standing_late", *STANDING, marks.standing_late_h),
        Milestone("feeding", *FEEDING, marks.fed_h),
        Milestone("meconium", *MECONIUM, marks.meconium_h),
    )
    return [_read(newborns, one, reading) for one in timed]


def _read(newborns: pd.DataFrame, milestone: Milestone, reading: Reading) -> Check:
    """One check of an hour in one reading."""
    due_h = milestone.due_h
    state = state_when_due(newborns, milestone, reading.others)
    if milestone.key == "feeding":
        state = state.mask(state == "not observed", reading.blank_feeds)
    those_met, others = (alive_at(newborns, due_h, placed) for placed in (reading.met, reading.others))
    return Check(milestone.key, due_h, state, those_met.where(state == "met", others))


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
    """Groups that met a mark less often: the event is "not met", of those observed; q over the groups of a check."""
    narrow = alive[[name for name in (*FACTORS, "cluster") if name in alive]]
    parts = [
        by_factor(
            narrow.assign(behind=~met(check.state)), FACTORS, outcome="behind", settings=settings
        ).assign(check=check.key)
        for check in found
        if check.key in BEHIND_CHECKS
    ]
    columns = ["check", "factor", "group", *CONTRAST, *SHOWN]
    whole = pd.concat(parts, ignore_index=True)[columns] if parts else pd.DataFrame(columns=columns)
    return keyed(whole, "first_hours", "behind")


def predictors(
    newborns: pd.DataFrame,
    found: tuple[Check, ...],
    window: tuple[str, str],
    settings: Settings,
    *,
    cluster: str = "cluster",
) -> pd.DataFrame:
    """How well "not met" at the due age foretold death in the window.

    Parameters
    ----------
    newborns : born alive, as `follow` leaves them.
    window : name of a window of loss and its yes-no column, missing where the outcome in it is not known.

    Returns
    -------
    A keyed contrast frame, one row a check: check, those that had not met it against "met"; then not_known, how many
    were checked but their outcome in the window is not known, and the measures `SCREENED`, each with _low and _high.

    Counted
    -------
    Alive when the check was due (`Check.alive`), observed, and followed through the window. A death known only to
    the hour counts as after the check when it falls in the hour of the check.

    Method
    ------
    Clustered risk ratio of those that had not against those that had, those followed standing also for those that left
    before the window's end (`measures.windows.watched_weight`); clustered screening measures.
    """
    rows = [_predictor(newborns, check, window, settings, cluster) for check in found]
    extra = ("not_known", *(f"{name}{side}" for name in SCREENED for side in ("", "_low", "_high")))
    frame = contrast_rows(filter(None, rows), ("check",), settings=settings, extra=extra)
    return keyed(frame, "first_hours", "lost")


def _predictor(
    newborns: pd.DataFrame, check: Check, window: tuple[str, str], settings: Settings, cluster: str
) -> dict[str, object]:
    """One check; empty where nobody that was checked was followed."""
    passed, lost, level = met(check.state), window[1], settings.level
    asked = list(dict.fromkeys(("died", "age_h", "age_known", lost, cluster)))
    checked = newborns.loc[passed.notna() & check.alive, asked]
    known = checked[checked[lost].notna()]
    if known.empty:
        return {}
    failed = ~passed[known.index].to_numpy(dtype=bool)
    arms = [watched_weight(arm, *window, settings) for _, arm in checked.groupby(passed[checked.index])]
    weight = pd.concat(arms)[known.index].to_numpy(float)
    against = held_against(known, failed, lost, "risk ratio", level, cluster, weight)
    screened = screening(
        failed, known[lost].to_numpy(dtype=bool), cluster=known[cluster].to_numpy(), level=level
    )
    row = {"check": check.key, "versus": "met", **against, "not_known": len(checked) - len(known)}
    for name in SCREENED:
        one: Estimate = getattr(screened, name)
        row |= {name: one.estimate, f"{name}_low": one.low, f"{name}_high": one.high}
    return row


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
