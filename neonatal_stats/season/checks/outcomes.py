"""Does the row say what became of the newborn, and does it say so once?"""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from neonatal_stats.season.finding import Finding, say, where
from neonatal_stats.season.following.ages import answered, born, column, is_day, span
from neonatal_stats.season.settings import Settings

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
    remedy = say("write yes in died for the born dead too")
    return Finding(at, "died", ["no"] * len(at), problem, remedy, "noted", about="outcome")


RULES = (
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
    remedy = say("look what became of it")
    return Finding(at, "born_alive", ["no"] * len(at), problem, remedy, "set aside", about="not readable")


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
    """Said to have been born dead, and yet dead at a later time, which is the fuller record and is kept."""
    if "died_at" not in frame:
        return None
    start, precision = born(frame)
    by_day = (precision == "day") | is_day(frame, "died_at")
    later = (frame["died_at"] > start).where(~by_day, frame["died_at"].dt.normalize() > start.dt.normalize())
    at = where(answered(frame, "born_alive", False) & later.astype(bool))
    problem = say(
        "it is said to have been born dead, and yet a later time of death is given; the later death was kept"
    )
    remedy = say(
        "look which is right; a column that says whether it is alive now belongs to died: say so in the map under "
        "[columns], and its heading tells how yes and no are meant"
    )
    values = frame["died_at"].take(at).tolist()
    return Finding(at, "born_alive", values, problem, remedy, "set to missing", about="outcome")


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
    later_death_of_the_stillborn,
    born_dead_and_lived,
    *(sign_of_the_stillborn(name) for name in SIGNS),
    *(after_death(name) for name in AFTER_DEATH),
)
