"""What each cluster of newborns pulls on a curve, for every age at once: the ground of all clustered variances.

While a newborn is at risk its influence on a curve is the same as that of all others at risk; once it has
died or left it is a constant, or moves in step with the curve. A cluster's influence is therefore a few
running sums that step only when one of its newborns comes or goes, and the sum of squares over clusters
steps with them. After one sort, by cluster and age, all ages cost one pass over the newborns: no
newborn-by-age matrix, litters or farms alike.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.clusters import NO_CLUSTER, are_few, few_groups, totals
from neonatal_stats.estimates.counts import Rows
from neonatal_stats.estimates.results import ratio

BLOCK = 1 << 16  # rows worked on at a time, so that scratch arrays stay in the processor's cache


@dataclass(frozen=True, eq=False)
class Histories:
    """Comings and goings, cluster by cluster, each cluster's in order of age.

    ``code`` packs (group, place, what) where what is the outcome or, for a late arrival, the number after
    the last cause; ``starts`` first row of each cluster; ``weight`` newborns a row stands for; ``repeats``
    identical clusters each cluster stands for; ``shape`` groups, grid ages and kinds of what.
    """

    code: Integers
    starts: Integers
    weight: Floats | None
    repeats: Floats | None
    shape: tuple[int, int, int]

    @property
    def clusters(self) -> float:
        """How many clusters there are, repeats counted."""
        return float(len(self.starts) if self.repeats is None else self.repeats.sum())

    @property
    def rows(self) -> float:
        """How many comings and goings there are, repeats counted."""
        if self.repeats is None:
            return float(len(self.code))
        return float(self.repeats @ np.diff(self.starts, append=len(self.code)))

    def blocks(self, step: int) -> Iterator[tuple[slice, Integers, Floats | None]]:
        """Whole clusters, about ``step`` rows at a time: rows, first rows of clusters within them, repeats."""
        ends = np.append(self.starts[1:], len(self.code))
        first = 0
        while first < len(self.starts):
            begin = int(self.starts[first])
            last = max(int(np.searchsorted(ends, begin + step, side="right")), first + 1)
            some = slice(first, last)
            repeats = None if self.repeats is None else self.repeats[some]
            yield slice(begin, int(ends[last - 1])), self.starts[some] - begin, repeats
            first = last


def clustered_rows(
    rows: Rows, cluster: ArrayLike | None, repeats: ArrayLike | None = None, *, across_groups: bool = False
) -> tuple[Rows, Histories | None]:
    """Rows that weigh what they stand for, and the histories of their clusters (within or across groups).

    Without ``cluster`` the rows as they are and None: every newborn is then taken to know nothing of the others.
    """
    if cluster is None:
        if repeats is not None:
            raise ValueError(NO_CLUSTER)
        return rows, None
    labels, _ = arguments.small_codes(cluster, "cluster")
    place = np.empty(len(rows))
    arguments.same_length(age_h=place, cluster=labels)
    if repeats is None:
        return rows, _histories(rows, labels, None, across_groups)
    alike = arguments.codes(repeats, "repeats").astype(np.float64)
    arguments.same_length(age_h=place, repeats=alike)
    arguments.refuse("repeats", alike < 1, alike, "must be whole numbers from 1")
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
    repeats = None if alike is None or source is None else _one_per_cluster(alike, source, starts)
    return Histories(key, starts, weight, repeats, shape)


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
    """The number of repeats of each cluster, which all its rows must agree on."""
    each = alike[source]
    repeats: Floats = each[starts]
    sizes = np.diff(starts, append=len(source))
    differs = np.flatnonzero(each != np.repeat(repeats, sizes))
    if differs.size:
        position = int(source[differs].min())
        raise ValueError(
            f"repeats: all rows of a cluster must stand for the same number of clusters; "
            f"found {alike[position]} at position {position}"
        )
    return repeats


def squared_sums(history: Histories, steps: Sequence[Floats], pairs: Sequence[tuple[int, int]]) -> Floats:
    """Sums over clusters of the products of their running sums, after each age: (pairs, G, K).

    ``steps`` hold for each running sum by how much it moves at each code, (G * K * what,): the first is the number at
    risk, which starts at what its cluster's comings leave open, the others start at 0. ``pairs`` say which to multiply.
    """
    groups, ages, kinds = history.shape
    products = np.zeros((len(pairs), groups * ages))
    opening = np.zeros(groups)
    for rows, starts, repeats in history.blocks(max(BLOCK, groups * ages)):
        code = history.code[rows]
        cell = code // kinds
        sizes = np.diff(starts, append=len(code))
        weight = None if history.weight is None else history.weight[rows]
        each = None if repeats is None else np.repeat(repeats, sizes)
        sums = [
            _running(step, code, weight, starts, sizes, ends_at_zero=not i) for i, step in enumerate(steps)
        ]
        first = sums[0][0][starts]
        opening += np.bincount(cell[starts] // ages, first**2 * (1 if repeats is None else repeats), groups)
        for total, (i, j) in zip(products, pairs, strict=True):
            (before, step), (other, other_step) = sums[i], sums[j]
            change = before * other_step + (other + other_step) * step
            total += np.bincount(cell, change if each is None else change * each, groups * ages)
    by_age = products.reshape(len(pairs), groups, ages)
    for total, pair in zip(by_age, pairs, strict=True):
        if pair == (0, 0) and ages:
            total[:, 0] += opening
    return np.cumsum(by_age, axis=2)


def _running(
    step: Floats,
    code: Integers,
    weight: Floats | None,
    starts: Integers,
    sizes: Integers,
    *,
    ends_at_zero: bool,
) -> tuple[Floats, Floats]:
    """A running sum within clusters just before each row, and the row's own step."""
    own = step[code] if weight is None else step[code] * weight
    before = np.cumsum(own)
    before -= own
    base = before[starts]
    if ends_at_zero:
        base = base + np.add.reduceat(own, starts)
    before -= np.repeat(base, sizes)
    return before, own


def outer_sums(history: Histories, moves: Callable[[Integers], Floats]) -> Floats:
    """Sum over clusters of the outer product of their summed influence on every group, (G, G).

    ``moves`` turns codes (n,) into what each adds to every group's column (n, G).
    """
    groups = history.shape[0]
    product = np.zeros((groups, groups))
    for summed, repeats in _summed(history, moves):
        product += summed.T @ (summed if repeats is None else summed * repeats[:, None])
    return product


def pair_sums(history: Histories, values: Floats) -> Floats:
    """Sum over all ordered pairs of littermates of the products of their values, (C, C).

    ``values`` (G * K * what, C) are what a newborn of each code has of C quantities. All newborns watched from
    birth: each has one row, so that what is no pair is a newborn with itself.
    """
    columns = values.shape[1]
    together, alone = np.zeros((columns, columns)), np.zeros(len(values))
    for rows, starts, repeats in history.blocks(max(BLOCK // columns, 1)):
        code = history.code[rows]
        weight = np.ones(len(code)) if history.weight is None else history.weight[rows]
        summed = np.add.reduceat(values[code] * weight[:, None], starts, axis=0)
        together += summed.T @ (summed if repeats is None else summed * repeats[:, None])
        each = weight if repeats is None else weight * np.repeat(repeats, np.diff(starts, append=len(code)))
        alone += np.bincount(code, each, len(values))
    product: Floats = together - values.T @ (values * alone[:, None])
    return product


def satterthwaite(history: Histories, moves: Callable[[Integers], Floats], direction: Floats) -> float:
    """Satterthwaite degrees of freedom of the variance of one combination of the groups, ``direction (G,)``.

    Twice the squared variance over the variance of the variance, both taken from the clusters: few where the losses,
    and with them the variance, sit in few litters; infinite where all add the same. Pan W, Wall MM (2002) Stat Med
    21:1429-1441.
    """
    squares = fourths = clusters = 0.0
    for summed, repeats in _summed(history, moves):
        square = (summed * direction).sum(axis=1) ** 2
        alike = np.ones(len(square)) if repeats is None else repeats
        squares += float((alike * square).sum())
        fourths += float((alike * square**2).sum())
        clusters += float(alike.sum())
    spread = fourths - squares**2 / clusters if clusters else 0.0
    return 2 * squares**2 / spread if spread > 1e-12 * fourths else np.inf


def _summed(
    history: Histories, moves: Callable[[Integers], Floats]
) -> Iterator[tuple[Floats, Floats | None]]:
    """Moves summed within clusters, (clusters, G), a block at a time, and the clusters' repeats."""
    for rows, starts, repeats in history.blocks(max(BLOCK // history.shape[0], 1)):
        moved = moves(history.code[rows])
        if history.weight is not None:
            moved *= history.weight[rows][:, None]
        yield np.add.reduceat(moved, starts, axis=0), repeats


def in_own_column(
    history: Histories, own: Floats, shared: Floats | None = None
) -> Callable[[Integers], Floats]:
    """Moves: ``own (G * K * what,)`` in the newborn's own group, ``shared (K * what, G)`` in all groups."""
    groups, ages, kinds = history.shape

    def moves(code: Integers) -> Floats:
        group = code // (ages * kinds)
        within = code - group * (ages * kinds)
        moved = np.zeros((len(code), groups)) if shared is None else shared[within]
        moved[np.arange(len(code)), group] += own[code]
        return moved

    return moves


def by_kind(left: Floats, lost: list[Floats], come: Floats) -> Floats:
    """Steps in the order of the codes: left alive, lost of each cause, came under watch."""
    steps: Floats = np.stack([left, *lost, come], axis=-1).reshape(-1)
    return steps


@dataclass(frozen=True, eq=False)
class _ClusterSizes:
    """Of each group, (G,): whether clusters are ``few``, and ``design_effect`` were littermates to share one fate."""

    few: NDArray[np.bool_]
    design_effect: Floats


def widened(history: Histories, se: Floats, alone: Floats, few: NDArray[np.bool_], level: float) -> Floats:
    """Errors (G, ...), those of groups of few clusters so wide that the normal quantile holds.

    ``alone`` are the errors of independent newborns; clusters are those within groups.
    """
    if not few.any():
        return se
    sizes, lost = sizes_by_cluster(history)
    wide = se.copy()
    for group in np.flatnonzero(few):
        own = sizes[sizes[:, group] > 0][:, [group]]
        correction = few_groups(own, lost[group] / float(own.sum()), [1.0])
        effect = correction.effect(ratio(se[group] ** 2, alone[group] ** 2), level)
        wide[group] = np.where(alone[group] > 0, alone[group] * np.sqrt(effect), se[group])
    return wide


def sizes_by_cluster(history: Histories) -> tuple[Floats, Floats]:
    """Newborns of each cluster in each group, (C, G), repeats as clusters of their own; each group's losses (G,)."""
    groups, ages, kinds = history.shape
    what, group = history.code % kinds, history.code // (ages * kinds)
    weight = np.ones(len(history.code)) if history.weight is None else history.weight
    alike = np.ones(len(history.starts)) if history.repeats is None else history.repeats
    unit = np.repeat(np.arange(len(history.starts)), np.diff(history.starts, append=len(history.code)))
    ended = what < kinds - 1
    sizes = totals(unit * groups + group, weight * ended, len(alike) * groups).reshape(-1, groups)
    lost = totals(group, weight * alike[unit] * (ended & (what > 0)), groups)
    return np.repeat(sizes, np.rint(alike).astype(np.int64), axis=0), lost


def cluster_sizes(history: Histories) -> _ClusterSizes:
    """Count clusters within groups; the design effect is the sum of squared sizes over the sum of sizes."""
    groups, ages, kinds = history.shape
    ends = np.tile(np.arange(kinds) < kinds - 1, groups * ages).astype(np.float64)
    squares, sizes, clusters = np.zeros(groups), np.zeros(groups), np.zeros(groups)
    for rows, starts, repeats in history.blocks(BLOCK):
        code = history.code[rows]
        own = ends[code] if history.weight is None else ends[code] * history.weight[rows]
        size = np.add.reduceat(own, starts)
        group = code[starts] // (ages * kinds)
        alike = np.ones(len(size)) if repeats is None else repeats
        squares += np.bincount(group, alike * size**2, groups)
        sizes += np.bincount(group, alike * size, groups)
        clusters += np.bincount(group, alike, groups)
    effect = np.divide(squares, sizes, out=np.ones(groups), where=sizes > 0)
    return _ClusterSizes(are_few(clusters, sizes), effect)
