"""Influence summed within clusters, squared, and summed over clusters: for every age at once.

While a newborn is at risk its influence on a curve is the same as that of all others at risk; once it has
died or left it is a constant, or moves in step with the curve. A cluster's influence is therefore a few
running sums that step only when one of its newborns comes or goes, and the sum of squares over clusters
steps with them. All ages cost one pass over the newborns, sorted by cluster and age: no newborn-by-age
matrix, litters or farms alike.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.curves.histories import Histories

BLOCK = 1 << 16  # rows worked on at a time, so that scratch arrays stay in the processor's cache


def squared_sums(history: Histories, steps: Sequence[Floats], pairs: Sequence[tuple[int, int]]) -> Floats:
    """Sums over clusters of the products of their running sums, at every age.

    Parameters
    ----------
    history : comings and goings of the clusters.
    steps : for each running sum, by how much it moves at each code, (G * K * what,). The first is the
        number at risk, which starts at what its cluster's comings leave open; the others start at 0.
    pairs : which running sums to multiply.

    Returns
    -------
    (pairs, G, K) array: the sum over clusters of the product, after each age.
    """
    groups, ages, kinds = history.shape
    products = np.zeros((len(pairs), groups * ages))
    opening = np.zeros(groups)
    for rows, starts, copies in history.blocks(max(BLOCK, groups * ages)):
        code = history.code[rows]
        cell = code // kinds
        sizes = np.diff(starts, append=len(code))
        weight = None if history.weight is None else history.weight[rows]
        each = None if copies is None else np.repeat(copies, sizes)
        sums = [
            _running(step, code, weight, starts, sizes, ends_at_zero=not i) for i, step in enumerate(steps)
        ]
        first = sums[0][0][starts]
        opening += np.bincount(cell[starts] // ages, first**2 * (1 if copies is None else copies), groups)
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
    for summed, copies in _summed(history, moves):
        product += summed.T @ (summed if copies is None else summed * copies[:, None])
    return product


def degrees_of_freedom(history: Histories, moves: Callable[[Integers], Floats], direction: Floats) -> float:
    """Satterthwaite degrees of freedom of the variance of one combination of the groups, ``direction (G,)``.

    Twice the squared variance over the variance of the variance, both taken from the clusters: few where the
    losses, and with them the variance, sit in few litters; infinite where all litters add the same.

    References
    ----------
    Pan W, Wall MM (2002) Small-sample adjustments in using the sandwich variance estimator in generalized
    estimating equations. Stat Med 21:1429-1441.
    """
    squares = fourths = clusters = 0.0
    for summed, copies in _summed(history, moves):
        square = (summed * direction).sum(axis=1) ** 2
        alike = np.ones(len(square)) if copies is None else copies
        squares += float((alike * square).sum())
        fourths += float((alike * square**2).sum())
        clusters += float(alike.sum())
    spread = fourths - squares**2 / clusters if clusters else 0.0
    return 2 * squares**2 / spread if spread > 1e-12 * fourths else np.inf


def _summed(
    history: Histories, moves: Callable[[Integers], Floats]
) -> Iterator[tuple[Floats, Floats | None]]:
    """Moves summed within clusters, (clusters, G), a block at a time, and the clusters' copies."""
    for rows, starts, copies in history.blocks(max(BLOCK // history.shape[0], 1)):
        moved = moves(history.code[rows])
        if history.weight is not None:
            moved *= history.weight[rows][:, None]
        yield np.add.reduceat(moved, starts, axis=0), copies


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
