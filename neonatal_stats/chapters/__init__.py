"""The chapters of the review, one question each: ``from neonatal_stats.chapters import losses``."""

from __future__ import annotations

from collections.abc import Collection
from importlib import import_module
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    from neonatal_stats.chapters.protocol import Chapter
    from neonatal_stats.season.settings import Settings

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

LEFT_OUT_BY = {"animals": "animal_lists"}
"""The setting that, where it is false, leaves a chapter out of everything that is written."""

__all__ = ["NotRecorded", *sorted(READING_ORDER)]


def in_reading_order(settings: Settings | None = None, alone: Collection[str] = ()) -> tuple[Chapter, ...]:
    """The chapters, in reading order; without those that these settings leave out.

    Where the tables named stand ``alone``, without births, those that one of them opens: a chapter names such tables in
    ``ALONE``.
    """
    names = [name for name in READING_ORDER if getattr(settings, LEFT_OUT_BY.get(name, ""), True)]
    found = tuple(cast("Chapter", import_module(f"{__name__}.{name}")) for name in names)
    return tuple(one for one in found if not alone or set(getattr(one, "ALONE", ())) & set(alone))


def __getattr__(name: str) -> Any:
    """Fetch a chapter, or the error that says what a chapter lacks, when it is first asked for."""
    if name == "NotRecorded":
        return import_module(f"{__name__}.protocol").NotRecorded
    if name in __all__:
        return import_module(f"{__name__}.{name}")
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
