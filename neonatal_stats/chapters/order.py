"""The reading order: the only place that knows which questions there are."""

from __future__ import annotations

from importlib import import_module
from typing import cast

from neonatal_stats.chapters.protocol import Chapter

READING_ORDER = (
    "agreed",
    "records",
    "losses",
    "survival",
    "causes",
    "outbreak",
    "birth_type",
    "first_hours",
    "colostrum",
    "mothering",
    "weather",
    "years",
    "farms",
    "groups",
    "planning",
)


def chapters() -> tuple[Chapter, ...]:
    """The chapters, in reading order."""
    return tuple(cast(Chapter, import_module(f"neonatal_stats.chapters.{name}")) for name in READING_ORDER)
