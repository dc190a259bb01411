"""All rules in their order, over the births and over what was joined to them."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from neonatal_stats.season.checks import further, identity, kinship
from neonatal_stats.season.checks.agreement import RULES
from neonatal_stats.season.checks.ranges import ask_about_units, implausible
from neonatal_stats.season.checks.settled import Settled
from neonatal_stats.season.finding import Finding, found_in, say
from neonatal_stats.season.following.links import TIME_OF, count_litters, join_newborns
from neonatal_stats.season.following.placing import beside_births, place_alone, place_among
from neonatal_stats.season.gathering.gathered import Gathered
from neonatal_stats.season.records_map import RecordsMap
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.derived import DERIVED

WHICH = say("look at the newborn's identity and at both times")
BEFORE_BIRTH = {
    "feeds": say("it was fed before it was born"),
    "samples": say("it was sampled before it was born"),
}
AFTER_DEATH = {"feeds": say("it was fed after it died"), "samples": say("it was sampled after it died")}


def check_births(births: Gathered, settled: Settled, records_map: RecordsMap, settings: Settings) -> None:
    """Hold the births against every rule; each rule sees what those before it set to missing.

    Rows written twice go first, so that litters are counted without them but with every row that is set aside later.
    """
    species = births.frame["species"]
    declared = records_map.of("births").units
    ask_about_units("births", births.frame, births.origin, species, declared, settings)
    kinship.part_litters(births)
    _find_rows_written_twice(births, settings)
    births.enter_all(implausible("births", births.frame, species, settings))
    kinship.part_fostered(births)
    births.enter_all(kinship.dams_alike(births))
    births.enter_among_kept(identity.LITTER_RULES, settings)
    births.frame = count_litters(births.frame, births.ledger.kept)
    births.enter_all(settled.findings)
    for rule in RULES:
        found = rule(births.frame, settings)
        births.enter_all([found] if found is None or isinstance(found, Finding) else found)


def _find_rows_written_twice(births: Gathered, settings: Settings) -> None:
    """Rows of one newborn, but not rows of littermates that share a number."""
    shared = kinship.shared_numbers(births)
    kinship.under_two_dams(births)
    identity_ = births.frame.get("newborn_id")
    if identity_ is not None and shared.any():
        births.frame["newborn_id"] = kinship.told_apart(identity_, shared)
    births.enter_among_kept((identity.same_row_twice, *identity.RULES), settings)
    if identity_ is not None and shared.any():
        births.frame["newborn_id"] = births.frame["newborn_id"].where(~shared, identity_)


def check_events(
    events: Gathered, births: pd.DataFrame, units: Mapping[str, str], settings: Settings
) -> None:
    """Join feeds or samples to their newborns and hold them against their rules."""
    if not len(events.origin):
        without_rows(events)
        return
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
    if not len(events.origin):
        without_rows(events)
        return
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
    events.enter_all(rule(events) for rule in further.RULES[events.table])
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


def without_rows(events: Gathered) -> None:
    """A table without rows, with the columns that follow from rows."""
    names = [column.name for column in DERIVED[events.table]]
    events.frame = events.frame.reindex(columns=[*events.frame.columns, *names])


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
