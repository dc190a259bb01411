"""The chapters of the review, one question each: ``from neonatal_stats.chapters import losses``."""

from __future__ import annotations

from importlib import import_module
from typing import Any

READING_ORDER = (
    "agreed",
    "records",
    "losses",
    "mobs",
    "survival",
    "causes",
    "examinations",
    "outbreak",
    "birth_type",
    "first_hours",
    "colostrum",
    "mothering",
    "treatments",
    "weather",
    "years",
    "farms",
    "groups",
    "animals",
    "planning",
)
"""The reading order: the only place that knows which questions there are."""

__all__ = ["NotRecorded", *sorted(READING_ORDER)]


def __getattr__(name: str) -> Any:
    """Fetch a chapter, or the error that says what a chapter lacks, when it is first asked for."""
    if name == "NotRecorded":
        return import_module(f"{__name__}.protocol").NotRecorded
    if name in __all__:
        return import_module(f"{__name__}.{name}")
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
