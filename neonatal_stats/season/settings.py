"""The settings of a review, every default said once here and in the README's table; checked when they are made.

Among them is the reader's own yardstick: the keeper's targets, and figures that a vet holds beside the published ones.
A wrong value, from a TOML file or from Python, is named with its place, what was found and what belongs there.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from math import isclose
from os import PathLike
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from neonatal_stats.season.actions import Action, CostedAction, costed_actions, entries
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.toml_file import (
    Reader,
    WrongSetting,
    check_fields,
    check_keys,
    keyed,
    load_toml,
    nearest,
    not_set_or,
    number,
    one_of,
    quoted,
    record_of,
    section,
    several,
    share,
    text,
    texts,
    whole,
    words_of,
    wrong,
    yes_no,
)
from neonatal_stats.vocabulary import published, terms
from neonatal_stats.vocabulary import species as ranges
from neonatal_stats.vocabulary.factors import STANDARDISABLE
from neonatal_stats.vocabulary.languages import REGIONS, languages
from neonatal_stats.vocabulary.plan import plan_measures
from neonatal_stats.vocabulary.species import Range

RANGE_COLUMNS = tuple(
    dict.fromkeys([*ranges.ANY_SPECIES, *(c for r in ranges.BY_SPECIES.values() for c in r)])
)


def language(place: str, value: object) -> str:
    """The code of a language that has a file."""
    if value not in languages():
        raise WrongSetting(
            f"{place}: {quoted(value)} is not among the languages; use one of {', '.join(languages())}."
        )
    return str(value)


def zone(place: str, value: object) -> str:
    """A time zone by its name, "" for none."""
    name = text(place, value)
    try:
        if name:
            ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise WrongSetting(
            f'{place}: {quoted(name)} is no time zone; write one such as "Europe/London".'
        ) from None
    return name


HOURS_OF = {
    unit: one
    for one, units in (
        (1.0, "h hr hrs hour hours std stunde stunden"),
        (24.0, "d day days t tag tage tagen"),
        (168.0, "w wk wks week weeks woche wochen"),
    )
    for unit in units.split()
}
"""The hours of each unit in which a window may be named."""
AN_AGE = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*([a-z]+)\.?\s*", re.IGNORECASE)


def _hours_said(name: str) -> float | None:
    """The age that the name of a window says, in hours; None where it says none ("weaning")."""
    found = AN_AGE.fullmatch(name)
    unit = HOURS_OF.get(found[2].lower()) if found else None
    return float(found[1].replace(",", ".")) * unit if found and unit else None


def windows(place: str, value: object) -> dict[str, float]:
    """Names of windows with their ends in hours, the earliest first."""
    named = section(place, value)
    hours = {key: number(0.01, 24 * 366)(f'{place}, "{key}"', end) for key, end in named.items()}
    if not hours:
        raise wrong(place, value, 'at least one window such as "24 h" = 24')
    for name, hour in hours.items():
        said = _hours_said(name)
        if said is not None and not isclose(said, hour):
            raise WrongSetting(
                f"{place}, {quoted(name)}: the name says {said:g} hours and the number {hour:g}; every page would say "
                "one and count to the other. Make them agree."
            )
    return dict(sorted(hours.items(), key=lambda item: item[1]))


def causes(place: str, value: object) -> tuple[str, ...]:
    """The list of causes."""
    named = [text(place, cause) for cause in several(place, value)]
    if "stillbirth" not in named or "unknown" not in named:
        raise WrongSetting(
            f'{place}: the list must hold "stillbirth" and "unknown"; the default is {list(terms.CAUSES)}.'
        )
    if len(set(named)) < len(named):
        raise WrongSetting(f"{place}: a cause stands in the list twice; keep it once.")
    return tuple(named)


def _range(place: str, value: object) -> ranges.Range:
    ends = several(place, value)
    low, high = (number(-1e6, 1e6)(place, end) for end in ends) if len(ends) == 2 else (1.0, 0.0)
    if low >= high:
        raise wrong(place, value, "a pair such as [0.5, 10], the lower end first,")
    return low, high


def plausible(place: str, value: object) -> dict[str, ranges.Range]:
    """Columns with their plausible ranges."""
    named = keyed(place, value, RANGE_COLUMNS)
    return {key: _range(f"{place}, {key}", pair) for key, pair in named.items()}


def plausible_by_species(place: str, value: object) -> dict[str, Mapping[str, ranges.Range]]:
    """The same for each species."""
    named = keyed(place, value, terms.SPECIES)
    return {species: plausible(f"{place}.{species}", pairs) for species, pairs in named.items()}


def pair(place: str, value: object) -> tuple[str, str]:
    """The names of two seasons."""
    names = several(place, value)
    if len(names) != 2:
        raise wrong(place, list(names), 'two seasons such as ["2025", "2026"]')
    return str(names[0]), str(names[1])


@dataclass(frozen=True)
class Marks:
    """Hours, minutes and amounts against which the first hours are held: common practice, with no published source."""

    breathing_s: float = 30.0
    suck_reflex_min: float = 10.0
    standing_h: float = 1.0
    standing_late_h: float = 2.0
    fed_h: float = 2.0
    meconium_h: float = 3.0
    cold_c: float = 37.0
    cool_c: float = 39.0
    energy_first_h: float = 5.0
    colostrum_h: tuple[float, ...] = (4.0, 8.0, 12.0, 24.0)
    colostrum_share_of_weight: float = 0.10
    colostrum_amount_by_h: float = 10.0
    calf_first_feed_ml: float = 2000.0
    small_first_feed_ml: float = 80.0

    def __post_init__(self) -> None:
        """Each mark is a number; raises `WrongSetting`."""
        check_fields(self, "marks", _mark)


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
        check_fields(self, "expected", _expected_value)


def targets(place: str, value: object) -> dict[str, float]:
    """Names of shares with the share that the keeper wants."""
    return {name: share(f'{place}, "{name}"', wanted) for name, wanted in section(place, value).items()}


def check_targets(place: str, wanted: Mapping[str, float], windows: Mapping[str, float]) -> None:
    """Every target must be of a share that the review gives; raises `WrongSetting` with the nearest name."""
    losses = [published.LOST_BY + window for window in windows]
    allowed = [published.BORN_DEAD, *losses, published.LOST, *published.HOUR_TARGETS]
    for name in wanted:
        if name not in allowed:
            windowed = name.startswith(published.LOST_BY)
            there = f" (the windows of [windows_h] are {', '.join(windows)})" if windowed else ""
            raise WrongSetting(f"{place}: there is no share {quoted(name)}{there}{nearest(name, allowed)}")


@dataclass(frozen=True)
class Reference:
    """One figure of the reader's own, with the columns of the table of published ones (`measures.yardstick.COLUMNS`).

    Shares run from 0 to 1, ``window_h`` is hours since birth. Needed are species, outcome, n, definition and source, a
    ``middle`` or both ends of a named ``spread``, and the window of a loss.
    """

    species: str
    outcome: str
    n: int
    definition: str
    source: str
    of: str = published.BORN
    kind: str = published.ALL_KINDS
    window_h: float | None = None
    low: float | None = None
    middle: float | None = None
    high: float | None = None
    spread: str = ""
    counted_in: str = "newborns"
    year: str = ""
    region: str = ""

    def __post_init__(self) -> None:
        """Each value is checked, then that they agree; raises `WrongSetting`."""
        check_fields(self, "reference", REFERENCE.__getitem__)
        why = _disagrees(self)
        if why:
            raise WrongSetting(f"reference: {why}")


def _filled(place: str, value: object) -> str:
    """Text that says something."""
    said = text(place, value).strip()
    if not said:
        raise wrong(place, value, "text that is not empty")
    return said


def _year(place: str, value: object) -> str:
    """A year, or years: 2024 or "2020-2024"."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else text(place, value)


_SHARE = not_set_or(number(0, 1))
REFERENCE: dict[str, Reader] = {
    "species": one_of(terms.SPECIES),
    "outcome": one_of(published.OUTCOMES),
    "n": whole(1, 10_000_000_000),
    "definition": _filled,
    "source": _filled,
    "of": one_of(published.DENOMINATORS),
    "kind": one_of((published.ALL_KINDS, *published.KINDS)),
    "window_h": not_set_or(number(0, 24 * 366)),
    "low": _SHARE,
    "middle": _SHARE,
    "high": _SHARE,
    "spread": one_of(("", *published.SPREADS)),
    "counted_in": one_of(published.COUNTED_IN),
    "year": _year,
    "region": text,
}
"""What each column of a reference accepts."""
NEEDED = ("species", "outcome", "n", "definition", "source")


def _disagrees(one: Reference) -> str:
    """Why the values of a reference do not go together; "" where they do."""
    ends = [end for end in (one.low, one.middle, one.high) if end is not None]
    if one.outcome == published.LOST and one.window_h is None:
        return "a loss needs window_h, the age in hours by which it is counted."
    if (one.low is None) != (one.high is None):
        return "low and high belong together; write both or neither."
    if not ends:
        return "a figure is missing; write middle, or low and high with the spread that they are the ends of."
    if (one.low is None) == bool(one.spread):
        return (
            f"low and high need spread, and spread needs them; it is one of {', '.join(published.SPREADS)}."
        )
    if one.spread == "interval" and one.middle is None:
        return "the interval of a figure needs its middle."
    if ends != sorted(ends):
        return "low, middle and high must stand in that order."
    return ""


def references(place: str, value: object) -> tuple[Reference, ...]:
    """A list of references, made or given as keys and values."""
    entries = enumerate(several(place, value), start=1)
    return tuple(_reference(f"{place}, entry {entry}", one) for entry, one in entries)


def _reference(place: str, value: object) -> Reference:
    if isinstance(value, Reference):
        return value
    given = keyed(place, value, [one.name for one in fields(Reference)])
    lacking = [name for name in NEEDED if name not in given]
    if lacking:
        raise WrongSetting(f"{place}: it lacks {', '.join(lacking)}.")
    read = {name: REFERENCE[name](f"{place}, {name}", found) for name, found in given.items()}
    try:
        return Reference(**read)  # type: ignore[arg-type]
    except WrongSetting as error:
        raise WrongSetting(f"{place}: {str(error).removeprefix('reference: ')}") from None


@dataclass(frozen=True)
class Settings:
    """What shapes the answers.

    ``cluster`` is "litter" (dam within season), "dam" or "farm". ``windows_h`` maps the printed name of each
    window of loss to its end in hours; ``follow_up_d`` closes the last one. ``minimum_group`` is the number
    of newborns under which a group reads "too few to say". ``price`` is the keeper's own price of a newborn.
    ``standard_mix`` names the columns of the common mix of the years chapter. ``season_first_month`` is the month in
    which every season starts; None takes the seasons from the birth dates. ``action`` are those whose cost is weighed,
    ``plan`` is what was agreed to do. ``kind`` is the kind of flock or herd that published figures are taken of,
    ``targets`` the keeper's own, ``reference`` figures of the reader's own beside them.

    Raises
    ------
    WrongSetting
        With the same sentence, from Python as from a TOML file: which setting, what was found, what belongs there.
    """

    cluster: str = "litter"
    windows_h: Mapping[str, float] = field(default_factory=lambda: {"24 h": 24.0, "7 d": 168.0})
    follow_up_d: float = 42.0
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
    action: tuple[CostedAction, ...] = ()
    plan: tuple[Action, ...] = ()
    compare: tuple[str, str] | None = None
    own_farm: str = ""
    kind: str = ""
    targets: Mapping[str, float] = field(default_factory=dict)
    reference: tuple[Reference, ...] = ()
    language: str = "en"
    spelling: str = "british"
    animal_lists: bool = True
    region: str = ""

    @property
    def follow_up_h(self) -> float:
        """End of follow-up in hours since birth."""
        return self.follow_up_d * 24.0

    def __post_init__(self) -> None:
        """Every value is checked, and brought into its usual form."""
        check_fields(self, "settings", READERS.__getitem__)
        for word, cause in self.cause_words.items():
            if cause not in self.causes:
                raise WrongSetting(
                    f"settings, cause_words: {quoted(word)} is said to mean {quoted(cause)}, which is no cause"
                    f"{nearest(cause, self.causes)}"
                )
        check_targets("settings, targets", self.targets, self.windows_h)
        object.__setattr__(self, "action", self._weighed())
        object.__setattr__(self, "plan", self._agreed())

    def _agreed(self) -> tuple[Action, ...]:
        """The plan, whose measures may speak of these windows and causes."""
        try:
            return entries("settings, plan", self.plan, plan_measures(self.windows_h, self.causes))
        except CannotRead as error:
            raise WrongSetting(str(error)) from None

    def _weighed(self) -> tuple[CostedAction, ...]:
        """The actions, which may speak of these windows."""
        try:
            return costed_actions("settings, action", self.action, self.windows_h)
        except CannotRead as error:
            raise WrongSetting(str(error)) from None


def _mark(name: str) -> Reader:
    if name != "colostrum_h":
        return number(0, 100_000)
    hour = number(0, 1000)
    return lambda place, value: tuple(sorted(hour(place, mark) for mark in several(place, value)))


def _expected_value(name: str) -> Reader:
    return text if name in ("season", "group") else not_set_or(whole(0, 10_000_000))


def _expected(place: str, value: object) -> tuple[Expected, ...]:
    read = record_of(Expected, _expected_value)
    return tuple(
        read(f"{place}, entry {entry}", one) for entry, one in enumerate(several(place, value), start=1)
    )


CLUSTERS = ("litter", "dam", "farm")
READERS: dict[str, Reader] = {
    "cluster": one_of(CLUSTERS),
    "windows_h": windows,
    "follow_up_d": number(1, 366),
    "season_first_month": not_set_or(whole(1, 12)),
    "day_first": not_set_or(yes_no),
    "time_zone": zone,
    "marks": record_of(Marks, _mark),
    "minimum_group": whole(1, 10_000),
    "level": share,
    "false_discovery_share": share,
    "price": not_set_or(number(0, 1e7)),
    "currency": text,
    "causes": causes,
    "cause_words": texts,
    "standard_mix": words_of(STANDARDISABLE),
    "ranges": plausible,
    "ranges_by_species": plausible_by_species,
    "expected": _expected,
    "action": several,
    "plan": several,
    "compare": not_set_or(pair),
    "own_farm": text,
    "kind": one_of(("", *published.KINDS)),
    "targets": targets,
    "reference": references,
    "language": language,
    "spelling": one_of(("british", "american")),
    "animal_lists": yes_no,
    "region": one_of(("", *REGIONS)),
}
"""What each setting accepts."""


def read_settings(path: str | PathLike[str]) -> Settings:
    """The settings of a review, from a TOML file; what it does not name keeps its default.

    Raises `CannotRead` with the place, what was found and what is allowed.
    """
    return _named(Path(path).name, load_toml(path))


def settings_of(given: Settings | Mapping[str, object] | str | PathLike[str] | None) -> Settings:
    """Settings as they are, from a dict of them by name, from a TOML file, or all by default.

    Raises `CannotRead` with the place, what was found and what is allowed.
    """
    if isinstance(given, Settings):
        return given
    if isinstance(given, Mapping):
        return _named("settings", given)
    if given is None or isinstance(given, str | PathLike):
        return read_settings(given) if given else Settings()
    raise CannotRead(
        f"settings: give Settings, a dict of settings by name or the path of a TOML file; found {type(given).__name__}."
    )


def _named(place: str, found: Mapping[str, object]) -> Settings:
    """The settings of those names, each as a TOML file holds it."""
    check_keys(place, found, READERS)
    values: dict[str, Any] = {key: READERS[key](f"{place}, {key}", value) for key, value in found.items()}
    try:
        return Settings(**values)
    except CannotRead as error:
        raise CannotRead(f"{place}, {str(error).removeprefix('settings, ')}") from None
