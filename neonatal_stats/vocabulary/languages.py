"""The languages a review can be written in: English, and one more for each language file."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable

ENGLISH = "en"


def languages() -> tuple[str, ...]:
    """Their codes (ISO 639-1), English first."""
    files = sorted(file.name for file in _folder().iterdir() if file.name.endswith(".toml"))
    return (ENGLISH, *(name.removesuffix(".toml") for name in files))


def language_file(language: str) -> Traversable:
    """The one file that holds a language."""
    return _folder() / f"{language}.toml"


def _folder() -> Traversable:
    return resources.files("neonatal_stats") / "words" / "languages"
