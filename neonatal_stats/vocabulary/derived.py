"""What follows from a season's records: the columns that are added to births, each with its kind, meaning and unit.

The check at the end of `season.following.follow`, the tidy tables and their codebook are made from this one list.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from neonatal_stats.vocabulary import terms

DerivedKind = Literal["flag", "flag or missing", "number", "code", "moment", "class", "text"]
CODEBOOK_COLUMNS = ("table", "column", "kind", "unit", "words", "meaning", "derived")
"""One row for each column of the tidy tables."""
OF_WINDOW = "lost_by_"
"""Begins the names of the columns of loss in a window; the window's name follows."""


@dataclass(frozen=True)
class Derived:
    """One column that follows from the records.

    ``kind``: a flag is True or False, and may be missing only where that is said; a code is a whole number that tells
    groups apart and means nothing else; a class is one of its words, in their order.
    """

    name: str
    kind: DerivedKind
    meaning: str
    unit: str = ""
    words: tuple[str, ...] = ()


OF_BIRTHS = (
    Derived("outcome", "text", "What became of it within follow-up", words=("dead", "alive")),
    Derived("lost", "flag", "Born dead or died within follow-up"),
    Derived("stillborn", "flag", "Born dead"),
    Derived("age_h", "number", "Age at death or at the end of watching, in whole hours", "h"),
    Derived("age_low_h", "number", "Lower end of that age, where a death lies between two times", "h"),
    Derived("age_high_h", "number", "Upper end of that age; those alive have none", "h"),
    Derived("age_known", "flag", "The age at death or at the end of watching is known"),
    Derived("age_precision", "text", "How exactly it is known", words=("hour", "day", "none")),
    Derived("born", "moment", "Moment of birth, or its day"),
    Derived("born_precision", "text", "How exactly it is known", words=("time", "day", "none")),
    Derived("born_week", "moment", "Monday of the week of birth"),
    Derived("born_hour", "number", "Hour of the day of birth", "h"),
    Derived(
        "litter", "code", "Newborns of one litter: dam within farm and season, or the litter's own identity"
    ),
    Derived("dam", "code", "Newborns of one dam over all seasons"),
    Derived("farm_code", "code", "Newborns of one farm"),
    Derived("cluster", "code", "What the intervals cluster on, as set"),
    Derived(
        "litter_size_counted", "flag", "The litter size was counted from the rows, since none was written"
    ),
    Derived("litter_size_used", "number", "Litter size as written, else counted from the rows", "newborns"),
    Derived("birth_type", "class", "Litter size in classes", words=terms.BIRTH_TYPES),
    Derived(
        "born_by",
        "class",
        "Vaginally (hard pulls and turned newborns too), by surgery or by embryotomy",
        words=("born vaginally", *terms.BORN_BY.values()),
    ),
    Derived("difficulty", "class", "Ease of birth in two classes", words=("easy", "difficult")),
    Derived("parity_class", "class", "Litters of the dam in classes", words=terms.PARITY_CLASSES),
    Derived(
        "weight_class", "class", "Birth weight in classes within its species", words=terms.WEIGHT_CLASSES
    ),
    Derived("suck_class", "class", "Suck reflex in two classes", words=("strong", "weak or absent")),
    Derived("sex_mix", "class", "Sexes of the litter", words=("all female", "all male", "mixed")),
    Derived(
        "failed_mothering", "flag or missing", "Rejected, abandoned or mismothered; missing where not judged"
    ),
    Derived("stood_after_h", "number", "Time from birth to standing", "h"),
    Derived("stood_not_by_h", "number", "Seen not to have stood until then", "h"),
    Derived(
        "fed_after_h",
        "number",
        "Time from birth to the first feed, that of the feeds where it is earlier",
        "h",
    ),
    Derived("fed_not_by_h", "number", "Seen not to have fed until then", "h"),
    Derived("meconium_after_h", "number", "Time from birth to meconium", "h"),
    Derived("meconium_not_by_h", "number", "Seen not to have passed meconium until then", "h"),
    Derived("newborn", "code", "Number of the row; the same in feeds and samples"),
)
OF_EVENTS = (
    Derived("newborn", "code", "Number of the newborn's row in births"),
    Derived("age_h", "number", "Age of the newborn at that moment", "h"),
)


_BETWEEN = (
    Derived("age_low_h", "number", "Least age at that moment that the records allow", "h"),
    Derived("age_high_h", "number", "Greatest age at that moment that the records allow", "h"),
)
OF_FURTHER = (
    Derived("newborn", "code", "Number of the newborn's row in births; -1 where it belongs to none"),
    Derived("litter", "code", "Number of the dam's litter in births; -1 where it belongs to none"),
    Derived("season", "text", "The season that the row belongs to"),
    Derived(
        "age_h", "number", "Age at that moment (examinations: at death), where it is known to the hour", "h"
    ),
    *_BETWEEN,
)
DERIVED: dict[str, tuple[Derived, ...]] = {
    "births": OF_BIRTHS,
    "feeds": OF_EVENTS,
    "samples": OF_FURTHER,
    "weather": (),
    "colostrum": OF_FURTHER,
    "examinations": OF_FURTHER,
    "treatments": OF_FURTHER,
}
"""What follows from the records of each table."""

WRITTEN_BY_US = {
    "births": frozenset(("age_h", "age_precision", "born_precision", "litter")),
    "feeds": frozenset(("newborn_id", "newborn", "age_h", "fed_at")),
    "samples": frozenset(("newborn_id", "newborn", "age_h", "sampled_at")),
    **{
        table: frozenset(column.name for column in OF_FURTHER)
        for table in ("colostrum", "examinations", "treatments")
    },
}
"""Headings that together only a tidy table has, so that its derived columns are known when it is read back."""


def derived(table: str, name: str) -> Derived | None:
    """The derived column of that name in a table; None where there is none."""
    if table == "births" and name.startswith(OF_WINDOW):
        window = name.removeprefix(OF_WINDOW).replace("_", " ")
        return Derived(name, "flag or missing", f"Lost by {window} of age; missing where that is not known")
    return next((column for column in DERIVED.get(table, ()) if column.name == name), None)
