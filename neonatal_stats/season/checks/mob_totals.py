"""Rows among counts by the mob that are no mob: totals, by their words or their counts, and rows that count nothing."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import Finding, found_in, say, where
from neonatal_stats.season.following.mobs import STAGES, WHOLE, count
from neonatal_stats.season.gathering.gathered import Gathered
from neonatal_stats.season.grid import Mask
from neonatal_stats.vocabulary.totals import TOTAL, total_named
from neonatal_stats.vocabulary.totals import WHOLE as MAYBE

NAMING = ("mob", "season", "farm")
FEWEST_COLUMNS, FEWEST_PARTS = 2, 2
"""Of a sum known by its counts alone: the columns that agree, none of them 0, and the mobs that make it up."""


def not_a_mob(mobs: Gathered) -> None:
    """Take the totals out by their words, then the rows without any count."""
    frame, kept = mobs.frame, mobs.ledger.kept
    remedy = say("keep totals out of the records")
    for name in NAMING:
        rows = _named_so(frame, name, kept) & kept
        mobs.enter(found_in(frame, rows, name, say("a row of totals is no mob"), remedy, "no record"))
        kept = mobs.ledger.kept
    filled = np.column_stack([count(frame, name).notna() for name in STAGES]).any(axis=1)
    remedy = say("nothing need be done if nothing was counted of this mob")
    mobs.enter(found_in(frame, ~filled & kept, "mob", say("the row counts nothing"), remedy, "no record"))


def _named_so(frame: pd.DataFrame, name: str, kept: Mask) -> Mask:
    """Rows that name a total in this column; one that may name a whole mob only beside other rows of its season."""
    if name not in frame:
        return np.zeros(len(frame), dtype=bool)
    cells = [
        "" if cell is None or cell != cell or cell == WHOLE else str(cell) for cell in frame[name].tolist()
    ]
    said = np.array([total_named(cell) for cell in cells], dtype=object)
    sure, maybe = np.asarray(said == TOTAL), np.asarray(said == MAYBE)
    parts = kept & ~sure & ~maybe
    if name != "mob":
        return sure | (maybe & bool(parts.any()))
    season = frame.get("season", pd.Series(None, index=frame.index, dtype=object)).astype(object)
    beside = season.isin(season[parts].dropna()) | (season.isna() & bool(parts.any()))
    return sure | (maybe & beside.to_numpy())


def summed(mobs: Gathered) -> Iterator[Finding]:
    """Rows whose every count is the sum of the other mobs': of their farm and season, of the season, or of all.

    Nobody wrote that they are totals, so they are asked about, and set aside until somebody says.
    """
    names = [name for name in STAGES if name in mobs.frame]
    counts = np.column_stack([count(mobs.frame, name) for name in names]) if names else np.empty((0, 0))
    frame = mobs.frame
    groups: tuple[list[str], ...] = (["farm", "season"], ["season"], [])
    for keys in groups:
        kept = mobs.ledger.kept
        at = [row for rows in _parted(frame, keys, kept) for row in _sums(counts, rows)]
        problem = say(
            "each of its counts is the sum of the other mobs' counts; it was set aside: is it a row of totals?"
        )
        remedy = say("leave the row out if it is a total; if it is a mob, look up the counts")
        found = np.array(sorted(at), dtype=np.int64)
        yield Finding(found, "mob", mobs.values(found, "mob"), problem, remedy, "set aside")


def _parted(frame: pd.DataFrame, keys: list[str], kept: Mask) -> Iterator[NDArray[np.int64]]:
    rows = where(kept)
    if not keys:
        yield rows
    elif len(rows):
        for _, part in frame.iloc[rows].groupby(keys, sort=False).indices.items():
            yield rows[part]


def _sums(counts: NDArray[np.float64], rows: NDArray[np.int64]) -> Iterator[int]:
    """The row of these that is the sum of the others in every count it has."""
    here = counts[rows]
    known = np.nan_to_num(here)
    for place, row in enumerate(rows):
        parts = np.delete(known, place, axis=0)
        filled = ~np.isnan(here[place])
        same = (parts.sum(axis=0) == known[place])[filled]
        some = (parts > 0).any(axis=1).sum() >= FEWEST_PARTS
        if some and same.all() and int((known[place] > 0).sum()) >= FEWEST_COLUMNS:
            yield int(row)
            return
