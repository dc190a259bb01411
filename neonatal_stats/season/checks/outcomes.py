"""Does the row say what became of the newborn, and does it say so once?"""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from neonatal_stats.season.finding import Finding, say, where
from neonatal_stats.season.following.ages import answered, born, column, is_day, span
from neonatal_stats.season.settings import Settings

ALIVE_COLUMNS = ("left_at", "last_seen_at")
EITHER = say("look which of the two is right and mend the other")
Rule = Callable[[pd.DataFrame, Settings], Finding | None]
AFTER_DEATH = {
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
WHICH = say("look whether it was born alive or this belongs to another newborn")


def no_outcome(frame: pd.DataFrame, settings: Settings) -> Finding:
    """Nothing says whether it lived: not used.

    Where "died" is a column in which somebody wrote "no", an empty cell is not an answer; where only deaths are
    written down at all, an empty cell means alive.
    """
    nobody = pd.Series(pd.NA, index=frame.index, dtype="boolean")
    written_no = answered(frame, "died", False)
    answers_both_ways = written_no.groupby(frame["farm"].astype(str) + "\0" + frame["season"].astype(str))
    told = frame.get("died", nobody).notna() | answered(frame, "born_alive", False) | _dated(frame)
    told |= frame["cause"].notna() if "cause" in frame else False
    open_ = ~told & answers_both_ways.transform("any")
    at = where(open_)
    return Finding(
        at,
        "died",
        [None] * len(at),
        say("nothing in the row says whether the newborn lived or died"),
        say("write yes or no in died, or a date in died_at or last_seen_at"),
        "set aside",
    )


def _dated(frame: pd.DataFrame) -> pd.Series:
    names = ("died_at", "found_dead_at", *ALIVE_COLUMNS)
    return pd.concat([column(frame, name).notna() for name in names], axis=1).any(axis=1)


def alive_with_a_time_of_death(frame: pd.DataFrame, settings: Settings) -> Finding:
    """Said not to have died, and yet a time of death is given."""
    times = column(frame, "died_at").fillna(column(frame, "found_dead_at"))
    contradicted = answered(frame, "died", False) & times.notna() & ~answered(frame, "born_alive", False)
    at = where(contradicted)
    problem = say("it is said not to have died, and yet a time of death is given")
    return Finding(at, "died", times.take(at).tolist(), problem, EITHER, "set aside")


def cause_without_a_loss(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """A cause of loss for a newborn that was not lost."""
    if "cause" not in frame:
        return None
    kept = answered(frame, "died", False) & frame["cause"].notna() & ~answered(frame, "born_alive", False)
    at = where(kept)
    problem = say("a cause of loss is given for a newborn that did not die")
    return Finding(at, "cause", frame["cause"].take(at).tolist(), problem, EITHER, "set to missing")


def stillbirth_of_the_born_alive(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """The cause is stillbirth, and yet it was born alive."""
    if "cause" not in frame:
        return None
    at = where(answered(frame, "born_alive", True) & (frame["cause"] == "stillbirth"))
    problem = say("the cause is stillbirth, and yet it was born alive")
    return Finding(at, "cause", ["stillbirth"] * len(at), problem, EITHER, "set to missing")


def stillborn_that_did_not_die(frame: pd.DataFrame, settings: Settings) -> Finding:
    """Born dead and "died: no": read as born dead, since there was no later death."""
    at = where(answered(frame, "born_alive", False) & answered(frame, "died", False))
    problem = say("it was born dead and is said not to have died; it is counted as born dead")
    return Finding(
        at, "died", ["no"] * len(at), problem, say("write yes in died for the born dead too"), "noted"
    )


RULES = (
    no_outcome,
    alive_with_a_time_of_death,
    cause_without_a_loss,
    stillbirth_of_the_born_alive,
    stillborn_that_did_not_die,
)


def _shown(frame: pd.DataFrame, name: str) -> pd.Series:
    """True where a column shows that the newborn lived."""
    if name not in frame:
        return pd.Series(False, index=frame.index)
    if name == "suck_reflex":
        return frame[name].isin(("strong", "weak"))
    if name == "mothered_up":
        return frame[name] == "yes"
    if name in ("last_alive_at", "left_at", "last_seen_at"):
        start, _ = born(frame)
        later: pd.Series = frame[name].dt.normalize() > start.dt.normalize()
        return later
    return frame[name].notna()


def born_dead_and_lived(frame: pd.DataFrame, settings: Settings) -> Finding:
    """Born dead, said not to have died, and showed a sign of life: no honest outcome."""
    lived = pd.concat([_shown(frame, name) for name in SIGNS], axis=1).any(axis=1)
    at = where(answered(frame, "born_alive", False) & answered(frame, "died", False) & lived)
    problem = say("it was born dead, is said not to have died and showed a sign of life")
    return Finding(at, "born_alive", ["no"] * len(at), problem, say("look what became of it"), "set aside")


def sign_of_the_stillborn(name: str) -> Rule:
    """The rule that a newborn born dead shows no sign of life."""

    def rule(frame: pd.DataFrame, settings: Settings) -> Finding | None:
        if name not in frame:
            return None
        at = where(answered(frame, "born_alive", False) & _shown(frame, name))
        problem = SIGNS[name]
        return Finding(at, name, frame[name].take(at).tolist(), problem, WHICH, "set to missing")

    rule.__name__ = f"{name}_of_the_stillborn"
    return rule


def later_death_of_the_stillborn(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Born dead, and yet dead at a later day."""
    if "died_at" not in frame:
        return None
    start, precision = born(frame)
    by_day = (precision == "day") | is_day(frame, "died_at")
    later = (frame["died_at"] > start).where(~by_day, frame["died_at"].dt.normalize() > start.dt.normalize())
    at = where(answered(frame, "born_alive", False) & later.astype(bool))
    problem = say("it was born dead, and yet a later time of death is given; it stays counted as born dead")
    return Finding(at, "died_at", frame["died_at"].take(at).tolist(), problem, WHICH, "set to missing")


def after_death(name: str) -> Rule:
    """The rule that nothing happens to a newborn for the first time after its death."""

    def rule(frame: pd.DataFrame, settings: Settings) -> Finding | None:
        if name not in frame:
            return None
        start, precision = born(frame)
        timed = (precision == "time") & ~is_day(frame, "died_at")
        happened = start + span(frame[name].astype(float), 60)
        at = where(timed & (happened > column(frame, "died_at")))
        problem = AFTER_DEATH[name]
        remedy = say("look which of the two times is wrong and mend it")
        return Finding(at, name, frame[name].take(at).tolist(), problem, remedy, "set to missing")

    rule.__name__ = f"{name}_after_death"
    return rule


SIGN_RULES: tuple[Rule, ...] = (
    born_dead_and_lived,
    *(sign_of_the_stillborn(name) for name in SIGNS),
    later_death_of_the_stillborn,
    *(after_death(name) for name in AFTER_DEATH),
)
