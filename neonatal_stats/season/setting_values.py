"""The value of one setting, from a file or from Python: checked, and a wrong one named with what is allowed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from numbers import Integral, Real
from typing import Any
from zoneinfo import ZoneInfo

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.toml_file import check_keys, nearest, quoted
from neonatal_stats.vocabulary import species as ranges
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.languages import languages

Reader = Callable[[str, object], object]
RANGE_COLUMNS = tuple(
    dict.fromkeys([*ranges.ANY_SPECIES, *(c for r in ranges.BY_SPECIES.values() for c in r)])
)


class WrongSetting(CannotRead, ValueError):
    """One sentence: which setting, what was found, what belongs there."""


def wrong(place: str, value: object, wanted: str) -> WrongSetting:
    """The sentence for a value of another kind."""
    return WrongSetting(f"{place}: {wanted} belongs here, found {quoted(value)}.")


def number(low: float, high: float) -> Reader:
    """A number within bounds."""

    def read(place: str, value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, Real) or not low <= float(value) <= high:
            raise wrong(place, value, f"a number from {low:g} to {high:g}")
        return float(value)

    return read


def whole(low: int, high: int) -> Reader:
    """A whole number within bounds."""

    def read(place: str, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, Integral) or not low <= int(value) <= high:
            raise wrong(place, value, f"a whole number from {low:,} to {high:,}")
        return int(value)

    return read


def share(place: str, value: object) -> float:
    """A share strictly between 0 and 1."""
    if isinstance(value, bool) or not isinstance(value, Real) or not 0 < float(value) < 1:
        raise wrong(place, value, "a share between 0 and 1, such as 0.95,")
    return float(value)


def text(place: str, value: object) -> str:
    """Text."""
    if not isinstance(value, str):
        raise wrong(place, value, "text in quotation marks")
    return value


def yes_no(place: str, value: object) -> bool:
    """True or false."""
    if not isinstance(value, bool):
        raise wrong(place, value, "true or false")
    return value


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
    """Keys and values."""
    if not isinstance(value, Mapping):
        raise WrongSetting(
            f"{place}: a section belongs here, found {quoted(value)}; write it as [section] and key = value."
        )
    return {str(key): inner for key, inner in value.items()}


def texts(place: str, value: object) -> dict[str, str]:
    """Keys with values that are all text."""
    named = section(place, value)
    for key, word in named.items():
        if not isinstance(word, str):
            raise WrongSetting(
                f"{place}: the value of {quoted(key)} must be text in quotation marks, found {quoted(word)}."
            )
    return {key: str(word) for key, word in named.items()}


def windows(place: str, value: object) -> dict[str, float]:
    """Names of windows with their ends in hours, the earliest first."""
    hours = {
        key: float(str(number(0.01, 24 * 366)(f'{place}, "{key}"', end)))
        for key, end in section(place, value).items()
    }
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
    low, high = (float(str(number(-1e6, 1e6)(place, end))) for end in ends) if len(ends) == 2 else (1.0, 0.0)
    if low >= high:
        raise wrong(place, value, "a pair such as [0.5, 10], the lower end first,")
    return low, high


def plausible(place: str, value: object) -> dict[str, ranges.Range]:
    """Columns with their plausible ranges."""
    named = section(place, value)
    _keys(place, named, RANGE_COLUMNS)
    return {key: _range(f"{place}, {key}", pair) for key, pair in named.items()}


def plausible_by_species(place: str, value: object) -> dict[str, Mapping[str, ranges.Range]]:
    """The same for each species."""
    named = section(place, value)
    _keys(place, named, terms.SPECIES)
    return {species: plausible(f"{place}.{species}", pairs) for species, pairs in named.items()}


def _keys(place: str, named: Mapping[str, object], allowed: Sequence[str]) -> None:
    try:
        check_keys(place, named, allowed)
    except CannotRead as error:
        raise WrongSetting(str(error)) from None


def pair(place: str, value: object) -> tuple[str, str]:
    """The names of two seasons."""
    names = several(place, value)
    if len(names) != 2:
        raise wrong(place, list(names), 'two seasons such as ["2025", "2026"]')
    return str(names[0]), str(names[1])


def words_of(allowed: tuple[str, ...]) -> Reader:
    """A list of some words."""
    return lambda place, value: tuple(one_of(allowed)(place, word) for word in several(place, value))


def keys_of(place: str, named: Mapping[str, object], allowed: Sequence[str]) -> Mapping[str, object]:
    """A section in which every key is one of those allowed."""
    _keys(place, named, allowed)
    return named
