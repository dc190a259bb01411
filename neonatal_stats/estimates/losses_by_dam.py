"""Each dam's losses beside what chance alone would deal her, and how many dams chance would bring as far."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, Integers, codes, no_repeats, same_length
from neonatal_stats.estimates.clusters import event_rows

SAME = 1e-9  # two chances that differ by less, as a share of themselves, are one
LARGEST = 0.05  # a chance above this is never told apart from chance, however many there are


@dataclass(frozen=True, eq=False)
class LossesPerDam:
    """Losses of G groups (dams) beside chance; arrays (G,), in the order of ``group``, its numbers ascending.

    ``observed`` losses; ``expected`` what the deal gives her on average; ``p`` the chance of so many or more; ``such``
    how many groups of all G chance alone would bring to a ``p`` as small; ``q`` the share of chance among those with a
    ``q`` as small: where no group differs from another, at most a share s of farms holds any with ``q`` of s or less.
    """

    group: Integers
    observed: Integers
    expected: Floats
    p: Floats
    such: Floats
    q: Floats


def losses_per_dam(
    event: ArrayLike,
    group: ArrayLike,
    litter: ArrayLike,
    stratum: ArrayLike,
    *,
    repeats: ArrayLike | None = None,
) -> LossesPerDam:
    """Losses of each dam, had the litters of each kind been dealt at random to the dams that bore them.

    Parameters
    ----------
    group, litter : whole numbers (n,): the dam, and her litter; of a number that several dams share, each has a litter.
    stratum : whole numbers (n,): season and litter size, say (the first newborn's of each litter).

    Method
    ------
    Within a stratum a litter is as likely to have lost so many as any other litter of it, her own included; the
    losses of a dam's litters add up, which is the convolution of their strata. Losses within a litter are taken as
    they fell, so that littermates may share their luck. ``such`` sums, over all dams, the largest chance each of them
    can have that is no larger than ``p``. ``q`` is the step-up of Benjamini and Hochberg with ``such`` in place of
    dams times ``p``, over chances of `LARGEST` or less (Heyse's, with the bound of Döhler and others for its size).

    Limits
    ------
    Two litters of one dam in one stratum are dealt as if from two packs.

    References
    ----------
    Heyse JF (2011) in: Recent Advances in Biostatistics, 43-58; Döhler S, Durand G, Roquain E (2018) Electron J Stat
    12:1867-1900.

    Examples
    --------
    Two seasons, ten ewes with a single each, two lose in each; ewe 0 twice: 0.2 x 0.2, as could any of the ten.

    >>> from neonatal_stats.estimates import losses_per_dam
    >>> lost, ewe, season = [1, 1] + [0] * 8 + [1] + [0] * 8 + [1], list(range(10)) * 2, [0] * 10 + [1] * 10
    >>> found = losses_per_dam(lost, ewe, range(20), season)
    >>> int(found.observed[0]), [round(float(of[0]), 9) for of in (found.expected, found.p, found.such)]
    (2, [0.4, 0.04, 0.4])
    """
    no_repeats(repeats, "the litters of a dam are dealt anew, each by itself")
    y, _ = event_rows(event, None)
    who, which, kind = codes(group, "group"), codes(litter, "litter"), codes(stratum, "stratum")
    same_length(event=y, group=who, litter=which, stratum=kind)
    names, who = np.unique(who, return_inverse=True)
    if not len(names):
        return LossesPerDam(names, np.zeros(0, np.int64), *(np.zeros(0) for _ in range(4)))
    which = np.unique(which, return_inverse=True)[1]
    which = which + (which.max() + 1) * who  # what two dams share is each dam's own
    _, first, which = np.unique(which, return_index=True, return_inverse=True)
    lost = np.bincount(which, weights=y).astype(np.int64)
    who, (_, cell) = who[first].astype(np.int64), np.unique(kind[first], return_inverse=True)
    observed = np.bincount(who, weights=lost).astype(np.int64)
    chance = _added_up(who, cell.astype(np.int64), _of_cells(lost, cell), len(names))
    reach = np.cumsum(chance[:, ::-1], axis=1)[:, ::-1]
    p = np.where(observed > 0, reach[np.arange(len(names)), observed], 1.0)
    expected = chance @ np.arange(chance.shape[1])
    p, such = np.minimum(p, 1.0), _such(p, reach, chance)
    return LossesPerDam(names, observed, expected, p, such, _q(p, such))


def _of_cells(lost: Integers, cell: Integers) -> Floats:
    """The share of each cell's litters that lost 0, 1, 2 ...: (cells, most + 1)."""
    width = int(lost.max()) + 1
    counts = np.bincount(cell * width + lost, minlength=(int(cell.max()) + 1) * width).reshape(-1, width)
    return np.asarray(counts / counts.sum(axis=1, keepdims=True), dtype=np.float64)


def _added_up(who: Integers, cell: Integers, of_cells: Floats, groups: int) -> Floats:
    """The chance of 0, 1, 2 ... losses of each group over all its litters: (groups, most + 1)."""
    order = np.lexsort(
        (cell, who)
    )  # litters of like kinds in one order, so that like dams have the very same chances
    who, cell = who[order], cell[order]
    turn = np.arange(len(who)) - np.searchsorted(who, who)
    width = of_cells.shape[1]
    chance = np.zeros((groups, (int(turn.max()) + 1) * (width - 1) + 1))
    chance[:, 0] = 1.0
    for k in range(int(turn.max()) + 1):
        rows = turn == k
        before, here = chance[who[rows]], of_cells[cell[rows]]
        after = np.zeros_like(before)
        for lost in range(width):
            after[:, lost:] += before[:, : before.shape[1] - lost] * here[:, [lost]]
        chance[who[rows]] = after
    return chance


def _such(p: Floats, reach: Floats, chance: Floats) -> Floats:
    """How many groups chance brings to a chance of ``p`` or less: each by the largest that it can have."""
    tails, parts = reach[:, 1:].ravel(), chance[:, 1:].ravel()
    possible = parts > 0
    order = np.argsort(tails[possible], kind="stable")
    tails, sums = tails[possible][order], np.concatenate([[0.0], np.cumsum(parts[possible][order])])
    found = sums[np.searchsorted(tails, p * (1 + SAME), side="right")]
    return np.where(p < 1, found, float(len(p)))


def _q(p: Floats, such: Floats) -> Floats:
    """The step-up from the largest chance down; 1 for chances that are too large."""
    order = np.argsort(p, kind="stable")
    as_small = np.searchsorted(p[order], p[order] * (1 + SAME), side="right")
    steps = np.where(p[order] <= LARGEST, such[order] / (1 - LARGEST) / as_small, 1.0)
    q = np.empty(len(p))
    q[order] = np.minimum.accumulate(np.minimum(steps, 1.0)[::-1])[::-1]
    return q
