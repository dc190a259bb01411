"""Comings and goings of newborns, cluster by cluster, in order of age: one sort, and all clustered variances follow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.curves.rows import Rows


@dataclass(frozen=True, eq=False)
class Histories:
    """Comings and goings, cluster by cluster, each cluster's in order of age.

    ``code`` packs (group, place, what) where what is the outcome or, for a late arrival, the number after
    the last cause; ``starts`` first row of each cluster; ``weight`` newborns a row stands for; ``copies``
    identical clusters each cluster stands for; ``shape`` groups, grid ages and kinds of what.
    """

    code: Integers
    starts: Integers
    weight: Floats | None
    copies: Floats | None
    shape: tuple[int, int, int]

    @property
    def clusters(self) -> float:
        """How many clusters there are, copies counted."""
        return float(len(self.starts) if self.copies is None else self.copies.sum())

    def blocks(self, step: int) -> Iterator[tuple[slice, Integers, Floats | None]]:
        """Whole clusters, about ``step`` rows at a time: rows, first rows of clusters within them, copies."""
        ends = np.append(self.starts[1:], len(self.code))
        first = 0
        while first < len(self.starts):
            begin = int(self.starts[first])
            last = max(int(np.searchsorted(ends, begin + step, side="right")), first + 1)
            some = slice(first, last)
            copies = None if self.copies is None else self.copies[some]
            yield slice(begin, int(ends[last - 1])), self.starts[some] - begin, copies
            first = last


def clustered_rows(
    rows: Rows, cluster: ArrayLike, copies: ArrayLike | None, *, across_groups: bool = False
) -> tuple[Rows, Histories]:
    """Rows that weigh what they stand for, and the histories of their clusters (within or across groups)."""
    labels, _ = arguments.small_codes(cluster, "cluster")
    place = np.empty(len(rows))
    arguments.same_length(age_h=place, cluster=labels)
    if copies is None:
        return rows, _histories(rows, labels, None, across_groups)
    alike = arguments.weights(copies, len(rows), "copies")
    one_each = np.ones(len(rows)) if rows.weight is None else rows.weight
    return replace(rows, weight=one_each * alike), _histories(rows, labels, alike, across_groups)


def _histories(rows: Rows, labels: NDArray[Any], alike: Floats | None, across_groups: bool) -> Histories:
    groups, ages, outcomes = rows.shape
    shape = groups, ages, outcomes + 1
    whole = max(ages, 1) * (outcomes + 1)
    if len(labels) and int(labels.max()) >= 2**62 // (groups * whole):
        labels = np.unique(labels, return_inverse=True)[1]
    late = np.flatnonzero(rows.entry >= 0) if rows.entry is not None else np.empty(0, dtype=np.int64)
    key = _keys(rows, labels, late, shape)
    source = None
    if rows.weight is None and alike is None:
        key.sort()
    else:
        order = np.argsort(key)
        key, source = key[order], np.concatenate([np.arange(len(rows)), late])[order]
    unit = key // whole
    key -= (unit - unit % groups) * whole
    starts = np.flatnonzero(np.diff(unit // groups if across_groups else unit, prepend=-1))
    weight = None if rows.weight is None or source is None else rows.weight[source]
    copies = None if alike is None or source is None else _one_per_cluster(alike, source, starts)
    return Histories(key, starts, weight, copies, shape)


def _keys(rows: Rows, labels: NDArray[Any], late: Integers, shape: tuple[int, int, int]) -> Integers:
    """(cluster, group, place, what) as one number for every newborn's end, then for every late arrival."""
    groups, ages, kinds = shape
    key = np.empty(len(rows) + len(late), dtype=np.int64)
    ends = key[: len(rows)]
    np.multiply(labels, groups, out=ends, casting="unsafe", dtype=np.int64)
    if rows.group is not None:
        np.add(ends, rows.group, out=ends, casting="unsafe")
    ends *= ages
    comings = ends[late] + (0 if rows.entry is None else rows.entry[late])
    np.add(ends, rows.place, out=ends, casting="unsafe")
    ends *= kinds
    np.add(ends, rows.outcome, out=ends, casting="unsafe")
    key[len(rows) :] = comings * kinds + (kinds - 1)
    return key


def _one_per_cluster(alike: Floats, source: Integers, starts: Integers) -> Floats:
    """The number of copies of each cluster, which all its rows must agree on."""
    each = alike[source]
    copies: Floats = each[starts]
    sizes = np.diff(starts, append=len(source))
    differs = np.flatnonzero(each != np.repeat(copies, sizes))
    if differs.size:
        position = int(source[differs].min())
        raise ValueError(
            f"copies: all rows of a cluster must stand for the same number of clusters; "
            f"found {alike[position]} at position {position}"
        )
    return copies
