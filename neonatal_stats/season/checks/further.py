"""What the rows of samples, colostrum, examinations and treatments may contradict in themselves."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import Finding, found_in, say
from neonatal_stats.season.following.ages import answered
from neonatal_stats.season.gathering.gathered import Gathered
from neonatal_stats.vocabulary.fates import speaks_of_later_death

Rule = Callable[[Gathered], Finding | None]
MOST_SERUM_BRIX = 16.0
"""No serum reads so high (the founders' own limit, from memory): it is colostrum that was read."""
LOOK = say("look which of the two is right and mend the other")


def _held(events: Gathered, name: str) -> pd.Series:
    return events.frame.get(name, pd.Series(None, index=events.frame.index, dtype=object))


def _no_serum(events: Gathered) -> Finding | None:
    """A serum Brix that only colostrum reaches."""
    if "brix_pct" not in events.frame:
        return None
    high = events.frame["brix_pct"].astype(float) > MOST_SERUM_BRIX
    problem = say("no serum has such a Brix; it reads like colostrum")
    remedy = say(
        "if the list is of colostrum, say so in the map under [tables]; else look the value up again"
    )
    return found_in(events.frame, high, "brix_pct", problem, remedy, "set to missing")


def _before_birth(name: str) -> Rule:
    def rule(events: Gathered) -> Finding | None:
        """A moment before the birth that stands beside it."""
        if name not in events.frame or "born_at" not in events.frame:
            return None
        at, born = events.frame[name], events.frame["born_at"]
        early = at.dt.normalize() < born.dt.normalize()
        problem = say("it lies before the birth in the same row")
        return found_in(
            events.frame,
            early,
            name,
            problem,
            LOOK,
            "set to missing",
            (name, "age_h", "age_low_h", "age_high_h"),
        )

    return rule


def _unborn_signs(events: Gathered) -> Finding | None:
    """A carcass that had never breathed and yet had walked or fed."""
    later = answered(events.frame, "walked", True) | answered(events.frame, "fed", True)
    against = answered(events.frame, "breathed", False) & later
    problem = say("it is said never to have breathed, and yet to have walked or fed")
    return found_in(events.frame, against, "breathed", problem, LOOK, "set to missing")


def _unborn_and_dead_later(events: Gathered) -> Finding | None:
    """A carcass that had never breathed and yet died some time after birth, by its age or in words."""
    frame = events.frame
    aged = frame["age_low_h"].astype(float) >= 1 if "age_low_h" in frame else False
    said = _held(events, "finding").map(lambda text: speaks_of_later_death(str(text)), na_action="ignore")
    against = answered(frame, "breathed", False) & (aged | (said == True))  # noqa: E712
    problem = say("it is said never to have breathed, and yet to have died some time after birth")
    return found_in(frame, against, "breathed", problem, LOOK, "set to missing")


def _agent_without_finding(events: Gathered) -> Finding | None:
    """An agent beside a laboratory that is said to have found none."""
    none = _held(events, "laboratory").isin(("nothing found", "not sent"))
    against = np.asarray(none & _held(events, "agent").notna(), dtype=bool)
    problem = say("an agent is named, and yet the laboratory is said to have found none")
    return found_in(events.frame, against, "laboratory", problem, LOOK, "asked")


def _names_nothing(events: Gathered) -> Finding | None:
    """A row that names no animal and no date is a line that is no record."""
    names = [n for n in ("newborn_id", "dam_id", "milked_at", "examined_at", "died_at", "given_at", "sampled_at")
             if n in events.frame]  # fmt: skip
    none = events.frame[names].isna().all(axis=1) if names else pd.Series(True, index=events.frame.index)
    problem = say("the line names no animal and no date, so it is no record")
    return found_in(
        events.frame,
        none,
        names[0] if names else "newborn_id",
        problem,
        say("nothing need be done"),
        "no record",
    )


RULES: dict[str, tuple[Rule, ...]] = {
    "samples": (_names_nothing, _no_serum, _before_birth("sampled_at")),
    "colostrum": (_names_nothing, _before_birth("milked_at")),
    "examinations": (
        _names_nothing,
        _unborn_signs,
        _unborn_and_dead_later,
        _agent_without_finding,
        _before_birth("died_at"),
    ),
    "treatments": (_names_nothing,),
}
"""The rules of each table, in their order."""
