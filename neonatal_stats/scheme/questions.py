"""The questions of a scheme's page, by name: which of them the columns of the births can answer."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import pandas as pd

from neonatal_stats.scheme.histories import Question
from neonatal_stats.scheme.moments import FED
from neonatal_stats.season.following.seasons import in_time
from neonatal_stats.season.settings import Settings

OUTCOMES, BY_SEASON, FARMS, FED_BY_MARK = "outcomes", "season", "farms", "fed"
MOTHERING = {"mothering": "birth_type", "mothering-delivery": "born_by"}
"""Questions about who was accepted, with what newborns are grouped by in each."""
GROUPS = {
    "birth_type": ("litter_size", "dam_id", "litter_id"),
    "sex": ("sex",),
    "sex_mix": ("sex",),
    "born_by": ("delivery",),
    "difficulty": ("delivery",),
    "parity_class": ("dam_parity",),
    "weight_class": ("birth_weight_kg",),
}
"""What newborns are grouped by, and the columns any of which it takes."""
MIX = ("birth_type", "parity_class", "born_by", "delivery", "weight_class")
"""What the mix of births may be made of on an engine."""


def seasons_in(overview: pd.DataFrame) -> tuple[str, ...]:
    """The seasons by time, the latest last."""
    return tuple(in_time(overview["season"], overview["last_born"]))


def outcomes(season: str) -> Question:
    """The first question: what became of all newborns of a season, by the hour and by cause."""
    return Question(causes=True, season=season)


def questions(
    columns: Collection[str],
    overview: pd.DataFrame,
    settings: Settings,
    *,
    season: str,
    end_h: float,
    more: Sequence[str] = (),
) -> dict[str, Question]:
    """The questions that follow the first (`outcomes`), in the order in which they are asked.

    Parameters
    ----------
    columns : of the births.
    overview : as `overview.overview` counts it.
    season : the season under review, of which all are asked but one.
    end_h : the age to which enough were watched in it (`measures.windows.watched_to_h`).
    more : columns of words to group by besides those that the vocabulary knows.
    """
    ends = ends_told(settings, end_h)
    there = {name: bool(set(needed) & set(columns)) for name, needed in GROUPS.items()}
    this = overview[overview["season"] == season]
    found: dict[str, Question] = {}
    if len(set(overview["season"])) > 1:
        found[BY_SEASON] = Question((BY_SEASON,), ends_h=ends_told(settings, settings.follow_up_h))
    by = [name for name, is_there in there.items() if is_there]
    by += ["species"] if len(set(this["species"])) > 1 else []
    for name in dict.fromkeys([*by, *more]):
        found[name] = Question((name,), ends_h=ends, season=season)
    if "mothered_up" in columns:
        for name, group in MOTHERING.items():
            if there[group]:
                found[name] = Question((group,), ends_h=(), event="failed_mothering", season=season)
    if {"fed_after_min", "fed_after_min_not_by"} & set(columns):
        found[FED_BY_MARK] = Question(("birth_type",), ends_h=(), event=FED, season=season)
    if len(set(this["farm"])) > 1:
        mix = tuple(name for name in settings.standard_mix if name in MIX and _made(name, there, columns))
        found[FARMS] = Question(mix, ends_h=ends, by_farm=True, season=season)
    return found


def _made(name: str, there: dict[str, bool], columns: Collection[str]) -> bool:
    return there.get(name, name in columns)


def ends_told(settings: Settings, end_h: float) -> tuple[float, ...]:
    """The ages by which a group's losses are told: the ends of the windows, and whether it was after ``end_h``."""
    return tuple(sorted({*settings.windows_h.values(), settings.follow_up_h, end_h + 1}))
