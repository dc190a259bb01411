"""The settings of a review, every default said once here and in the README's table; checked when they are made.

A wrong value, from a TOML file or from Python, is named with its place, what was found and what belongs there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from numbers import Integral, Real
from os import PathLike
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.toml_file import check_keys, load_toml, nearest, quoted, table_of, texts_of
from neonatal_stats.vocabulary import species as ranges
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.factors import STANDARDISABLE
from neonatal_stats.vocabulary.languages import languages
from neonatal_stats.vocabulary.regions import REGIONS
from neonatal_stats.vocabulary.species import Range

Reader = Callable[[str, object], object]
Kind = TypeVar("Kind")
Record = TypeVar("Record", "Marks", "Expected")
RANGE_COLUMNS = tuple(
    dict.fromkeys([*ranges.ANY_SPECIES, *(c for r in ranges.BY_SPECIES.values() for c in r)])
)


class WrongSetting(CannotRead, ValueError):
    """One sentence: which setting, what was found, what belongs there."""


def wrong(place: str, value: object, wanted: str) -> WrongSetting:
    """The sentence for a value of another kind."""
    return WrongSetting(f"{place}: {wanted} belongs here, found {quoted(value)}.")


def _a(
    wanted: str, is_one: Callable[[Any], bool], made: Callable[[Any], Kind]
) -> Callable[[str, object], Kind]:
    """A value of one kind, in its usual form."""

    def read(place: str, value: object) -> Kind:
        if not is_one(value):
            raise wrong(place, value, wanted)
        return made(value)

    return read


def _is(kind: type, value: object) -> bool:
    return isinstance(value, kind) and not isinstance(value, bool)


def number(low: float, high: float) -> Callable[[str, object], float]:
    """A number within bounds."""
    wanted = f"a number from {low:g} to {high:g}"
    return _a(wanted, lambda value: _is(Real, value) and low <= float(value) <= high, float)


def whole(low: int, high: int) -> Callable[[str, object], int]:
    """A whole number within bounds."""
    wanted = f"a whole number from {low:,} to {high:,}"
    return _a(wanted, lambda value: _is(Integral, value) and low <= int(value) <= high, int)


share = _a("a share between 0 and 1, such as 0.95,", lambda v: _is(Real, v) and 0 < float(v) < 1, float)
text = _a("text in quotation marks", lambda value: isinstance(value, str), str)
yes_no = _a("true or false", lambda value: isinstance(value, bool), bool)


def one_of(words: tuple[str, ...]) -> Reader:
    """One of some words."""

    def read(place: str, value: object) -> str:
        if value not in words:
            raise WrongSetting(f"{place}: {quoted(value)} is not accepted{nearest(str(value), words)}")
        return str(value)

    return read


def not_set_or(reader: Reader) -> Reader:
    """None, or what the reader accepts."""
    return lambda place, value: None if value is None else reader(place, value)


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


def several(place: str, value: object) -> Sequence[Any]:
    """A list."""
    if not isinstance(value, list | tuple):
        raise wrong(place, value, "a list in square brackets")
    return value


def section(place: str, value: object) -> Mapping[str, object]:
    """Keys and values; keys as text, also from Python."""
    return {str(key): inner for key, inner in table_of(place, value, WrongSetting).items()}


def texts(place: str, value: object) -> dict[str, str]:
    """Keys with values that are all text."""
    return texts_of(place, section(place, value), WrongSetting)


def windows(place: str, value: object) -> dict[str, float]:
    """Names of windows with their ends in hours, the earliest first."""
    named = section(place, value)
    hours = {key: number(0.01, 24 * 366)(f'{place}, "{key}"', end) for key, end in named.items()}
    if not hours:
        raise wrong(place, value, 'at least one window such as "24 h" = 24')
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


def _keyed(place: str, value: object, allowed: Iterable[str]) -> Mapping[str, object]:
    """A section in which every key is one of those allowed."""
    named = section(place, value)
    try:
        check_keys(place, named, allowed)
    except CannotRead as error:
        raise WrongSetting(str(error)) from None
    return named


def plausible(place: str, value: object) -> dict[str, ranges.Range]:
    """Columns with their plausible ranges."""
    named = _keyed(place, value, RANGE_COLUMNS)
    return {key: _range(f"{place}, {key}", pair) for key, pair in named.items()}


def plausible_by_species(place: str, value: object) -> dict[str, Mapping[str, ranges.Range]]:
    """The same for each species."""
    named = _keyed(place, value, terms.SPECIES)
    return {species: plausible(f"{place}.{species}", pairs) for species, pairs in named.items()}


def pair(place: str, value: object) -> tuple[str, str]:
    """The names of two seasons."""
    names = several(place, value)
    if len(names) != 2:
        raise wrong(place, list(names), 'two seasons such as ["2025", "2026"]')
    return str(names[0]), str(names[1])


def words_of(allowed: tuple[str, ...]) -> Reader:
    """A list of some words."""
    return lambda place, value: tuple(one_of(allowed)(place, word) for word in several(place, value))


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
        _check(self, "marks", _mark)


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
        _check(self, "expected", _expected_value)


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
    compare: tuple[str, str] | None = None
    own_farm: str = ""
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
        _check(self, "settings", READERS.__getitem__)
        for word, cause in self.cause_words.items():
            if cause not in self.causes:
                raise WrongSetting(
                    f"settings, cause_words: {quoted(word)} is said to mean {quoted(cause)}, which is no cause"
                    f"{nearest(cause, self.causes)}"
                )


def _check(made: Any, place: str, reader_of: Callable[[str], Reader]) -> None:
    """Read every field of a frozen record by its own reader, which brings it into its usual form."""
    for one in fields(made):
        read = reader_of(one.name)(f"{place}, {one.name}", getattr(made, one.name))
        object.__setattr__(made, one.name, read)


def _record(kind: type[Record], reader_of: Callable[[str], Reader]) -> Callable[[str, object], Record]:
    """A record, made or given as keys and values."""

    def read(place: str, value: object) -> Record:
        if isinstance(value, kind):
            return value
        named = _keyed(place, value, [one.name for one in fields(kind)])
        read: dict[str, Any] = {key: reader_of(key)(f"{place}, {key}", found) for key, found in named.items()}
        return kind(**read)

    return read


def _mark(name: str) -> Reader:
    if name != "colostrum_h":
        return number(0, 100_000)
    hour = number(0, 1000)
    return lambda place, value: tuple(sorted(hour(place, mark) for mark in several(place, value)))


def _expected_value(name: str) -> Reader:
    return text if name in ("season", "group") else not_set_or(whole(0, 10_000_000))


def _expected(place: str, value: object) -> tuple[Expected, ...]:
    read = _record(Expected, _expected_value)
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
    "marks": _record(Marks, _mark),
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
    "compare": not_set_or(pair),
    "own_farm": text,
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
    found = load_toml(path)
    name = Path(path).name
    check_keys(name, found, READERS)
    values: dict[str, Any] = {key: READERS[key](f"{name}, {key}", value) for key, value in found.items()}
    try:
        return Settings(**values)
    except CannotRead as error:
        raise CannotRead(f"{name}, {str(error).removeprefix('settings, ')}") from None
