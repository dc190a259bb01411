"""The settings of a review, every default said once here and in the README's table; checked when they are made."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from neonatal_stats.season import setting_values as values
from neonatal_stats.season.map.toml_file import nearest, quoted
from neonatal_stats.season.setting_values import Reader, WrongSetting
from neonatal_stats.vocabulary import marks, terms
from neonatal_stats.vocabulary.species import Range


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

    def __post_init__(self) -> None:
        """Each mark is a number; raises `WrongSetting`."""
        for mark in fields(self):
            _keep(self, mark.name, _mark(mark.name)(f"marks, {mark.name}", getattr(self, mark.name)))


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

    def __post_init__(self) -> None:
        """Names are text and counts whole numbers; raises `WrongSetting`."""
        for one in fields(self):
            _keep(self, one.name, _expected_value(one.name)(f"expected, {one.name}", getattr(self, one.name)))


@dataclass(frozen=True)
class Settings:
    """What shapes the answers.

    ``cluster`` is "litter" (dam within season), "dam" or "farm". ``windows_h`` maps the printed name of each
    window of loss to its end in hours; ``follow_up_d`` closes the last one. ``minimum_group`` is the number
    of newborns under which a group reads "too few to say". ``price`` is the keeper's own price of a newborn.
    ``standard_mix`` names the columns of the common mix of the years chapter. ``season_first_month`` is the month in
    which every season starts; None takes the seasons from the birth dates.

    Raises
    ------
    WrongSetting
        With the same sentence, from Python as from a TOML file: which setting, what was found, what belongs there.
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

    def __post_init__(self) -> None:
        """Every value is checked, and brought into its usual form."""
        for setting in fields(self):
            _keep(
                self,
                setting.name,
                READERS[setting.name](f"settings, {setting.name}", getattr(self, setting.name)),
            )
        for word, cause in self.cause_words.items():
            if cause not in self.causes:
                raise WrongSetting(
                    f"settings, cause_words: {quoted(word)} is said to mean {quoted(cause)}, which is no cause"
                    f"{nearest(cause, self.causes)}"
                )


def _keep(made: object, name: str, value: object) -> None:
    object.__setattr__(made, name, value)


def _mark(name: str) -> Reader:
    if name != "colostrum_h":
        return values.number(0, 100_000)
    hour = values.number(0, 1000)
    return lambda place, value: tuple(
        sorted(float(str(hour(place, m))) for m in values.several(place, value))
    )


def _expected_value(name: str) -> Reader:
    return values.text if name in ("season", "group") else values.not_set_or(values.whole(0, 10_000_000))


def _marks(place: str, value: object) -> Marks:
    if isinstance(value, Marks):
        return value
    named = values.keys_of(place, values.section(place, value), [mark.name for mark in fields(Marks)])
    read: dict[str, Any] = {key: _mark(key)(f"{place}, {key}", mark) for key, mark in named.items()}
    return Marks(**read)


def _expected(place: str, value: object) -> tuple[Expected, ...]:
    return tuple(
        _one_expected(f"{place}, entry {entry}", found)
        for entry, found in enumerate(values.several(place, value), start=1)
    )


def _one_expected(place: str, value: object) -> Expected:
    if isinstance(value, Expected):
        return value
    named = values.keys_of(place, values.section(place, value), [one.name for one in fields(Expected)])
    read: dict[str, Any] = {
        key: _expected_value(key)(f"{place}, {key}", count) for key, count in named.items()
    }
    return Expected(**read)


CLUSTERS = ("litter", "dam", "farm")
MIX_COLUMNS = ("birth_type", "parity_class", "born_by", "delivery", "sex", "birth_place", "weight_class")
READERS: dict[str, Reader] = {
    "cluster": values.one_of(CLUSTERS),
    "windows_h": values.windows,
    "follow_up_d": values.number(1, 366),
    "season_first_month": values.not_set_or(values.whole(1, 12)),
    "day_first": values.not_set_or(values.yes_no),
    "time_zone": values.zone,
    "marks": _marks,
    "minimum_group": values.whole(1, 10_000),
    "level": values.share,
    "false_discovery_share": values.share,
    "price": values.not_set_or(values.number(0, 1e7)),
    "currency": values.text,
    "causes": values.causes,
    "cause_words": values.texts,
    "standard_mix": values.words_of(MIX_COLUMNS),
    "ranges": values.plausible,
    "ranges_by_species": values.plausible_by_species,
    "expected": _expected,
    "compare": values.not_set_or(values.pair),
    "own_farm": values.text,
    "language": values.language,
    "spelling": values.one_of(("british", "american")),
}
"""What each setting accepts."""
