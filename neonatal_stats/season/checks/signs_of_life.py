"""Did a newborn that was born dead, or had died, stand, feed or breathe?"""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from neonatal_stats.season.finding import Finding, where
from neonatal_stats.season.following.ages import answered, born, column, is_day, span
from neonatal_stats.season.settings import Settings

Rule = Callable[[pd.DataFrame, Settings], Finding | None]
TIMED = {"stood_after_min": "stood", "fed_after_min": "was fed", "meconium_after_min": "passed meconium"}
SIGNS = {
    "stood_after_min": "stood",
    "fed_after_min": "was fed",
    "meconium_after_min": "passed meconium",
    "breathing_after_s": "breathed",
    "suck_reflex": "had a suck reflex",
    "mothered_up": "was mothered up",
    "last_alive_at": "was seen alive later",
    "left_at": "left alive",
    "last_seen_at": "was seen alive later",
}
WHICH = "look whether it was born alive or this belongs to another newborn"


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
    problem = "it was born dead, is said not to have died and showed a sign of life"
    return Finding(at, "born_alive", ["no"] * len(at), problem, "look what became of it", "set aside")


def sign_of_the_stillborn(name: str) -> Rule:
    """The rule that a newborn born dead shows no sign of life."""

    def rule(frame: pd.DataFrame, settings: Settings) -> Finding | None:
        if name not in frame:
            return None
        at = where(answered(frame, "born_alive", False) & _shown(frame, name))
        problem = f"it was born dead, and yet it {SIGNS[name]}; it stays counted as born dead"
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
    problem = "it was born dead, and yet a later time of death is given; it stays counted as born dead"
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
        problem = f"it {TIMED[name]} after it died"
        remedy = "look which of the two times is wrong and mend it"
        return Finding(at, name, frame[name].take(at).tolist(), problem, remedy, "set to missing")

    rule.__name__ = f"{name}_after_death"
    return rule


RULES: tuple[Rule, ...] = (
    born_dead_and_lived,
    *(sign_of_the_stillborn(name) for name in SIGNS),
    later_death_of_the_stillborn,
    *(after_death(name) for name in TIMED),
)
