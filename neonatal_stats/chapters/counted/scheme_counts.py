"""The count tables of a scheme that may be published: newborns by group and outcome, small counts left out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

import numpy as np
import pandas as pd

from neonatal_stats.measures.rates import Alike, newborns_in
from neonatal_stats.measures.small_cells import in_line, in_table
from neonatal_stats.season.settings import Settings

ALIKE = Alike()
ALL, NOT_KNOWN = "all", "not known"
NESTED = ("sex_mix", "difficulty")
"""Groups that follow from a column of which a table is published already: what lies between the two would be told."""
MOST_CELLS = 1500
"""A table of more cells is not published: a column with so many words names farms or people."""


def outcomes_of(births: pd.DataFrame, settings: Settings, end_h: float) -> pd.Series:
    """What became of each newborn: one of the words of `outcome_words`, as ordered categories."""
    words = outcome_words(settings, end_h)
    ends = _ends(settings, end_h)
    age = births["age_h"].fillna(0).to_numpy(float)
    place = 1 + np.searchsorted(np.array(list(ends.values())), age, side="right")
    place = np.minimum(place, 1 + len(ends))
    place = np.where(births["age_known"], place, len(words) - 3)
    place = np.where(births["stillborn"], 0, place)
    left = (births["age_h"] < settings.follow_up_h).to_numpy(bool)
    place = np.where(births["died"], place, np.where(left, len(words) - 2, len(words) - 1))
    named = np.array(words, dtype=object)[place]
    return pd.Series(pd.Categorical(named, list(words), ordered=True), index=births.index)


def _ends(settings: Settings, end_h: float) -> dict[str, float]:
    return {name: hour for name, hour in settings.windows_h.items() if hour < end_h}


def outcome_words(settings: Settings, end_h: float) -> tuple[str, ...]:
    """Born dead; lost in each window; lost later, at an unknown age; left alive; alive at the end of follow-up."""
    names = ["", *_ends(settings, end_h)]
    between = [f"lost from {one or 'birth'} to {two}" for one, two in pairwise(names)]
    later = f"lost after {names[-1]}" if names[-1] else "lost after birth"
    return ("born dead", *between, later, "lost at an unknown age", "left alive", "alive at the end")


def count_tables(
    told: Mapping[str, pd.DataFrame], settings: Settings, *, season: str, end_h: float, smallest: int
) -> Iterator[tuple[str, pd.DataFrame]]:
    """Newborns of a season by group and outcome, as they may be published.

    Parameters
    ----------
    told : the answers by question; those about groups are taken, one for each recorded column.
    smallest : a count of 1 to this less one is not shown, nor can it be worked out (`measures.small_cells`).

    Returns
    -------
    Name and frame of each table: season, by, group, outcome, newborns (missing where it is not shown); one row a cell,
    totals under "all". Newborns whose group is not known are a group of their own.
    """
    births = told["outcomes"]
    words = outcome_words(settings, end_h)
    whole = _counted(births, outcomes_of(births, settings, end_h)).reindex(list(words), fill_value=0)
    line = np.append(whole.to_numpy(np.int64), whole.sum())
    below = in_line(line, smallest)
    yield "outcomes", _long(line[None, :], below[None, :], [ALL], words, season, "outcomes")
    for name, frame in told.items():
        by = next((one for one in frame if one == name and name not in (*NESTED, "season")), None)
        if by is None:
            continue
        group = frame[name].cat.add_categories(NOT_KNOWN).fillna(NOT_KNOWN).cat.remove_unused_categories()
        cells = _counted(frame, group, outcomes_of(frame, settings, end_h)).reset_index(name="n")
        cells = cells.pivot_table(index=0, columns=1, values="n", aggfunc="sum", observed=True)
        cells = cells.reindex(columns=list(words)).fillna(0).astype(np.int64)
        inside = np.column_stack([cells.to_numpy(), cells.sum(axis=1).to_numpy()])
        counts = np.vstack([inside, inside.sum(axis=0)])
        if counts.size <= MOST_CELLS:
            hidden = in_table(counts, smallest, below)
            yield name, _long(counts, hidden, [*map(str, cells.index), ALL], words, season, name)


def _counted(births: pd.DataFrame, *by: pd.Series) -> pd.Series:
    newborns = pd.Series(newborns_in(births, ALIKE), index=births.index)
    return newborns.groupby([one.rename(place) for place, one in enumerate(by)], observed=True).sum()


def _long(
    counts: np.ndarray, hidden: np.ndarray, groups: list[str], words: tuple[str, ...], season: str, by: str
) -> pd.DataFrame:
    """A row a cell, missing where it is not shown."""
    rows, columns = counts.shape
    frame = pd.DataFrame(
        {
            "season": season,
            "by": by,
            "group": np.repeat(groups, columns),
            "outcome": [*words, ALL] * rows,
            "newborns": pd.array(counts.ravel(), dtype="Int64"),
        }
    )
    frame.loc[hidden.ravel(), "newborns"] = pd.NA
    return frame
