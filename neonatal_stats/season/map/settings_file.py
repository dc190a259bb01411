"""Settings from a TOML file: every key is checked, and a wrong one is named with what is allowed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields
from os import PathLike
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.toml_file import check_keys, load_toml, nearest, quoted, table_of, texts_of
from neonatal_stats.season.settings import Expected, Marks, Settings
from neonatal_stats.vocabulary import ranges, terms
from neonatal_stats.vocabulary.languages import languages

CLUSTERS = ("litter", "dam", "farm")
MIX_COLUMNS = ("birth_type", "parity_class", "born_by", "delivery", "sex", "birth_place", "weight_class")
RANGE_COLUMNS = tuple(
    dict.fromkeys([*ranges.ANY_SPECIES, *(c for r in ranges.BY_SPECIES.values() for c in r)])
)

Reader = Callable[[str, object], object]


def read_settings(path: str | PathLike[str]) -> Settings:
    """The settings of a review, from a TOML file; what it does not name keeps its default.

    Raises `CannotRead` with the place, what was found and what is allowed.
    """
    found = load_toml(path)
    name = Path(path).name
    check_keys(name, found, READERS)
    values = {key: READERS[key](f"{name}, {key}", value) for key, value in found.items()}
    settings = Settings(**values)  # type: ignore[arg-type]
    for word, cause in settings.cause_words.items():
        if cause not in settings.causes:
            raise CannotRead(
                f"{name}, cause_words: {quoted(word)} is said to mean {quoted(cause)}, which is no cause"
                f"{nearest(cause, settings.causes)}"
            )
    return settings


def _wrong(place: str, value: object, wanted: str) -> CannotRead:
    return CannotRead(f"{place}: {wanted} belongs here, found {quoted(value)}.")


def _number(low: float, high: float) -> Reader:
    def read(place: str, value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise _wrong(place, value, f"a number from {low:g} to {high:g}")
        return float(value)

    return read


def _whole(low: int, high: int) -> Reader:
    def read(place: str, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise _wrong(place, value, f"a whole number from {low:,} to {high:,}")
        return value

    return read


def _share(place: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 1:
        raise _wrong(place, value, "a share between 0 and 1, such as 0.95,")
    return float(value)


def _text(place: str, value: object) -> str:
    if not isinstance(value, str):
        raise _wrong(place, value, "text in quotation marks")
    return value


def _yes_no(place: str, value: object) -> bool:
    if not isinstance(value, bool):
        raise _wrong(place, value, "true or false")
    return value


def _one_of(words: tuple[str, ...]) -> Reader:
    def read(place: str, value: object) -> str:
        if value not in words:
            raise CannotRead(f"{place}: {quoted(value)} is not accepted{nearest(str(value), words)}")
        return str(value)

    return read


def _language(place: str, value: object) -> str:
    if value not in languages():
        raise CannotRead(
            f"{place}: {quoted(value)} is not among the languages; use one of {', '.join(languages())}."
        )
    return str(value)


def _list(place: str, value: object) -> list[Any]:
    if not isinstance(value, list):
        raise _wrong(place, value, "a list in square brackets")
    return value


def _windows(place: str, value: object) -> dict[str, float]:
    windows = {k: _number(0.01, 24 * 366)(f'{place}, "{k}"', v) for k, v in table_of(place, value).items()}
    if not windows:
        raise _wrong(place, value, 'at least one window such as "24 h" = 24')
    return {str(k): float(str(v)) for k, v in sorted(windows.items(), key=lambda item: float(str(item[1])))}


def _zone(place: str, value: object) -> str:
    name = _text(place, value)
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise CannotRead(
            f'{place}: {quoted(name)} is no time zone; write one such as "Europe/London".'
        ) from None
    return name


def _marks(place: str, value: object) -> Marks:
    section = table_of(place, value)
    check_keys(place, section, (field.name for field in fields(Marks)))
    read: dict[str, Any] = {}
    for key, mark in section.items():
        where = f"{place}, {key}"
        if key == "colostrum_h":
            read[key] = tuple(sorted(float(str(_number(0, 1000)(where, m))) for m in _list(where, mark)))
        else:
            read[key] = _number(0, 100_000)(where, mark)
    return Marks(**read)


def _causes(place: str, value: object) -> tuple[str, ...]:
    causes = [str(_text(place, cause)) for cause in _list(place, value)]
    if "stillbirth" not in causes or "unknown" not in causes:
        raise CannotRead(
            f'{place}: the list must hold "stillbirth" and "unknown"; the default is {list(terms.CAUSES)}.'
        )
    if len(set(causes)) < len(causes):
        raise CannotRead(f"{place}: a cause stands in the list twice; keep it once.")
    return tuple(causes)


def _range(place: str, value: object) -> ranges.Range:
    ends = _list(place, value)
    low, high = (float(str(_number(-1e6, 1e6)(place, end))) for end in ends) if len(ends) == 2 else (1.0, 0.0)
    if low >= high:
        raise _wrong(place, value, "a pair such as [0.5, 10], the lower end first,")
    return low, high


def _ranges(place: str, value: object) -> dict[str, ranges.Range]:
    section = table_of(place, value)
    check_keys(place, section, RANGE_COLUMNS)
    return {key: _range(f"{place}, {key}", pair) for key, pair in section.items()}


def _ranges_by_species(place: str, value: object) -> dict[str, Mapping[str, ranges.Range]]:
    section = table_of(place, value)
    check_keys(place, section, terms.SPECIES)
    return {species: _ranges(f"{place}.{species}", pairs) for species, pairs in section.items()}


def _expected(place: str, value: object) -> tuple[Expected, ...]:
    counted = []
    for number, entry in enumerate(_list(place, value), start=1):
        where = f"{place}, entry {number}"
        section = table_of(where, entry)
        check_keys(where, section, (field.name for field in fields(Expected)))
        texts = {k: str(v) for k, v in section.items() if k in ("season", "group")}
        counts = {k: _whole(0, 10_000_000)(f"{where}, {k}", v) for k, v in section.items() if k not in texts}
        counted.append(Expected(**texts, **counts))  # type: ignore[arg-type]
    return tuple(counted)


def _compare(place: str, value: object) -> tuple[str, str]:
    pair = _list(place, value)
    if len(pair) != 2:
        raise _wrong(place, value, 'two seasons such as ["2025", "2026"]')
    return str(pair[0]), str(pair[1])


def _mix(place: str, value: object) -> tuple[str, ...]:
    return tuple(str(_one_of(MIX_COLUMNS)(place, column)) for column in _list(place, value))


READERS: dict[str, Reader] = {
    "cluster": _one_of(CLUSTERS),
    "windows_h": _windows,
    "follow_up_d": _number(1, 366),
    "season_first_month": _whole(1, 12),
    "day_first": _yes_no,
    "time_zone": _zone,
    "marks": _marks,
    "minimum_group": _whole(1, 10_000),
    "level": _share,
    "false_discovery_share": _share,
    "price": _number(0, 1e7),
    "currency": _text,
    "causes": _causes,
    "cause_words": texts_of,
    "standard_mix": _mix,
    "ranges": _ranges,
    "ranges_by_species": _ranges_by_species,
    "expected": _expected,
    "compare": _compare,
    "own_farm": _text,
    "language": _language,
    "spelling": _one_of(("british", "american")),
}
