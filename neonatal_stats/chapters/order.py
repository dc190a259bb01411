"""The chapters in reading order, as settings and records let them be asked."""

from __future__ import annotations

from collections.abc import Collection
from importlib import import_module
from typing import cast

from neonatal_stats.chapters import READING_ORDER
from neonatal_stats.chapters.protocol import Chapter
from neonatal_stats.season.settings import Settings

LEFT_OUT_BY = {"animals": "animal_lists"}
"""The setting that, where it is false, leaves a chapter out of everything that is written."""


def chapters(settings: Settings | None = None, alone: Collection[str] = ()) -> tuple[Chapter, ...]:
    """The chapters, in reading order; without those that these settings leave out.

    Where the tables named stand ``alone``, without births, those that one of them opens: a chapter names such tables in
    ``ALONE``.
    """
    names = [name for name in READING_ORDER if getattr(settings, LEFT_OUT_BY.get(name, ""), True)]
    found = tuple(cast(Chapter, import_module(f"neonatal_stats.chapters.{name}")) for name in names)
    return tuple(one for one in found if not alone or set(getattr(one, "ALONE", ())) & set(alone))
