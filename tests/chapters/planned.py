"""Invented farms with a plan whose truth is known: how often a measure is met in each season, kind by kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from neonatal_stats.season.model import Season
from tests.chapters.build import season

SEEN = {"seen_after_h": 1008}


def litters(
    random: np.random.Generator,
    name: str,
    dams: int,
    *,
    fed: float,
    twins: float = 0.5,
    mothered: float = 0.9,
    lost: float = 0.12,
    of_twins: float = 0.0,
    shared: float = 0.3,
) -> list[dict[str, Any]]:
    """One season's births: single or twin litters whose littermates share part of their luck.

    Parameters
    ----------
    fed, mothered, lost : chance of each; of a twin to be fed it is ``fed`` + ``of_twins``.
    twins : share of the litters that are twins.
    shared : chance that a litter has one luck in common for each of the three.
    """
    rows = []
    for dam in range(dams):
        size = 1 + int(random.random() < twins)
        chances = {"fed": fed + (of_twins if size == 2 else 0.0), "mothered": mothered, "lost": lost}
        luck = {what: random.random() if random.random() < shared else None for what in chances}
        own = ({w: random.random() if one is None else one for w, one in luck.items()} for _ in range(size))
        for mine in own:
            met = {what: mine[what] < chance for what, chance in chances.items()}
            fate = {"died_after_h": 60} if met["lost"] else SEEN
            rows.append(
                {
                    "dam_id": f"{name}-{dam}",
                    "season": name,
                    "born_at": f"{name}-03-02 06:00",
                    "born_alive": "yes",
                    "litter_size": size,
                    "fed_after_min": 60 if met["fed"] else 300,
                    "mothered_up": "yes" if met["mothered"] else "no",
                    **fate,
                }
            )
    return rows


def farm(number: int, seasons: Mapping[str, Mapping[str, float]], plan: Sequence[Any], **more: Any) -> Season:
    """A farm of so many seasons, each with its chances, and a plan; ``dams`` among the chances is 200 unless said."""
    random = np.random.default_rng(number)
    rows: list[dict[str, Any]] = []
    for name, chances in seasons.items():
        given = dict(chances)
        rows += litters(random, name, int(given.pop("dams", 200)), **given)
    return season(rows, plan=plan, **more)
