"""A season's own shares beside what was published, and beside the keeper's targets: the frame that pages tell."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.measures.windows import END
from neonatal_stats.measures.yardstick import (
    CANNOT_SAY,
    LOST,
    Yardstick,
    beside,
    with_own,
    yardstick,
)
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.published import BORN, BORN_DEAD, LOST_BY

SHARES = ("key", "outcome", "of", "window", "window_h", "events", "n", "share", "low", "high")
BAND = ("band_low", "band_high", "single_low", "single_high", "studies", "kind", "from_h", "to_h", "verdict")
TARGET = ("target", "against")
COLUMNS = (*SHARES, *BAND, *TARGET)
NO_BAND: Mapping[str, Any] = dict.fromkeys(BAND, np.nan) | {"studies": 0, "kind": "", "verdict": ""}


def beside_published(
    shares: Iterable[Mapping[Hashable, Any]], species: str, settings: Settings
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Each share with its band and verdict, and with the keeper's target where there is one.

    Parameters
    ----------
    shares : rows with `SHARES`: the share of an outcome (``key`` names it) by a window, with its interval.

    Returns
    -------
    Two frames. `COLUMNS`, one row a share that has a band or a target, in the order given: the ends of the band, of
    single flocks, and of the windows counted; ``verdict`` and ``against`` (the target) as `measures.yardstick.beside`,
    "" where there is no band or target. A share of fewer newborns than a group needs, or without an interval, is
    `CANNOT_SAY`. Then the figures read, as `published`, each with the ``key`` that it is read beside.
    """
    table = with_own(settings.reference)
    rows, read = [], []
    for share in shares:
        found = yardstick(
            species,
            share["outcome"],
            of=share["of"],
            window_h=share["window_h"],
            kind=settings.kind,
            table=table,
        )
        row = dict(share)
        row.update({**_with_band(share, found, settings), **_with_target(share, settings)})
        if row["verdict"] or row["against"]:
            rows.append({name: row[name] for name in COLUMNS})
        if found is not None:
            read.append(found.rows.assign(key=share["key"]))
    figures = pd.concat(read, ignore_index=True) if read else table.head(0).assign(key="")
    return pd.DataFrame(rows, columns=list(COLUMNS)), figures


def _with_band(
    share: Mapping[Hashable, Any], found: Yardstick | None, settings: Settings
) -> Mapping[str, Any]:
    if found is None:
        return NO_BAND
    return {
        "band_low": found.low,
        "band_high": found.high,
        "single_low": found.single[0],
        "single_high": found.single[1],
        "studies": found.studies,
        "kind": found.kind,
        "from_h": found.windows_h[0],
        "to_h": found.windows_h[1],
        "verdict": _placed(share, (found.low, found.high), settings),
    }


def _with_target(share: Mapping[Hashable, Any], settings: Settings) -> dict[str, Any]:
    """The keeper's target for a share of all born; NaN and "" where there is none."""
    target = settings.targets.get(target_name(share["outcome"], share["window"]), np.nan)
    if np.isnan(target) or share["of"] != BORN:
        return {"target": np.nan, "against": ""}
    return {"target": target, "against": _placed(share, (target, target), settings)}


def target_name(outcome: str, window: str) -> str:
    """What the settings call the target of a loss: "born dead", "lost by 7 d", "lost" for the loss by the end."""
    if outcome == BORN_DEAD:
        return BORN_DEAD
    return LOST if window in ("", END) else LOST_BY + window


def _placed(share: Mapping[Hashable, Any], band: tuple[float, float], settings: Settings) -> str:
    """Where a share lies; nothing can be said of too few, or without an interval."""
    if share["n"] < settings.minimum_group or np.isnan(share["low"]) or np.isnan(share["high"]):
        return CANNOT_SAY
    return beside(share["low"], share["high"], band)


def foremost(shares: pd.DataFrame) -> dict[Hashable, Any] | None:
    """The share that is told: by the age that page one leads with, else the whole, else an earlier age, else born dead.

    Of all born before of those born alive; None where none has a band.
    """
    rows: list[dict[Hashable, Any]] = shares[shares["verdict"] != ""].to_dict("records")
    return min(rows, key=_place, default=None)


def _place(row: Mapping[Hashable, Any]) -> tuple[int, float, bool]:
    """Early windows that end later go first; then the whole, then those born dead."""
    late = 2 if row["outcome"] == BORN_DEAD else int(row["window"] == END)
    return late, -float(row["window_h"]), row["of"] != BORN
