"""A TOML file and the settings in it, key by key and value by value.

A wrong key or value is named with its place, with what was found and what belongs there.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields
from difflib import get_close_matches
from numbers import Integral, Real
from os import PathLike
from pathlib import Path
from typing import Any, TypeVar

from neonatal_stats.season.finding import CannotRead

LARGEST = 2_000_000
Reader = Callable[[str, object], object]
Kind = TypeVar("Kind")
Record = TypeVar("Record")


def load_toml(path: str | PathLike[str]) -> dict[str, object]:
    """The keys of a TOML file."""
    try:
        return tomllib.loads(text_of(path))
    except tomllib.TOMLDecodeError as error:
        raise CannotRead(f"{Path(path).name}: it is not valid TOML ({error}); mend it there.") from None


def text_of(path: str | PathLike[str]) -> str:
    """The text of a TOML file."""
    path = Path(path)
    try:
        data = path.read_bytes()
    except OSError as error:
        raise CannotRead(
            f"{path.name}: it cannot be opened ({error.strerror}); check the name and folder."
        ) from None
    if len(data) > LARGEST:
        raise CannotRead(
            f"{path.name}: it is far too large for settings or a map; was a file of records meant?"
        )
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise CannotRead(f"{path.name}: it is not UTF-8 text; save it as UTF-8.") from None


def check_keys(place: str, found: Iterable[str], allowed: Iterable[str]) -> None:
    """Every key must be one of those allowed; the sentence offers the nearest."""
    allowed = list(allowed)
    for key in found:
        if key not in allowed:
            raise CannotRead(f"{place}: {quoted(key)} is no key here{nearest(key, allowed)}")


def nearest(word: str, allowed: Iterable[str]) -> str:
    """The end of a sentence: the nearest allowed word, or all of them."""
    allowed = list(allowed)
    close = get_close_matches(word, allowed, n=1, cutoff=0.75)
    if close:
        return f"; did you mean {quoted(close[0])}?"
    return f"; use one of {', '.join(filter(None, allowed))}."


def quoted(word: object) -> str:
    """A word as it is quoted in a sentence, on one line, shortened if it is very long."""
    text = " ".join(str(word).splitlines())
    return f'"{text if len(text) <= 60 else text[:57] + "..."}"'


def table_of(place: str, value: object, wrong: type[CannotRead] = CannotRead) -> Mapping[str, object]:
    """A section of the file; anything else is raised as ``wrong``."""
    if not isinstance(value, Mapping):
        raise wrong(
            f"{place}: a section belongs here, found {quoted(value)}; write it as [section] and key = value."
        )
    return value


def texts_of(place: str, value: object, wrong: type[CannotRead] = CannotRead) -> dict[str, str]:
    """A section whose values are all text."""
    section = table_of(place, value, wrong)
    for key, text in section.items():
        if not isinstance(text, str):
            raise wrong(
                f"{place}: the value of {quoted(key)} must be text in quotation marks, found {quoted(text)}."
            )
    return {key: str(text) for key, text in section.items()}


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


def keyed(place: str, value: object, allowed: Iterable[str]) -> Mapping[str, object]:
    """A section in which every key is one of those allowed."""
    named = section(place, value)
    try:
        check_keys(place, named, allowed)
    except CannotRead as error:
        raise WrongSetting(str(error)) from None
    return named


def words_of(allowed: tuple[str, ...]) -> Reader:
    """A list of some words."""
    return lambda place, value: tuple(one_of(allowed)(place, word) for word in several(place, value))


def check_fields(made: Any, place: str, reader_of: Callable[[str], Reader]) -> None:
    """Read every field of a frozen record by its own reader, which brings it into its usual form."""
    for one in fields(made):
        read = reader_of(one.name)(f"{place}, {one.name}", getattr(made, one.name))
        object.__setattr__(made, one.name, read)


def record_of(kind: type[Record], reader_of: Callable[[str], Reader]) -> Callable[[str, object], Record]:
    """A record, made or given as keys and values."""

    names = [one.name for one in fields(kind)]  # type: ignore[arg-type]

    def read(place: str, value: object) -> Record:
        if isinstance(value, kind):
            return value
        named = keyed(place, value, names)
        read: dict[str, Any] = {key: reader_of(key)(f"{place}, {key}", found) for key, found in named.items()}
        return kind(**read)

    return read
