"""How many of how many: newborns in groups, the share of each with the interval that litters deserve, and who was
counted at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.proportion import proportions


@dataclass(frozen=True)
class Counted:
    """Newborns (or dams) counted, what they are, and those left out by reason; printed under every chapter.

    The parts add up to ``total``.
    """

    n: int
    what: str = "{newborns}"
    left_out: tuple[tuple[str, int], ...] = ()

    @property
    def total(self) -> int:
        """Counted and left out together."""
        return self.n + sum(n for _, n in self.left_out)


@dataclass(frozen=True)
class Alike:
    """The columns of newborns of whom each row stands for several: how many ``newborns`` of its cluster are alike in
    it, and how many ``clusters`` are alike (the same in all rows of a cluster)."""

    newborns: str = "newborns_alike"
    clusters: str = "clusters_alike"

    @property
    def names(self) -> tuple[str, str]:
        """Both columns."""
        return self.newborns, self.clusters


def standing_for(newborns: pd.DataFrame, alike: Alike | None) -> dict[str, NDArray[Any]]:
    """How many newborns and clusters the rows stand for, as estimates take it; nothing where each is one."""
    if alike is None:
        return {}
    return {"weight": newborns[alike.newborns].to_numpy(), "repeats": newborns[alike.clusters].to_numpy()}


def newborns_in(frame: pd.DataFrame, alike: Alike | None) -> NDArray[np.int64]:
    """How many newborns each row stands for: one, or as many as are said to be alike.

    >>> newborns_in(pd.DataFrame({"newborns_alike": [2, 1], "clusters_alike": [10, 3]}), Alike()).tolist()
    [20, 3]
    """
    if alike is None:
        return np.ones(len(frame), dtype=np.int64)
    each = frame[alike.newborns].to_numpy(np.int64) * frame[alike.clusters].to_numpy(np.int64)
    return np.asarray(each, dtype=np.int64)


def how_many(frame: pd.DataFrame, which: pd.Series, alike: Alike | None) -> int:
    """How many newborns the marked rows stand for."""
    return int(newborns_in(frame, alike)[which.to_numpy(bool)].sum())


def rates(
    newborns: pd.DataFrame,
    by: Sequence[str],
    event: str,
    *,
    level: float,
    cluster: str = "cluster",
    alike: Alike | None = None,
) -> pd.DataFrame:
    """Share of newborns with an event, per group: the ``rates`` frame.

    Parameters
    ----------
    newborns : one row a newborn, with the columns of `by`, `event` and `cluster`.
    by : group columns; an empty sequence counts all together.
    event : a yes-no column; newborns where it is missing are not counted.
    level : confidence level.
    cluster : the column of litter (or farm) numbers; newborns of one cluster are not independent.
    alike : the columns that say how many newborns and clusters a row stands for; one each without it.

    Returns
    -------
    Frame with the columns of `by`, then events, n, share, low, high, design_effect, litters (the clusters that a group
    is of); one row per group.

    Method
    ------
    Wilson score interval on n divided by the design effect (Rao & Scott 1992).
    """
    known = newborns[event].notna().to_numpy()
    groups, code = grouped(newborns if known.all() else newborns.loc[known, list(by)], by)
    counted = np.flatnonzero(known)[code >= 0]
    litters, code = newborns[cluster].to_numpy()[counted], code[code >= 0]
    times = {name: values[counted] for name, values in standing_for(newborns, alike).items()}
    found = proportions(
        newborns[event].to_numpy()[counted].astype(bool),
        group=code,
        cluster=litters,
        n_groups=len(groups),
        level=level,
        **times,
    )
    cells = {
        "events": found.events.astype(int),
        "n": found.n.astype(int),
        "share": found.share,
        "low": found.low,
        "high": found.high,
        "design_effect": found.design_effect,
        "litters": clusters_of(litters, code, len(groups), times.get("repeats")),
    }
    return pd.DataFrame({**groups, **cells}, index=groups.index)


def clusters_of(
    cluster: NDArray[Any], code: NDArray[np.int64], groups: int, repeats: NDArray[Any] | None = None
) -> NDArray[np.int64]:
    """How many clusters each group is of, from one number a row; each as often as it is repeated."""
    number, _ = pd.factorize(cluster)
    rows = np.flatnonzero(number >= 0)
    pairs, first = np.unique(code[rows] * (number.max(initial=0) + 1) + number[rows], return_index=True)
    times = None if repeats is None else repeats[rows[first]]
    of = np.bincount(pairs // (number.max(initial=0) + 1), weights=times, minlength=groups)
    return np.asarray(of, dtype=np.int64)


def one_below_another(first: pd.DataFrame, *others: pd.DataFrame) -> pd.DataFrame:
    """The frames below one another with the columns of all; a frame without rows adds its columns and no kind of cell.

    >>> one_below_another(pd.DataFrame({"n": [1]}), pd.DataFrame(columns=["n", "share"])).columns.tolist()
    ['n', 'share']
    """
    frames = (first, *others)
    held = [frame for frame in frames if len(frame)] or [first]
    names = dict.fromkeys(name for frame in frames for name in frame.columns)
    return pd.concat(held, ignore_index=True).reindex(columns=list(names))


def too_small(rates: pd.DataFrame, minimum_group: int) -> pd.Series:
    """The groups of a ``rates`` frame that are under the minimum: of fewer newborns, or of fewer litters, than that.

    >>> frame = pd.DataFrame({"n": [9, 30, 30], "litters": [9, 4, 10]})
    >>> too_small(frame, 10).tolist()
    [True, True, False]
    """
    return rates[["n", "litters"]].min(axis=1) < minimum_group


def grouped(newborns: pd.DataFrame, by: Sequence[str]) -> tuple[pd.DataFrame, NDArray[np.int64]]:
    """The groups that occur, in printed order, and each newborn's group number (-1 where a column is missing).

    Parameters
    ----------
    newborns : frame with the columns of `by`; ordered categoricals keep their order, other columns are sorted.
    by : columns; an empty sequence makes one group of all.

    Returns
    -------
    (groups, code) : a frame of the group columns, one row a group, and an integer array as long as `newborns`.
    """
    if not by:
        return pd.DataFrame(index=range(1)), np.zeros(len(newborns), dtype=np.int64)
    if len(by) == 1 and isinstance(newborns[by[0]].dtype, pd.CategoricalDtype):
        return _levels(newborns[by[0]])
    keys = newborns[list(by)]
    number = keys.groupby(list(by), observed=True, sort=True, dropna=True).ngroup()
    code = number.fillna(-1).to_numpy(dtype=np.int64)
    first = pd.Series(np.arange(len(keys))).groupby(code).first()
    first = first[first.index >= 0]
    return keys.iloc[first.to_numpy()].reset_index(drop=True), np.where(code < 0, -1, code)


def _levels(column: pd.Series) -> tuple[pd.DataFrame, NDArray[np.int64]]:
    """As `grouped`, of one column of categories."""
    code = column.cat.codes.to_numpy(dtype=np.int64)
    present, first, number = np.unique(code, return_index=True, return_inverse=True)
    known = present >= 0
    return pd.DataFrame({column.name: column.array[first[known]]}), number - int(not known.all())


def too_few(newborns: pd.DataFrame, by: str, minimum: int) -> pd.DataFrame:
    """The groups too small to draw: fewer newborns than a minimum, or newborns of fewer litters than that.

    Returns
    -------
    One row a group, in printed order: the column `by`, n, litters. Those of one litter share their luck, so that ten
    of three litters tell no more than three.
    """
    groups = newborns.groupby(by, observed=True, sort=True)
    counted = pd.DataFrame({"n": groups.size(), "litters": groups["litter"].nunique()}).reset_index()
    return counted[too_small(counted, minimum)].reset_index(drop=True)


def each_row(frame: pd.DataFrame) -> Iterator[Any]:
    """The rows as named tuples: ``row.events``; typed loosely, since a frame does not tell its columns' types."""
    return frame.itertuples(index=False)
