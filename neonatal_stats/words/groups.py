"""The groups that newborns are put in by what is known at birth, in words: factors, levels, two levels together."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.measures.each_row import each_row
from neonatal_stats.words.labels import label
from neonatal_stats.words.labels import phrase as birth_phrase
from neonatal_stats.words.voice import Voice

FACTORS = {
    "birth_type": "birth type",
    "born_by": "born naturally or by surgery",
    "difficulty": "easy or difficult birth",
    "delivery": "delivery",
    "parity_class": "the {dam}'s litters so far",
    "suck_class": "suck reflex at about 10 minutes",
    "weight_class": "birth weight",
    "sex": "sex",
    "sex_mix": "sexes in the litter",
    "premature": "born before term",
    "birth_order": "order of birth in its litter",
    "dam_condition": "the {dam}'s body condition",
    "time_of_birth": "time of day of birth",
    "birth_place": "birth place",
    "group": "pen, paddock or mob",
    "breed": "breed",
    "sire_id": "sire",
    "several": "singles, or twins and more",
}

PHRASES = {
    ("several", "single"): "single {newborns}",
    ("several", "twin or more"): "twins and more",
    ("suck_class", "strong"): "{newborns} with a strong suck reflex",
    ("suck_class", "weak or absent"): "{newborns} with a weak or absent suck reflex",
    ("sex_mix", "all female"): "{newborns} from all-female litters",
    ("sex_mix", "all male"): "{newborns} from all-male litters",
    ("sex_mix", "mixed"): "{newborns} from litters of both sexes",
    ("premature", "at term"): "{newborns} born at term",
    ("premature", "before term"): "{newborns} born before term",
    ("birth_order", "first born"): "{newborns} born first in their litter",
    ("birth_order", "second born"): "{newborns} born second in their litter",
    ("birth_order", "third or later"): "{newborns} born third or later in their litter",
    ("dam_condition", "under 2.5"): "{newborns} of {dams} in condition under 2.5",
    ("dam_condition", "2.5 to 3.5"): "{newborns} of {dams} in condition 2.5 to 3.5",
    ("dam_condition", "over 3.5"): "{newborns} of {dams} in condition over 3.5",
    ("time_of_birth", "00 to 06 h"): "{newborns} born from 00 to 06 h",
    ("time_of_birth", "06 to 12 h"): "{newborns} born from 06 to 12 h",
    ("time_of_birth", "12 to 18 h"): "{newborns} born from 12 to 18 h",
    ("time_of_birth", "18 to 24 h"): "{newborns} born from 18 to 24 h",
    ("litters_of_two", "twin or more"): "twins and more",
}
OWN_TEXT = {
    "group": "{newborns} of the group {level}",
    "breed": "{newborns} of the breed {level}",
    "sire_id": "{newborns} by the sire {level}",
}


def factor_name(voice: Voice, factor: str) -> str:
    """A factor as it stands in a table."""
    return voice.say(FACTORS.get(factor, factor))


def phrase(voice: Voice, factor: str, level: str, with_factor: str = "", with_level: str = "") -> str:
    """The newborns of a level, or of two levels together."""
    one = _phrase(voice, factor, level)
    if not with_factor:
        return one
    return voice.say("{one} that are also {other}", one=one, other=_phrase(voice, with_factor, with_level))


def _phrase(voice: Voice, factor: str, level: str) -> str:
    if factor in OWN_TEXT:
        return voice.say(OWN_TEXT[factor], level=label(voice, level))
    if (factor, level) in PHRASES:
        return voice.say(PHRASES[factor, level])
    return birth_phrase(voice, factor, level)


def with_phrases(voice: Voice, groups: pd.DataFrame, *, before: str) -> pd.DataFrame:
    """The groups of `measures.risk_groups` with `phrase`, the newborns of each in words, before a column."""
    names = each_row(groups[["factor", "level", "with_factor", "with_level"]])
    named = groups.copy()
    named.insert(list(groups.columns).index(before), "phrase", [phrase(voice, *name) for name in names])
    return named
