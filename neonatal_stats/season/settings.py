"""The settings of a review, every default said once here and in the README's table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from neonatal_stats.vocabulary import marks, terms
from neonatal_stats.vocabulary.ranges import Range


@dataclass(frozen=True)
class Marks:
    """Hours, minutes and amounts against which the first hours are held (common practice)."""

    breathing_s: float = marks.BREATHING_WITHIN_S
    suck_reflex_min: float = marks.SUCK_REFLEX_AT_MIN
    standing_h: float = marks.STANDING_WITHIN_H
    standing_late_h: float = marks.STANDING_LATE_H
    fed_h: float = marks.FED_WITHIN_H
    meconium_h: float = marks.MECONIUM_WITHIN_H
    colostrum_h: tuple[float, ...] = marks.COLOSTRUM_MARKS_H
    colostrum_share_of_weight: float = marks.COLOSTRUM_SHARE_OF_WEIGHT
    colostrum_amount_by_h: float = marks.COLOSTRUM_AMOUNT_BY_H
    calf_first_feed_ml: float = marks.CALF_FIRST_FEED_ML
    small_first_feed_ml: float = marks.SMALL_FIRST_FEED_ML


@dataclass(frozen=True)
class Expected:
    """Counts made before birth, for the flow from dams expected to newborns reared; None where not
    counted.
    """

    season: str = ""
    group: str = ""
    dams_put_to_male: int | None = None
    dams_scanned: int | None = None
    newborns_scanned: int | None = None


@dataclass(frozen=True)
class Settings:
    """What shapes the answers.

    ``cluster`` is "litter" (dam within season), "dam" or "farm". ``windows_h`` maps the printed name of each
    window of loss to its end in hours; ``follow_up_d`` closes the last one. ``minimum_group`` is the number
    of newborns under which a group reads "too few to say". ``price`` is the keeper's own price of a newborn.
    ``standard_mix`` names the columns of the common mix of the years chapter.
    """

    cluster: str = "litter"
    windows_h: Mapping[str, float] = field(default_factory=lambda: dict(marks.WINDOWS_H))
    follow_up_d: float = marks.FOLLOW_UP_D
    season_first_month: int | None = None
    day_first: bool | None = None
    time_zone: str = ""
    marks: Marks = field(default_factory=Marks)
    minimum_group: int = 10
    level: float = 0.95
    false_discovery_share: float = 0.10
    price: float | None = None
    currency: str = ""
    causes: tuple[str, ...] = terms.CAUSES
    cause_words: Mapping[str, str] = field(default_factory=dict)
    standard_mix: tuple[str, ...] = ("birth_type", "parity_class", "born_by")
    ranges: Mapping[str, Range] = field(default_factory=dict)
    ranges_by_species: Mapping[str, Mapping[str, Range]] = field(default_factory=dict)
    expected: tuple[Expected, ...] = ()
    compare: tuple[str, str] | None = None
    own_farm: str = ""
    language: str = "en"
    spelling: str = "british"

    @property
    def follow_up_h(self) -> float:
        """End of follow-up in hours since birth."""
        return self.follow_up_d * 24.0
