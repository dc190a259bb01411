"""Runs of birth dates: which births belong to one season by their dates alone, and which dates stand far off."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray

GAP_D = 75
"""So many days without a birth end a run (the founders' own choice; two blocks a year lie further apart)."""
STRAGGLERS_D = 150
FEW_DAYS = 3
"""A run of births on so few days belongs to its neighbour where that lies within so many days: stragglers."""
YEAR_D = 366
SLIP_SHARE = 0.05
LONE_BIRTH_OF = 10
"""A few births far from all others of their file are a slip up to this share; a single one from ten births on."""
FAR_AWAY_D, FAR_AWAY_OF = 5 * YEAR_D, 3
"""Births so many days from all others are a slip even in a small file, up to one birth in three."""

Days = NDArray[np.int64]


def run_labels(day: Days, farm: Days) -> Days:
    """The run of each birth, numbered from 0.

    The dates of all farms together make the runs; a run of over a year is looked at farm by farm, and where births
    never stop it is cut each year at the month in which fewest are born.
    """
    labels = _runs(day)
    for long in _longer_than_a_year(day, labels):
        here = np.flatnonzero(labels == long)
        for one in np.unique(farm[here]):
            own = here[farm[here] == one]
            labels[own] = labels.max() + 1 + _runs(day[own])
    for long in _longer_than_a_year(day, labels):
        here = np.flatnonzero(labels == long)
        labels[here] = labels.max() + 1 + _years(day[here])
    return np.unique(labels, return_inverse=True)[1].astype(np.int64)


def far_off(day: Days, of: Days) -> NDArray[np.bool_]:
    """True for the few births of a file (``of`` numbers the files) that stand far from all its others."""
    found = np.zeros(len(day), dtype=bool)
    for one in np.unique(of):
        here = np.flatnonzero(of == one)
        labels = _runs(day[here])
        births = np.bincount(labels)
        days = pd.Series(day[here]).groupby(labels).nunique().to_numpy()
        most = max(SLIP_SHARE * len(here), 1.0 if len(here) >= LONE_BIRTH_OF else 0.0)
        few = (births <= most) | (_years_away(day[here], labels) & (births <= len(here) / FAR_AWAY_OF))
        found[here] = (few & (days <= FEW_DAYS) & (births < births.max()))[labels]
    return found


def _years_away(day: Days, labels: Days) -> NDArray[np.bool_]:
    """For each run, whether all others lie years before and behind it."""
    ends = pd.Series(day).groupby(labels).agg(["min", "max"])
    before = (ends["min"] - ends["max"].shift(1)).fillna(np.inf)
    behind = (ends["min"].shift(-1) - ends["max"]).fillna(np.inf)
    return np.asarray(np.minimum(before, behind) > FAR_AWAY_D)


def _runs(day: Days) -> Days:
    """Runs by the gaps between dates, stragglers with their nearest neighbour."""
    days, place = np.unique(day, return_inverse=True)
    starts = np.flatnonzero(np.diff(days, prepend=days[0] - GAP_D - 1) > GAP_D)
    ends = np.append(starts[1:], len(days))
    runs = [(int(first), int(last)) for first, last in zip(starts, ends, strict=True)]
    while (joined := _a_straggler(days, runs)) is not None:
        runs[joined : joined + 2] = [(runs[joined][0], runs[joined + 1][1])]
    label = np.repeat(np.arange(len(runs)), [last - first for first, last in runs])
    return label[place].astype(np.int64)


def _a_straggler(days: Days, runs: list[tuple[int, int]]) -> int | None:
    """The place of a run that joins the one behind it, because one of the two holds stragglers of the other."""
    gaps = [int(days[later[0]] - days[run[1] - 1]) for run, later in pairwise(runs)]
    for place in np.argsort(gaps, kind="stable"):
        few = min(last - first for first, last in runs[place : place + 2]) <= FEW_DAYS
        if few and gaps[place] <= STRAGGLERS_D:
            return int(place)
    return None


def _longer_than_a_year(day: Days, labels: Days) -> list[int]:
    span = pd.Series(day).groupby(labels).agg(["min", "max"])
    return [int(label) for label in span.index[span["max"] - span["min"] > YEAR_D]]


def _years(day: Days) -> Days:
    """Years that begin in the month around which fewest are born; January where no month stands out."""
    dates = pd.DatetimeIndex(day.astype("datetime64[D]"))
    born = np.bincount(dates.month - 1, minlength=12)
    around = born + np.roll(born, 1)
    first = int(around.argmin()) + 1 if around.min() < around.mean() / 2 else 1
    year = dates.year.to_numpy() - (dates.month.to_numpy() < first)
    return np.unique(year, return_inverse=True)[1].astype(np.int64)
