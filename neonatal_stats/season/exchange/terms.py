"""The words of the ICAR Animal Data Exchange and what they mean here; a word not listed is kept as it stands.

Some of the standard's words say less than ours or something else (``Disease`` is not always an infection):
those are left as they are, so that a map can say what the farm means by them.
"""

from __future__ import annotations

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
