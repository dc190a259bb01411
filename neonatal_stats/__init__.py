"""The season review of newborn loss: what was lost, when, of what, and what to change."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from neonatal_stats import analysis, chapters, estimates
    from neonatal_stats.chapters.protocol import NotRecorded
    from neonatal_stats.report.folder import FolderExists
    from neonatal_stats.report.in_python import Answer, Review, ask, review
    from neonatal_stats.season.finding import CannotRead
    from neonatal_stats.season.model import Season
    from neonatal_stats.season.read import read_season
    from neonatal_stats.season.records_map import RecordsMap, read_map
    from neonatal_stats.season.settings import Settings
    from neonatal_stats.season.toml_file import WrongSetting

__version__ = "0.1.0"
__all__ = [
    "Answer",
    "CannotRead",
    "FolderExists",
    "NotRecorded",
    "RecordsMap",
    "Review",
    "Season",
    "Settings",
    "WrongSetting",
    "__version__",
    "analysis",
    "ask",
    "chapters",
    "estimates",
    "read_map",
    "read_season",
    "review",
]

_HOMES = {
    "read_season": "neonatal_stats.season.read",
    "CannotRead": "neonatal_stats.season.finding",
    "NotRecorded": "neonatal_stats.chapters.protocol",
    "Answer": "neonatal_stats.report.in_python",
    "ask": "neonatal_stats.report.in_python",
    "Review": "neonatal_stats.report.in_python",
    "review": "neonatal_stats.report.in_python",
    "Season": "neonatal_stats.season.model",
    "Settings": "neonatal_stats.season.settings",
    "WrongSetting": "neonatal_stats.season.toml_file",
    "RecordsMap": "neonatal_stats.season.records_map",
    "read_map": "neonatal_stats.season.records_map",
    "FolderExists": "neonatal_stats.report.folder",
}
_ROOMS = ("analysis", "chapters", "estimates")
"""Rooms that are public as a whole, each with its own `__all__`."""


def __getattr__(name: str) -> Any:
    """Fetch a public name when it is first asked for, so that importing the package stays light."""
    from importlib import import_module

    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    if name in _ROOMS:
        return import_module(f"{__name__}.{name}")
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    """What is public, for `dir()` and tab completion."""
    return sorted(__all__)
