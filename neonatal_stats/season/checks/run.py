"""All rules in their order, over the births and over what was joined to them."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pandas as pd

from neonatal_stats.season.checks import events as event_rules
from neonatal_stats.season.checks import identity, kinship, outcomes, times
from neonatal_stats.season.checks.ranges import ask_about_units, implausible
from neonatal_stats.season.checks.settled import Settled
from neonatal_stats.season.finding import Finding
from neonatal_stats.season.following.links import count_litters, join_newborns
from neonatal_stats.season.gathering.gathered import Gathered
from neonatal_stats.season.map.records_map import RecordsMap
from neonatal_stats.season.settings import Settings

Rule = Callable[[pd.DataFrame, Settings], Finding | None]
RULES: tuple[Rule, ...] = (*times.RULES, *outcomes.SIGN_RULES, *outcomes.RULES)


def check_births(births: Gathered, settled: Settled, records_map: RecordsMap, settings: Settings) -> None:
    """Hold the births against every rule; each rule sees what those before it set to missing.

    Rows written twice go first, so that litters are counted without them but with every row that is set aside later.
    """
    species = births.frame["species"]
    declared = records_map.of("births").units
    ask_about_units("births", births.frame, births.origin, species, declared, settings)
    kinship.part_litters(births)
    _find_rows_written_twice(births, settings)
    for finding in implausible("births", births.frame, species, settings):
        births.enter(finding)
    kinship.part_fostered(births)
    for finding in kinship.dams_alike(births):
        births.enter(finding)
    compared: Rule
    for compared in identity.LITTER_RULES:
        births.enter_among_kept(compared, settings)
    births.frame = count_litters(births.frame, births.ledger.kept)
    for finding in settled.findings:
        births.enter(finding)
    rule: Rule
    for rule in RULES:
        births.enter(rule(births.frame, settings))


def _find_rows_written_twice(births: Gathered, settings: Settings) -> None:
    """Rows of one newborn, but not rows of littermates that share a number."""
    shared = kinship.shared_numbers(births)
    kinship.under_two_dams(births)
    identity_ = births.frame.get("newborn_id")
    if identity_ is not None and shared.any():
        births.frame["newborn_id"] = kinship.told_apart(identity_, shared)
    compared: Rule
    for compared in (identity.same_row_twice, *identity.RULES):
        births.enter_among_kept(compared, settings)
    if identity_ is not None and shared.any():
        births.frame["newborn_id"] = births.frame["newborn_id"].where(~shared, identity_)


def check_events(
    events: Gathered, births: pd.DataFrame, units: Mapping[str, str], settings: Settings
) -> None:
    """Join feeds or samples to their newborns and hold them against their rules."""
    if not len(events.origin):
        events.frame = events.frame.assign(newborn=[], age_h=[])
        return
    kinds = births["species"].unique()
    join_newborns(events, births, settings)
    species = events.frame["newborn"].map(births["species"]).fillna(kinds[0] if len(kinds) == 1 else "")
    ask_about_units(events.table, events.frame, events.origin, species, units, settings)
    events.enter(event_rules.same_row_twice(events))
    for finding in implausible(events.table, events.frame, species, settings):
        events.enter(finding)
    events.enter(event_rules.before_birth(events, births))
    events.enter(event_rules.after_death(events, births))


def check_weather(weather: Gathered, settings: Settings) -> None:
    """Hold the weather against its plausible ranges."""
    anything = pd.Series("", index=weather.frame.index, dtype=object)
    for finding in implausible("weather", weather.frame, anything, settings):
        weather.enter(finding)
