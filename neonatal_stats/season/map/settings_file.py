"""Settings from a TOML file: every key is checked, and a wrong one is named with what is allowed."""

from __future__ import annotations

from os import PathLike
from pathlib import Path
from typing import Any

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.toml_file import check_keys, load_toml
from neonatal_stats.season.settings import READERS, Settings


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
