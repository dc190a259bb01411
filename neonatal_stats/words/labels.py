"""The terms of the records as a person reads them: as a label in a table, and as part of a sentence.

Terms of the vocabulary pass through the voice, so that a translation reaches them; a farm's own text does
not.
"""

from __future__ import annotations

from neonatal_stats.vocabulary import terms
from neonatal_stats.words.voice import Voice

BORN_BY = ("born naturally", "born by surgery")
DIFFICULTY = ("easy", "difficult")
SEX_MIXES = ("all female", "all male", "mixed")
BORN_WHEN = ("by day", "by night")
SUCK_CLASSES = ("strong", "weak or absent")
OWN_TERMS = frozenset(
    (
        *terms.BIRTH_TYPES,
        *terms.DELIVERIES,
        *BORN_BY,
        *DIFFICULTY,
        *SEX_MIXES,
        *SUCK_CLASSES,
        *BORN_WHEN,
        *terms.RESUSCITATIONS,
        terms.ANYTHING_DONE,
        *terms.SEXES,
        *terms.PARITY_CLASSES,
        *terms.WEIGHT_CLASSES,
        *terms.BIRTH_PLACES,
        *terms.SUCK_REFLEXES,
        *terms.MOTHERED_UP,
        *terms.REARINGS,
        *terms.LEFT_REASONS,
        *terms.FEED_SOURCES,
        *terms.CAUSE_BASES,
        *terms.CAUSES,
        *terms.SPECIES,
    )
)

PHRASES: dict[tuple[str, str], str] = {
    ("birth_type", "single"): "single {newborns}",
    ("birth_type", "twin"): "twin {newborns}",
    ("birth_type", "triplet"): "triplet {newborns}",
    ("birth_type", "four or more"): "{newborns} from litters of four or more",
    ("delivery", "unassisted"): "{newborns} born unassisted",
    ("delivery", "easy assist"): "{newborns} born with an easy assist",
    ("delivery", "hard assist"): "{newborns} born with a hard assist",
    ("delivery", "malpresentation corrected"): "{newborns} born after a malpresentation was corrected",
    ("delivery", "caesarean"): "{newborns} born by caesarean",
    ("delivery", "embryotomy"): "{newborns} born by embryotomy",
    ("born_by", "born naturally"): "{newborns} born naturally",
    ("born_by", "born by surgery"): "{newborns} born by surgery",
    ("difficulty", "easy"): "{newborns} from easy births",
    ("difficulty", "difficult"): "{newborns} from difficult births",
    ("sex", "female"): "female {newborns}",
    ("sex", "male"): "male {newborns}",
    ("sex", "castrated male"): "castrated male {newborns}",
    ("sex", "unknown"): "{newborns} of unknown sex",
    ("weight_class", "lowest fifth"): "{newborns} in the lowest fifth of birth weight",
    ("weight_class", "middle"): "{newborns} of middling birth weight",
    ("weight_class", "highest fifth"): "{newborns} in the highest fifth of birth weight",
    ("parity_class", "first litter"): "{newborns} of {dams} with their first litter",
    ("parity_class", "second or third"): "{newborns} of {dams} with their second or third litter",
    ("parity_class", "fourth or later"): "{newborns} of {dams} with their fourth or a later litter",
    ("birth_place", "indoors"): "{newborns} born indoors",
    ("birth_place", "outdoors"): "{newborns} born outdoors",
    ("sex_mix", "all female"): "{newborns} from all-female litters",
    ("sex_mix", "all male"): "{newborns} from all-male litters",
    ("sex_mix", "mixed"): "{newborns} from litters of both sexes",
}


FACTORS = {
    "birth_type": "birth type",
    "delivery": "delivery",
    "born_by": "surgical or natural birth",
    "difficulty": "easy or difficult birth",
    "sex": "sex",
    "weight_class": "birth weight",
    "parity_class": "litters of the {dam}",
    "birth_place": "birth place",
}


def factor(voice: Voice, column: str) -> str:
    """The name of what newborns are grouped by."""
    return voice.say(FACTORS[column]) if column in FACTORS else column


def label(voice: Voice, value: object) -> str:
    """A term as it stands in a table or beside a mark; a farm's own text is left as it is."""
    text = str(value)
    return voice.say(text) if text in OWN_TERMS else text


def phrase(voice: Voice, column: str, value: object) -> str:
    """The newborns of a group, as part of a sentence: "twin lambs"."""
    found = PHRASES.get((column, str(value)))
    if found:
        return voice.say(found)
    return voice.say("{newborns} of the group {label}", label=label(voice, value))
