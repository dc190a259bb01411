"""What newborns are grouped by: one entry a factor, in the order in which equal groups are named, broader word first.

An entry holds all that any room needs to know of a factor but how its level is read from a birth, which is the
births column of the same name unless `measures.birth_factors` makes it. Nothing that happened after the first
minutes is ``at_birth``: a newborn that died at three hours could not be fed at six, so grouping by feeding would
credit the late groups with the time they had to live.

A column that a farm keeps only to group newborns by (its pens, say) is one more entry, with its ``meaning``: the
readers, blank sheets and checks then know it too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class FactorEntry:
    """One factor.

    Parameters
    ----------
    name : the births column, or the name under which `measures.birth_factors` makes it.
    words : the factor as it stands in a table or a list, a template.
    phrases : the newborns of each level as part of a sentence, templates by level in printed order.
    own : the same for a level that is the farm's own text, with {level}; "" where all levels are in ``phrases``.
    reference : the level that the others are held against; None takes the largest group.
    family : factors that are words for one thing; only one of a family belongs in a model. "" is one of its own.
    standardisable : it may be part of the common mix on which seasons and farms are compared.
    changeable : management before or at birth can change who is in which level (what to keep, feed or use, where).
    at_birth : known at, or within minutes of, birth, so that high-risk groups are formed by it.
    heading : a shorter word over groups in a table; ``words`` where it is empty.
    short : the word in a table's column of factors, and before a group's name; ``words`` where it is empty.
    meaning : for a column kept only to group by: what it holds, for the blank sheets.
    """

    name: str
    words: str
    phrases: Mapping[str, str] = field(default_factory=dict)
    own: str = ""
    reference: str | None = None
    family: str = ""
    standardisable: bool = False
    changeable: bool = False
    at_birth: bool = True
    heading: str = ""
    short: str = ""
    meaning: str = ""

    @property
    def levels(self) -> tuple[str, ...]:
        """Its levels in printed order; none where they are the farm's own text."""
        return tuple(self.phrases)


FACTORS: tuple[FactorEntry, ...] = (
    FactorEntry(
        "several",
        "singles, or twins and more",
        {"single": "single {newborns}", "twin or more": "twins and more"},
        reference="single",
        family="litter size",
    ),
    FactorEntry(
        "birth_type",
        "birth type",
        {
            "single": "single {newborns}",
            "twin": "twin {newborns}",
            "triplet": "triplet {newborns}",
            "four or more": "{newborns} from litters of four or more",
        },
        reference="single",
        family="litter size",
        standardisable=True,
    ),
    FactorEntry(
        "born_by",
        "vaginal or surgical birth",
        {
            "born vaginally": "{newborns} born vaginally",
            "born by surgery": "{newborns} born by surgery",
            "born by embryotomy": "{newborns} born by embryotomy",
        },
        reference="born vaginally",
        family="delivery",
        standardisable=True,
        heading="surgical or vaginal birth",
    ),
    FactorEntry(
        "difficulty",
        "easy or difficult birth",
        {"easy": "{newborns} from easy births", "difficult": "{newborns} from difficult births"},
        reference="easy",
        family="delivery",
        short="delivery",
    ),
    FactorEntry(
        "delivery",
        "delivery",
        {
            "unassisted": "{newborns} born unassisted",
            "easy assist": "{newborns} born with an easy assist",
            "hard assist": "{newborns} born with a hard assist",
            "malpresentation corrected": "{newborns} born after a malpresentation was corrected",
            "caesarean": "{newborns} born by caesarean",
            "embryotomy": "{newborns} born by embryotomy",
        },
        reference="unassisted",
        family="delivery",
        standardisable=True,
    ),
    FactorEntry(
        "parity_class",
        "the {dam}'s {litters} so far",
        {
            "first litter": "{newborns} of {first_timers}",
            "second or third": "{newborns} of {dams} with their second or third {litter}",
            "fourth or later": "{newborns} of {dams} with their fourth or a later {litter}",
        },
        reference="second or third",
        standardisable=True,
        changeable=True,
        heading="{litters} of the {dam}",
        short="{dam}'s {litters}",
    ),
    FactorEntry(
        "suck_class",
        "suck reflex at about 10 minutes",
        {
            "strong": "{newborns} with a strong suck reflex",
            "weak or absent": "{newborns} with a weak or absent suck reflex",
        },
        reference="strong",
        short="suck reflex",
    ),
    FactorEntry(
        "weight_class",
        "birth weight",
        {
            "lowest fifth": "{newborns} in the lowest fifth of birth weight",
            "middle": "{newborns} of middling birth weight",
            "highest fifth": "{newborns} in the highest fifth of birth weight",
        },
        reference="middle",
        standardisable=True,
        changeable=True,
    ),
    FactorEntry(
        "sex",
        "sex",
        {
            "female": "female {newborns}",
            "male": "male {newborns}",
            "castrated male": "castrated male {newborns}",
            "unknown": "{newborns} of unknown sex",
        },
        reference="female",
        standardisable=True,
    ),
    FactorEntry(
        "sex_mix",
        "sexes in the litter",
        {
            "all female": "{newborns} from all-female litters",
            "all male": "{newborns} from all-male litters",
            "mixed": "{newborns} from litters of both sexes",
        },
        family="litter size",
    ),
    FactorEntry(
        "premature",
        "born before term",
        {"at term": "{newborns} born at term", "before term": "{newborns} born before term"},
        reference="at term",
    ),
    FactorEntry(
        "birth_order",
        "order of birth in its litter",
        {
            "first born": "{newborns} born first in their litter",
            "second born": "{newborns} born second in their litter",
            "third or later": "{newborns} born third or later in their litter",
        },
        reference="first born",
        family="litter size",
    ),
    FactorEntry(
        "dam_condition",
        "the {dam}'s body condition",
        {
            "under 2.5": "{newborns} of {dams} in condition under 2.5",
            "2.5 to 3.5": "{newborns} of {dams} in condition 2.5 to 3.5",
            "over 3.5": "{newborns} of {dams} in condition over 3.5",
        },
        reference="2.5 to 3.5",
        changeable=True,
    ),
    FactorEntry(
        "time_of_birth",
        "time of day of birth",
        {
            "00 to 06 h": "{newborns} born from 00 to 06 h",
            "06 to 12 h": "{newborns} born from 06 to 12 h",
            "12 to 18 h": "{newborns} born from 12 to 18 h",
            "18 to 24 h": "{newborns} born from 18 to 24 h",
        },
    ),
    FactorEntry(
        "night",
        "born by day or by night",
        {"by day": "{newborns} born by day", "by night": "{newborns} born by night"},
        reference="by day",
        changeable=True,  # not when they are born, but who is there
        at_birth=False,  # the time of day of birth says it already, in finer groups
    ),
    FactorEntry(
        "birth_place",
        "birth place",
        {"indoors": "{newborns} born indoors", "outdoors": "{newborns} born outdoors"},
        reference="indoors",
        standardisable=True,
        changeable=True,
    ),
    FactorEntry("group", "pen, paddock or mob", own="{newborns} of the group {level}", changeable=True),
    FactorEntry("breed", "breed", own="{newborns} of the breed {level}", changeable=True),
    FactorEntry("sire_id", "sire", own="{newborns} by the sire {level}", changeable=True),
    FactorEntry(
        "first_litter",
        "the {dam}'s first {litter} or a later one",
        {
            "first litter": "{newborns} of {first_timers}",
            "later litter": "{newborns} of {dams} with a later {litter}",
        },
        reference="later litter",
        at_birth=False,  # the dam's litters so far say it already, in finer groups
        short="first {litter}",
    ),
    FactorEntry("season", "season", own="{newborns} of the group {level}", at_birth=False),
    FactorEntry(
        "handled",
        "handled before bonding",
        own="{newborns} of the group {level}",
        changeable=True,
        at_birth=False,
    ),
    FactorEntry("source", "source", own="{newborns} of the group {level}", changeable=True, at_birth=False),
    FactorEntry("person", "person", own="{newborns} of the group {level}", changeable=True, at_birth=False),
)

Level = tuple[str, str]

WITHIN: Mapping[Level, Level] = {
    **{("birth_type", level): ("several", "twin or more") for level in ("twin", "triplet", "four or more")},
    **{
        ("birth_order", level): ("several", "twin or more")
        for level in ("first born", "second born", "third or later")
    },
    ("sex_mix", "mixed"): ("several", "twin or more"),
    **{
        ("parity_class", level): ("first_litter", "later litter")
        for level in ("second or third", "fourth or later")
    },
    **{("delivery", level): ("difficulty", "easy") for level in ("unassisted", "easy assist")},
    **{
        ("delivery", level): ("difficulty", "difficult")
        for level in ("hard assist", "malpresentation corrected", "caesarean", "embryotomy")
    },
    ("born_by", "born by surgery"): ("difficulty", "difficult"),
}
"""Levels that are a part of a broader one, by factor and level: the part, and the broader one that holds it."""

SAME: Mapping[Level, Level] = {
    ("birth_type", "single"): ("several", "single"),
    ("parity_class", "first litter"): ("first_litter", "first litter"),
    ("born_by", "born by surgery"): ("delivery", "caesarean"),
    ("born_by", "born by embryotomy"): ("delivery", "embryotomy"),
}
"""Levels that are the same newborns under another name."""

BY_NAME: Mapping[str, FactorEntry] = {entry.name: entry for entry in FACTORS}
KEPT_TO_GROUP = tuple(entry for entry in FACTORS if entry.meaning)
"""Those that are births columns kept for nothing but to group newborns by."""
AT_BIRTH = tuple(entry.name for entry in FACTORS if entry.at_birth)
ACTIONABLE = (*(entry.name for entry in FACTORS if entry.at_birth and entry.changeable), "night")
"""Factors that management can change and that are known at birth: what an action that costs money may be aimed at."""
STANDARDISABLE = tuple(entry.name for entry in FACTORS if entry.standardisable)
LEVELS = frozenset(level for entry in FACTORS for level in entry.levels)


def family_of(name: str) -> str:
    """The family of a factor: its own name where it is alone.

    >>> family_of("born_by"), family_of("sex")
    ('delivery', 'sex')
    """
    entry = BY_NAME.get(name)
    return entry.family or name if entry else name


def references(*names: str) -> dict[str, str | None]:
    """The level that each of these factors' groups are held against, as `measures.compared` takes them.

    >>> references("sex", "breed")
    {'sex': 'female', 'breed': None}
    """
    return {name: BY_NAME[name].reference for name in names}
