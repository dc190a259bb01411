"""All rules in their order: over the births, over what was joined to them, and what lists contradict in themselves."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

import numpy as np
import pandas as pd

from neonatal_stats.season.checks import identity
from neonatal_stats.season.checks.agreement import RULES as RULES_OF_BIRTHS
from neonatal_stats.season.checks.ranges import NOT_UNDERSTOOD, ask_about_units, implausible
from neonatal_stats.season.checks.settled import Settled
from neonatal_stats.season.finding import EITHER, NO_NEED, Finding, found_in, say
from neonatal_stats.season.following.ages import answered
from neonatal_stats.season.following.links import TIME_OF, count_litters, join_newborns, litter_codes
from neonatal_stats.season.following.placing import beside_births, place_alone, place_among
from neonatal_stats.season.ledger import Gathered
from neonatal_stats.season.records_map import RecordsMap
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.fates import speaks_of_later_death

WHICH = say("look at the newborn's identity and at both times")
BEFORE_BIRTH = {
    "feeds": say("it was fed before it was born"),
    "samples": say("it was sampled before it was born"),
}
AFTER_DEATH = {"feeds": say("it was fed after it died"), "samples": say("it was sampled after it died")}
Rule = Callable[[Gathered], Finding | None]
MOST_SERUM_BRIX = 16.0
"""No serum reads so high (the founders' own limit, from memory): it is colostrum that was read."""


def check_births(births: Gathered, settled: Settled, records_map: RecordsMap, settings: Settings) -> None:
    """Hold the births against every rule; each rule sees what those before it set to missing.

    Rows written twice go first, so that litters are counted without them but with every row that is set aside later.
    """
    species = births.frame["species"]
    declared = records_map.of("births").units
    told_of = species.mask(births.ledger.emptied("species"), NOT_UNDERSTOOD)
    ask_about_units("births", births.frame, births.origin, told_of, declared, settings)
    identity.part_litters(births)
    _find_rows_written_twice(births)
    births.enter_all(implausible("births", births.frame, species, settings))
    identity.part_fostered(births)
    births.enter_all(identity.dams_alike(births))
    litter = litter_codes(births.frame[births.ledger.kept])
    births.enter_among_kept(partial(rule, litter=litter) for rule in identity.LITTER_RULES)
    births.frame = count_litters(births.frame, births.ledger.kept)
    births.enter_all(settled.findings)
    for rule in RULES_OF_BIRTHS:
        found = rule(births.frame, settings)
        births.enter_all([found] if found is None or isinstance(found, Finding) else found)


def _find_rows_written_twice(births: Gathered) -> None:
    """Rows of one newborn, but not rows of littermates that share a number."""
    if identity.no_identity_twice(births.frame):
        if not identity.identified(births.frame).all():
            births.enter_among_kept((identity.same_row_twice,))
        return
    shared = identity.shared_numbers(births)
    identity.under_two_dams(births)
    identity_ = births.frame.get("newborn_id")
    if identity_ is not None and shared.any():
        births.frame["newborn_id"] = identity.told_apart(identity_, shared)
    births.enter_among_kept((identity.same_row_twice, *identity.RULES))
    if identity_ is not None and shared.any():
        births.frame["newborn_id"] = births.frame["newborn_id"].where(~shared, identity_)


def check_events(
    events: Gathered, births: pd.DataFrame, units: Mapping[str, str], settings: Settings
) -> None:
    """Join feeds or samples to their newborns and hold them against their rules."""
    kinds = births["species"].unique()
    join_newborns(events, births, settings)
    species = events.frame["newborn"].map(births["species"]).fillna(kinds[0] if len(kinds) == 1 else "")
    ask_about_units(events.table, events.frame, events.origin, species, units, settings)
    events.enter(_same_row_twice(events))
    events.enter_all(implausible(events.table, events.frame, species, settings))
    if TIME_OF[events.table] in events.frame:
        events.enter(_before_birth(events, births))
        events.enter(_after_death(events, births))
    if events.table == "samples":
        beside_births(events, births, settings)


def check_further(
    events: Gathered, births: pd.DataFrame, units: Mapping[str, str], settings: Settings
) -> None:
    """Place the rows of a table that may stand without births, and hold them against their rules."""
    own = events.frame.get("species", pd.Series("", index=events.frame.index)).fillna("").astype(object)
    if len(births):
        place_among(events, births, settings)
        kinds = births["species"].unique()
        theirs = events.frame["newborn"].map(births["species"])
        own = theirs.fillna(kinds[0] if len(kinds) == 1 else own).astype(object)
    else:
        place_alone(events, settings)
    ask_about_units(events.table, events.frame, events.origin, own, units, settings)
    events.enter(_same_row_twice(events))
    events.enter_all(implausible(events.table, events.frame, own, settings))
    events.enter_all(rule(events) for rule in RULES[events.table])
    if len(births) and events.table == "treatments" and "given_at" in events.frame:
        events.enter(_treated_before_birth(events, births))


def _treated_before_birth(events: Gathered, births: pd.DataFrame) -> Finding:
    """A newborn treated on a day before its birth; a row of its dam's may well lie before."""
    nothing = pd.Series(None, index=events.frame.index, dtype=object)
    own = events.frame.get("newborn_id", nothing).notna()
    own &= ~events.frame.get("treatment", nothing).astype(str).str.contains("of the dam", regex=False)
    born = _of_newborn(events, births["born"])
    early = own & (events.frame["given_at"].dt.normalize() < born.dt.normalize())
    problem = say(
        "it is said to have been treated before the day of its birth; the row was counted as it stands"
    )
    return found_in(events.frame, early.astype(bool), "given_at", problem, WHICH, "asked")


def check_weather(weather: Gathered, settings: Settings) -> None:
    """Hold the weather against its plausible ranges."""
    anything = pd.Series("", index=weather.frame.index, dtype=object)
    weather.enter_all(implausible("weather", weather.frame, anything, settings))


def _same_row_twice(events: Gathered) -> Finding:
    """A row equal to an earlier one in every cell, those that nobody could read or that the map leaves out too."""
    tidy = [column.name for column in TABLES[events.table]]
    recorded = events.frame[[n for n in events.frame if n in tidy or str(n).endswith("|limit")]]
    beside = events.beside.astype(object).where(events.beside.notna(), "").astype(str)
    problem = say("the same row stands in the records twice; it is counted once")
    remedy = say("remove one of the two rows")
    again = pd.concat([recorded, beside.add_prefix("beside ")], axis=1).duplicated(keep="first")
    shown = TIME_OF.get(events.table, str(recorded.columns[0]))
    return found_in(events.frame, again, shown, problem, remedy, "set aside")


def _before_birth(events: Gathered, births: pd.DataFrame) -> Finding:
    """Fed or sampled before it was born."""
    moment = TIME_OF[events.table]
    born, at = _of_newborn(events, births["born"]), events.frame[moment]
    early = (at < born).where(~_by_day(events, births), at.dt.normalize() < born.dt.normalize()).astype(bool)
    early &= ~(events.frame["age_h"] >= 0)
    problem = BEFORE_BIRTH[events.table]
    return found_in(events.frame, early, moment, problem, WHICH, "set to missing", (moment, "age_h"))


def _after_death(events: Gathered, births: pd.DataFrame) -> Finding:
    """Fed or sampled after its death, or though it was born dead."""
    moment = TIME_OF[events.table]
    born, ended = (_of_newborn(events, of) for of in (births["born"], births["age_h"].where(births["died"])))
    days = (events.frame[moment].dt.normalize() - born.dt.normalize()).dt.days.astype(float)
    margin = 24.0 * _by_day(events, births, births["age_precision"] == "day").astype(float)
    dead = events.frame["age_h"].fillna(days * 24.0) >= ended + 1 + margin
    still = _of_newborn(events, births["stillborn"].astype(float)) == 1
    problem = AFTER_DEATH[events.table]
    return found_in(events.frame, dead | still, moment, problem, WHICH, "set to missing", (moment, "age_h"))


def _of_newborn(events: Gathered, values: pd.Series) -> pd.Series:
    """A column of births laid beside the events."""
    return events.frame["newborn"].map(values)


def _by_day(events: Gathered, births: pd.DataFrame, also: pd.Series | None = None) -> pd.Series:
    """True where the event, the birth or what else is asked is known to the day only."""
    own = events.frame.get(f"{TIME_OF[events.table]}|is_day", pd.Series(False, index=events.frame.index))
    born_by_day = _of_newborn(events, (births["born_precision"] != "time").astype(float)) == 1
    by_day = own | born_by_day
    return by_day if also is None else by_day | (_of_newborn(events, also.astype(float)) == 1)


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


def _before_the_birth_beside(name: str) -> Rule:
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
            EITHER,
            "set to missing",
            (name, "age_h", "age_low_h", "age_high_h"),
        )

    return rule


def _unborn_signs(events: Gathered) -> Finding | None:
    """A carcass that had never breathed and yet had walked or fed."""
    later = answered(events.frame, "walked", True) | answered(events.frame, "fed", True)
    against = answered(events.frame, "breathed", False) & later
    problem = say("it is said never to have breathed, and yet to have walked or fed")
    return found_in(events.frame, against, "breathed", problem, EITHER, "set to missing")


def _unborn_and_dead_later(events: Gathered) -> Finding | None:
    """A carcass that had never breathed and yet died some time after birth, by its age or in words."""
    frame = events.frame
    aged = frame["age_low_h"].astype(float) >= 1 if "age_low_h" in frame else False
    said = _held(events, "finding").map(lambda text: speaks_of_later_death(str(text)), na_action="ignore")
    against = answered(frame, "breathed", False) & (aged | (said == True))  # noqa: E712
    problem = say("it is said never to have breathed, and yet to have died some time after birth")
    return found_in(frame, against, "breathed", problem, EITHER, "set to missing")


def _agent_without_finding(events: Gathered) -> Finding | None:
    """An agent beside a laboratory that is said to have found none."""
    none = _held(events, "laboratory").isin(("nothing found", "not sent"))
    against = np.asarray(none & _held(events, "agent").notna(), dtype=bool)
    problem = say("an agent is named, and yet the laboratory is said to have found none")
    return found_in(events.frame, against, "laboratory", problem, EITHER, "asked")


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
        NO_NEED,
        "no record",
    )


RULES: dict[str, tuple[Rule, ...]] = {
    "samples": (_names_nothing, _no_serum, _before_the_birth_beside("sampled_at")),
    "colostrum": (_names_nothing, _before_the_birth_beside("milked_at")),
    "examinations": (
        _names_nothing,
        _unborn_signs,
        _unborn_and_dead_later,
        _agent_without_finding,
        _before_the_birth_beside("died_at"),
    ),
    "treatments": (_names_nothing,),
}
"""The rules of each table, in their order."""
