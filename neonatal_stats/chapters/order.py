"""The reading order: the only place that knows which questions there are."""

from __future__ import annotations

from importlib import import_module
from typing import cast

from neonatal_stats.chapters.protocol import Chapter
from neonatal_stats.season.settings import Settings

READING_ORDER = (
    "agreed",
    "records",
    "losses",
    "mobs",
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
    "animals",
    "planning",
)
LEFT_OUT_BY = {"animals": "animal_lists"}
"""The setting that, where it is false, leaves a chapter out of everything that is written."""


def chapters(settings: Settings | None = None) -> tuple[Chapter, ...]:
    """The chapters, in reading order; without those that these settings leave out."""
    names = [name for name in READING_ORDER if getattr(settings, LEFT_OUT_BY.get(name, ""), True)]
    return tuple(cast(Chapter, import_module(f"neonatal_stats.chapters.{name}")) for name in names)
