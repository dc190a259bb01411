"""A TOML file read key by key: a wrong key or value is named with its place and with what is allowed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from os import PathLike
from pathlib import Path

from neonatal_stats.season.finding import CannotRead

LARGEST = 2_000_000


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
