"""Single values of the exchange standard: identities, times, words with what they mean here, masses."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from neonatal_stats.season.exchange.messages import Message, Problems
from neonatal_stats.season.finding import UNSAID, Said, say

Key = tuple[str, str]
DATE_ONLY = re.compile(r"\d{4}-\d{2}-\d{2}")
SPECIES = {
    "Buffalo": "buffalo",
    "Cattle": "cattle",
    "Deer": "deer",
    "Elk": "deer",
    "Goat": "goat",
    "Sheep": "sheep",
}
SEXES = {
    "Female": "female",
    "FemaleNeuter": "female",
    "Freemartin": "female",
    "Male": "male",
    "MaleCryptorchid": "male",
    "MaleNeuter": "castrated male",
    "Unknown": "unknown",
}
DELIVERIES = {
    "EasyUnassisted": "unassisted",
    "EasyAssisted": "easy assist",
    "DifficultExtraAssistance": "hard assist",
    "DifficultVeterinaryCare": "hard assist",
    "CaesareanOrSurgery": "caesarean",
}
CAUSES = {
    "Parturition": "birth injury or difficult birth",
    "Accident": "accident",
    "Missing": "unknown",
    "Unknown": "unknown",
    "Other": "other",
}
LEFT_REASONS = {
    "Sale": "sold",
    "Export": "sold",
    "Superfluous": "sold",
    "InternalTransfer": "moved",
    "Agistment": "moved",
    "AgistmentReturn": "moved",
    "Newborn": "moved",
    "StudService": "lent",
    "StudServiceReturn": "lent",
    "Show": "lent",
    "ShowReturn": "lent",
    "Slaughter": "other",
    "Other": "other",
    "Unknown": "other",
}
BORN_DEAD = frozenset(("Stillborn", "Aborted"))
DEAD_AGE_UNKNOWN = frozenset(("DiedBeforeTaggingDate", "DiedAfterTaggingDate"))
KILLED_AT_BIRTH = frozenset(("SlaughteredAtBirth", "EuthanisedAtBirth"))
BIRTH_STATUSES = {word: word for word in ("Alive", *BORN_DEAD, *DEAD_AGE_UNKNOWN, *KILLED_AT_BIRTH)}
NOT_A_DEATH = frozenset(("Theft",))

# Codes of UN/CEFACT Recommendation 20; the standard's default is KGM. PN from memory, unchecked.
KG_BY_UNIT = {
    "KGM": 1.0,
    "GRM": 1e-3,
    "LBR": 0.45359237,
    "PN": 0.45359237,
    "TNE": 1e3,
    "MGM": 1e-6,
    "MC": 1e-9,
    "ONZ": 0.028349523125,
}


def key_of(identifier: object) -> Key | None:
    """(scheme, id) of an identifier, both as text; None where it names nobody."""
    if isinstance(identifier, str | int) and not isinstance(identifier, bool):
        identifier = {"id": identifier}
    if not isinstance(identifier, dict):
        return None
    name = str(identifier.get("id", "")).strip()
    return (str(identifier.get("scheme", "")).strip(), name) if name else None


def local_time(value: object, zone: ZoneInfo | None) -> tuple[str | None, Said]:
    """A date and time of the standard as local text, and a remark on it (`UNSAID` where there is none).

    Times in UTC or with an offset become the zone's local time; where no zone is set they stay in UTC. A date
    alone stays a date; what cannot be read stays as it is, for the reader of the tables to report.
    """
    text = str(value).strip()
    if not text or DATE_ONLY.fullmatch(text):
        return text or None, UNSAID
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return text, UNSAID
    if moment.tzinfo is None:
        return f"{moment:%Y-%m-%d %H:%M:%S}", say("it has no time zone and is taken as the farm's local time")
    if zone is None:
        moment = moment.astimezone(ZoneInfo("UTC"))
        return f"{moment:%Y-%m-%d %H:%M:%S}", say("no time_zone is set, so the times are left in UTC")
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M:%S}", UNSAID


def within_a_day(first: str, second: str) -> bool:
    """True where the second of two local times is at most 24 hours after the first, or on its day."""
    try:
        gap = datetime.fromisoformat(second) - datetime.fromisoformat(first)
    except ValueError:
        return False
    return timedelta(0) <= gap <= timedelta(days=1) or first[:10] == second[:10]


def word_of(
    value: object, meaning: Mapping[str, str], column: str, message: Message, problems: Problems
) -> str | None:
    """The word here for one of the standard's, whatever its capitals; an unknown one is kept and reported."""
    if value is None:
        return None
    text = str(value)
    if text in meaning:
        return meaning[text]
    for word, meant in meaning.items():
        if word.casefold() == text.casefold():
            problem = say("the standard writes this {word}", word=word)
            problems.of(message, column, text, problem, say("nothing; it was taken as that"))
            return meant
    problem = say("this word is not in the standard as it is known here")
    problems.of(message, column, text, problem, say("it is kept as it stands; say in a map what is meant"))
    return text


def kg_of(mass: object, column: str, message: Message, problems: Problems) -> float | None:
    """A mass in kg by its declared unit (kg where none is given); an unknown unit is never guessed."""
    if not isinstance(mass, dict) or mass.get("measurement", mass.get("value")) is None:
        return None
    measure, unit = mass.get("measurement", mass.get("value")), str(mass.get("units", "KGM"))
    factor = KG_BY_UNIT.get(unit.upper(), 1.0 if unit.casefold() == "kg" else None)
    if factor is None or not isinstance(measure, int | float) or isinstance(measure, bool):
        problem = say("this is no mass in a known unit")
        problems.of(message, column, f"{measure} {unit}", problem, say("send it in KGM"))
        return None
    return round(float(measure) * factor, 6)


def whole(value: Any) -> int | None:
    """A count as a whole number, or None."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        number = float(value)
    except ValueError:
        return None
    return int(number) if number == number and number.is_integer() else None
