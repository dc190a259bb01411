"""Do the times of one newborn, what is said to have become of it, and its examination agree with each other?

An examination says of its newborn that it died, and of what where its row gives no cause.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from neonatal_stats.season.cells.fates import AGES
from neonatal_stats.season.finding import EITHER, NO_NEED, Finding, Said, found_in, say, where
from neonatal_stats.season.following.ages import (
    Moments,
    answered,
    birth,
    born,
    day_of,
    elapsed_h,
    first_known,
    is_day,
    known,
    moments,
    numbers,
    span,
    words,
)
from neonatal_stats.season.following.links import newborn_of
from neonatal_stats.season.following.placing import when
from neonatal_stats.season.following.seasons import years_from_its_season
from neonatal_stats.season.grid import Mask, Rows
from neonatal_stats.season.ledger import Gathered, Rule
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.terms import STILLBIRTH

Rules = Callable[[pd.DataFrame, Settings], Iterator[Finding]]
BEFORE_BIRTH = {
    "died_at": say("it died before it was born"),
    "found_dead_at": say("it was found dead before it was born"),
    "last_alive_at": say("it was last seen alive before it was born"),
    "left_at": say("it left before it was born"),
    "last_seen_at": say("it was last seen before it was born"),
}
SEEN_DEAD = {
    "left_at": say("it left after it died; the death was kept"),
    "last_seen_at": say("it was last seen after it died; the death was kept"),
}
FIRST_AFTER_DEATH = {
    "stood_after_min": say("it stood after it died"),
    "fed_after_min": say("it was fed after it died"),
    "meconium_after_min": say("it passed meconium after it died"),
}
SIGNS = {
    "stood_after_min": say("it was born dead, and yet it stood; it stays counted as born dead"),
    "fed_after_min": say("it was born dead, and yet it was fed; it stays counted as born dead"),
    "meconium_after_min": say("it was born dead, and yet it passed meconium; it stays counted as born dead"),
    "breathing_after_s": say("it was born dead, and yet it breathed; it stays counted as born dead"),
    "suck_reflex": say("it was born dead, and yet it had a suck reflex; it stays counted as born dead"),
    "mothered_up": say("it was born dead, and yet it was mothered up; it stays counted as born dead"),
    "last_alive_at": say("it was born dead, and yet it was seen alive later; it stays counted as born dead"),
    "left_at": say("it was born dead, and yet it left alive; it stays counted as born dead"),
    "last_seen_at": say("it was born dead, and yet it was seen alive later; it stays counted as born dead"),
}
CLOCKS_FORWARD = say(
    "the clocks went forward and this time did not exist; the first moment after it was used"
)
CLOCKS_BACK = say(
    "the clocks went back and this time occurred twice; the reading without a negative age was used"
)
WHICH_TIME = say("look which of the two times is wrong and mend it")
WHICH_BIRTH = say("look whether it was born alive or this belongs to another newborn")
YEAR_H = 365 * 24
LATER, LATER_BESIDE = "died|later", "died|later beside"
"""Helper columns of births: what speaks of a death some time after birth, under ``died`` and in other columns."""
LIVED = "examinations|lived"
"""The helper column of births whose examination shows that they lived after birth."""
SIGN = "examinations|sign"
"""The helper column of births whose examination shows that they died, for `settled.settle`."""


def born_outside_the_season(frame: pd.DataFrame, settings: Settings) -> Finding:
    """Born two years or more away from the year that the season is called by."""
    start = birth(frame)
    at = where(years_from_its_season(start, words(frame, "season")))
    name = "born_at" if "born_at" in frame else "born_on"
    problem = say("it was born years away from its season")
    remedy = say("look at the year of birth and at the season")
    values = list(pd.DatetimeIndex(start[at]))
    return Finding(at, name, values, problem, remedy, "set to missing", ("born_at", "born_on"))


def two_days_of_birth(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """The date of birth is written twice and differs."""
    if "born_at" not in frame or "born_on" not in frame:
        return None
    at, on = moments(frame, "born_at"), moments(frame, "born_on")
    differ = (day_of(at) != day_of(on)) & known(at) & known(on)
    problem = say("the day of birth differs from the one in born_at, which was used")
    return found_in(frame, differ, "born_on", problem, WHICH_TIME, "set to missing")


def before_birth(frame: pd.DataFrame, settings: Settings) -> Iterator[Finding]:
    """A moment of the newborn's life that comes before its birth."""
    start, precision = born(frame)
    for name, problem in _held(BEFORE_BIRTH, frame):
        moment = moments(frame, name)
        by_day = (precision == "day") | is_day(frame, name)
        early = elapsed_h(start, moment, settings.time_zone) < 0
        early = np.where(by_day, day_of(moment) < day_of(start), early)
        yield found_in(frame, early, name, problem, WHICH_TIME, "set to missing")


def alive_after_found_dead(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Last seen alive after it was found dead."""
    later = _later(frame, "last_alive_at", "found_dead_at")
    problem = say("it was last seen alive after it was found dead")
    return found_in(frame, later, "last_alive_at", problem, WHICH_TIME, "set to missing")


def death_outside_its_bounds(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """The time of death does not lie between last alive and found dead."""
    outside = _later(frame, "last_alive_at", "died_at") | _later(frame, "died_at", "found_dead_at")
    problem = say("the time of death does not lie between last seen alive and found dead")
    return found_in(frame, outside, "died_at", problem, WHICH_TIME, "set to missing")


def slip_of_a_year(frame: pd.DataFrame, settings: Settings) -> Finding:
    """Dead a year or more after birth, and within follow-up if the year were that of the birth."""
    death = _death(frame)
    hours = elapsed_h(birth(frame), death, "")
    whole_years = np.floor(hours / YEAR_H)
    at = where((whole_years >= 1) & (hours - whole_years * YEAR_H <= settings.follow_up_h))
    problem = say("it died a year or more after birth, at the season's time of year: the year may be a slip")
    remedy = say("look at the year of birth and of death")
    values = list(pd.DatetimeIndex(death[at]))
    return Finding(at, "died_at", values, problem, remedy, "set aside", about="not readable")


def seen_dead(frame: pd.DataFrame, settings: Settings) -> Iterator[Finding]:
    """A dead newborn that leaves, or is seen alive."""
    for name, problem in _held(SEEN_DEAD, frame):
        late = _later(frame, name, "died_at", _death(frame))
        yield found_in(frame, late, name, problem, WHICH_TIME, "set to missing")


def clock_change(frame: pd.DataFrame, settings: Settings) -> Iterator[Finding]:
    """Local times that do not exist, or occur twice, in the night of a clock change."""
    remedy = say("no action needed; look only if an hour more or less matters here")
    for name in ("born_at", *BEFORE_BIRTH) if settings.time_zone else ():
        if name in frame:
            timed = np.where(is_day(frame, name), np.datetime64("NaT"), moments(frame, name))
            local = pd.DatetimeIndex(timed)
            absent, double = _odd_hours(local, ZoneInfo(settings.time_zone))
            at = where(absent | double)
            said = [CLOCKS_FORWARD if gone else CLOCKS_BACK for gone in absent[at]]
            yield Finding(at, name, list(local[at]), said, remedy, "noted")


def later_death_of_the_stillborn(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Said to have been born dead, and yet dead at a later time or age, which is the fuller record and is kept."""
    at = _dead_later(frame, answered(frame, "born_alive", False))
    problem = say(
        "it is said to have been born dead, and yet a later time of death is given; the later death was kept"
    )
    remedy = say(
        "look which is right; a column that says whether it is alive now belongs to died: say so in the map under "
        "[columns], and its heading tells how yes and no are meant"
    )
    values = _time_of_death(frame, at)
    return Finding(at, "born_alive", values, problem, remedy, "set to missing", about="outcome")


def stillbirth_of_the_later_dead(frame: pd.DataFrame, settings: Settings) -> Finding:
    """The cause is stillbirth, and yet it died at a later time or age: the age is kept, and why it died is open."""
    at = _dead_later(frame, _said_stillbirth(frame))
    problem = say(
        "the cause is stillbirth, and yet it died after birth; the time or age of death was kept, it is not counted "
        "as born dead, and its cause is open: which of the two is right?"
    )
    values = _time_of_death(frame, at)
    return Finding(at, "cause", values, problem, EITHER, "set to missing", about="outcome")


def stillbirth_and_later_death_in_words(frame: pd.DataFrame, settings: Settings) -> Iterator[Finding]:
    """Born dead by one word of its row, and dead some time after birth by another ("died next day")."""
    caused = _said_stillbirth(frame)
    still = answered(frame, "born_alive", False) | caused
    told, beside = words(frame, LATER), words(frame, LATER_BESIDE)
    in_words = pd.notna(told)
    problem = say(
        "it is said to have been born dead, and yet to have died later; it is not counted as born dead, and when "
        "it died is open: which of the two is right?"
    )
    clears = tuple(name for name in ("born_alive", "cause") if name in frame)
    for rows, cleared in (
        (still & in_words & caused, clears),
        (still & in_words & ~caused, tuple(name for name in clears if name == "born_alive")),
    ):
        at = where(rows)
        yield Finding(at, "died", told[at].tolist(), problem, EITHER, "set to missing", cleared, "outcome")
    at = where(still & ~in_words & pd.notna(beside))
    problem = say(
        "it is counted as born dead, and yet its row speaks of a later death: which of the two is right?"
    )
    yield Finding(at, "born_alive", beside[at].tolist(), problem, EITHER, "asked", about="outcome")


def stillbirth_that_breathed(frame: pd.DataFrame, settings: Settings) -> Iterator[Finding]:
    """Written down as born dead, and yet its examination says that it breathed, walked or fed."""
    if LIVED not in frame:
        return
    lived, said = answered(frame, LIVED, True), _said_stillbirth(frame)
    told = lived & ~said & answered(frame, "born_alive", False)
    problem = say(
        "it is written down as born dead, and yet its examination says that it had lived; it is not counted as born "
        "dead, and its cause is open: which of the two is right?"
    )
    for rows, name in ((lived & said, "cause"), (told, "born_alive")):
        clears = tuple(dict.fromkeys((name, "born_alive")))
        yield found_in(frame, rows, name, problem, EITHER, "set to missing", clears, "outcome")


def born_dead_and_lived(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Born dead, said not to have died, and showed a sign of life: no honest outcome."""
    asked = _dead_and_alive(frame)
    if not asked.any():
        return None
    at = where(asked & np.logical_or.reduce([_shown(frame, name) for name in SIGNS]))
    problem = say("it was born dead, is said not to have died and showed a sign of life")
    remedy = say("look what became of it")
    return Finding(at, "born_alive", ["no"] * len(at), problem, remedy, "set aside", about="not readable")


def signs_of_the_stillborn(frame: pd.DataFrame, settings: Settings) -> Iterator[Finding]:
    """A newborn born dead that shows a sign of life."""
    still = answered(frame, "born_alive", False)
    for name, problem in _held(SIGNS, frame) if still.any() else ():
        yield found_in(frame, still & _shown(frame, name), name, problem, WHICH_BIRTH, "set to missing")


def first_after_death(frame: pd.DataFrame, settings: Settings) -> Iterator[Finding]:
    """What happened to a newborn for the first time after its death."""
    start, precision = born(frame)
    timed = (precision == "time") & ~is_day(frame, "died_at")
    for name, problem in _held(FIRST_AFTER_DEATH, frame):
        happened = start + span(numbers(frame, name), 60)
        late = timed & (happened > moments(frame, "died_at"))
        yield found_in(frame, late, name, problem, WHICH_TIME, "set to missing")


def stillbirth_of_the_born_alive(frame: pd.DataFrame, settings: Settings) -> Finding:
    """The cause is stillbirth, and yet it was born alive."""
    wrong = answered(frame, "born_alive", True) & _said_stillbirth(frame)
    problem = say("the cause is stillbirth, and yet it was born alive")
    return found_in(frame, wrong, "cause", problem, EITHER, "set to missing")


def stillborn_that_did_not_die(frame: pd.DataFrame, settings: Settings) -> Finding:
    """Born dead and "died: no": read as born dead, since there was no later death."""
    at = where(_dead_and_alive(frame))
    problem = say("it was born dead and is said not to have died; it is counted as born dead")
    remedy = say("write yes in died for the born dead too")
    return Finding(at, "died", ["no"] * len(at), problem, remedy, "noted", about="outcome")


RULES: tuple[Rule | Rules, ...] = (
    born_outside_the_season,
    two_days_of_birth,
    before_birth,
    alive_after_found_dead,
    death_outside_its_bounds,
    slip_of_a_year,
    seen_dead,
    clock_change,
    later_death_of_the_stillborn,
    stillbirth_of_the_later_dead,
    stillbirth_and_later_death_in_words,
    stillbirth_that_breathed,
    born_dead_and_lived,
    signs_of_the_stillborn,
    first_after_death,
    stillbirth_of_the_born_alive,
    stillborn_that_did_not_die,
)
"""In their order: each sees what those before it set to missing."""


def _held(sentences: dict[str, Said], frame: pd.DataFrame) -> Iterator[tuple[str, Said]]:
    """The columns that the frame has, one at a time, each with its sentence."""
    return ((name, problem) for name, problem in sentences.items() if name in frame)


def _death(frame: pd.DataFrame) -> Moments:
    return first_known(moments(frame, "died_at"), moments(frame, "found_dead_at"))


def _said_stillbirth(frame: pd.DataFrame) -> Mask:
    return np.asarray(words(frame, "cause") == STILLBIRTH)


def _dead_later(frame: pd.DataFrame, asked: Mask) -> Rows:
    """The rows, of those asked about, in which a time or an age of death after birth is written."""
    if not asked.any():
        return where(asked)
    (start, precision), death = born(frame), moments(frame, "died_at")
    by_day = (precision == "day") | is_day(frame, "died_at")
    later = np.where(by_day, day_of(death) > day_of(start), death > start)
    return where(asked & np.logical_or.reduce([later, *(numbers(frame, name) > 0 for name in AGES)]))


def _time_of_death(frame: pd.DataFrame, at: Rows) -> list[object]:
    """The time of death as written in some rows, else the age."""
    found = pd.Series(moments(frame, "died_at")[at]).astype(object)
    for name in AGES:
        if name in frame:
            found = found.where(found.notna(), frame[name].take(at).to_numpy(dtype=object))
    return found.tolist()


def _dead_and_alive(frame: pd.DataFrame) -> Mask:
    return answered(frame, "born_alive", False) & answered(frame, "died", False)


def _later(frame: pd.DataFrame, a: str, b: str, second: Moments | None = None) -> Mask:
    """True where moment ``a`` is after ``b``, by day where either is known to the day only."""
    by_day = is_day(frame, a) | is_day(frame, b)
    first, second = moments(frame, a), moments(frame, b) if second is None else second
    return np.where(by_day, day_of(first) > day_of(second), first > second)


def _odd_hours(local: pd.DatetimeIndex, zone: ZoneInfo) -> tuple[Mask, Mask]:
    """Moments that do not exist in the zone, and those that occur twice."""
    never = local.tz_localize(zone, nonexistent="NaT", ambiguous=np.ones(len(local), dtype=bool))
    twice = local.tz_localize(zone, ambiguous="NaT", nonexistent="shift_forward")
    there = np.asarray(local.notna())
    return np.asarray(never.isna()) & there, np.asarray(twice.isna()) & there


def _shown(frame: pd.DataFrame, name: str) -> Mask:
    """True where a column shows that the newborn lived."""
    if name not in frame:
        return np.zeros(len(frame), dtype=bool)
    if name == "suck_reflex":
        return frame[name].isin(("strong", "weak")).to_numpy()
    if name == "mothered_up":
        return np.asarray(words(frame, name) == "yes")
    if name in ("last_alive_at", "left_at", "last_seen_at"):
        return day_of(moments(frame, name)) > day_of(birth(frame))
    return frame[name].notna().to_numpy()


def examined_dead(births: Gathered, examinations: Gathered) -> None:
    """Mark the newborns of examinations as dead before outcomes are settled; those said to live are asked about.

    A newborn is known by its identity alone here: an examination that names only the dam makes no death.
    """
    frame = births.frame
    if not len(births.origin) or not len(examinations.origin) or "newborn_id" not in frame:
        return
    kept = examinations.frame[examinations.ledger.kept]
    numbered = frame.assign(newborn=np.arange(len(frame)), born=birth(frame))
    places, _ = newborn_of(kept.assign(when=when("examinations", kept)), numbered, "when")
    opened = np.zeros(len(frame), dtype=bool)
    opened[places.dropna().astype(int).to_numpy()] = True
    nothing = pd.Series(None, index=frame.index, dtype=object)
    state = frame.get("died|state", nothing).astype(object)
    living = opened & (state == "alive").to_numpy()
    problem = say("its carcass was examined, and it is said not to have died; it was counted as dead")
    remedy = say("look which of the two is right and mend the other")
    births.enter(found_in(frame, living, "died", problem, remedy, "asked", about="outcome"))
    births.frame = frame.assign(
        **{"died|state": state.mask(living, "dead"), SIGN: nothing.mask(opened, "dead")}
    )
    births.frame[LIVED] = _lived(kept, places, len(frame))
    if living.any():
        births.frame["died"] = frame["died"].mask(living, True)
    _causes(births, kept, places)


def with_keepers_stillbirths(examinations: pd.DataFrame, refuted: pd.Series) -> pd.DataFrame:
    """The examinations with "stillbirth" as the keeper's word, where a birth's row said so and was not believed.

    ``refuted`` holds the newborns (numbers as in ``examinations``) that were written down as born dead.
    """
    if examinations.empty or refuted.empty:
        return examinations
    own = examinations.get("keeper_cause", pd.Series(None, index=examinations.index, dtype=object)).astype(
        object
    )
    said = own.isna() & examinations["newborn"].isin(refuted)
    return examinations.assign(keeper_cause=own.mask(said, STILLBIRTH)) if said.any() else examinations


def _lived(examined: pd.DataFrame, places: pd.Series, n: int) -> Mask:
    """The newborns that had breathed, walked or fed, by their examination."""
    signs = [answered(examined, name, True) for name in ("breathed", "walked", "fed")]
    lived = np.zeros(n, dtype=bool)
    lived[places[np.logical_or.reduce(signs) & places.notna()].astype(int).to_numpy()] = True
    return lived


def _causes(births: Gathered, examined: pd.DataFrame, places: pd.Series) -> None:
    """Where a birth's row gives no cause, that of its examination, with what it rests on; a written one stays."""
    if "cause" not in examined:
        return
    said = examined["cause"].notna() & (examined["cause"] != "unknown") & places.notna()
    rows = places[said].astype(int).to_numpy()
    nothing = pd.Series(None, index=births.frame.index, dtype=object)
    basis = examined.get("cause_basis", pd.Series(None, index=examined.index, dtype=object))
    found, rests = nothing.copy(), nothing.copy()
    found.iloc[rows] = examined["cause"][said].to_numpy(dtype=object)
    rests.iloc[rows] = basis[said].where(basis[said].notna(), "post-mortem").to_numpy(dtype=object)
    own = births.frame.get("cause", nothing).astype(object)
    blank = found.notna() & (own.isna() | (own == "unknown"))
    problem = say("its row gives no cause of loss; that of its examination was taken")
    births.enter(found_in(births.frame, blank, "cause", problem, NO_NEED, "noted"))
    old = births.frame.get("cause_basis", nothing).astype(object)
    births.frame = births.frame.assign(cause=own.mask(blank, found), cause_basis=old.mask(blank, rests))
