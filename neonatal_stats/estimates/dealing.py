"""Litters dealt anew over a season: each keeps its own newborns, ages and deaths, and gets another's birth day.

Newborns die of their age first: most in the first days, so that deaths follow births. A litter with all that became of
it is therefore laid on the birth day (and, where places are dealt too, in the place) of another litter of its kind.
Where calendar (and place) have nothing to do with loss, every such dealing is as likely as the one that was seen.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.estimates.arguments import Floats, Integers

Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Newborns:
    """Newborns born alive, one entry each: whole days of birth (from 0 on) and of age at the end of watching; litter,
    place, and what makes litters alike.
    """

    born: Integers
    age: Integers
    died: Flags
    litter: Integers
    place: Integers
    stratum: Integers


@dataclass(frozen=True, eq=False)
class Pack:
    """Litters in the order of dealing, those of a kind after one another and the longest watched first; and deaths.

    ``born`` and ``place`` of each litter. Losing litters have ``first`` (where their kind begins), ``slot`` (the same
    plus how many of the kind are dealt before) and ``until`` (one past the last litter watched to its oldest death).
    Deaths have ``of`` (their losing litter) and ``age`` (days since the litter's birth), and as they were seen ``day``
    and ``at`` (place).
    """

    born: Integers
    place: Integers
    first: Integers
    slot: Integers
    until: Integers
    of: Integers
    age: Integers
    day: Integers
    at: Integers


def packed(newborns: Newborns, *, within: bool) -> Pack:
    """The litters ready to be dealt; littermates in two places are two litters.

    Parameters
    ----------
    within : litters stay in their place; else they are dealt over all places.

    Method
    ------
    Of one kind are litters of one stratum and of as many born alive (and of one place). One takes the day of another
    only where that was watched to the age of its own oldest death: a dead newborn would have been watched to the last
    day that anything was, or to the oldest age.
    """
    width = int(newborns.place.max(initial=0)) + 1
    _, first, unit = np.unique(
        newborns.litter * width + newborns.place, return_index=True, return_inverse=True
    )
    start = np.full(len(first), np.iinfo(np.int64).max)
    np.minimum.at(start, unit, newborns.born)
    until = np.zeros(len(first), dtype=np.int64)
    np.maximum.at(until, unit, _watched(newborns) + newborns.born - start[unit])
    like = [newborns.stratum[first], np.bincount(unit, minlength=len(first))]
    like += [newborns.place[first]] if within else []
    kind = np.unique(np.stack(like), axis=1, return_inverse=True)[1].ravel()
    return _with_deaths(newborns, unit, start, until, kind, newborns.place[first])


def _watched(newborns: Newborns) -> Integers:
    """Days that each was watched, or would have been had it lived."""
    end = int((newborns.born + newborns.age).max(initial=0))
    could = np.minimum(end - newborns.born, int(newborns.age.max(initial=0)))
    return np.where(newborns.died, np.maximum(could, newborns.age), newborns.age)


def _with_deaths(
    newborns: Newborns, unit: Integers, start: Integers, until: Integers, kind: Integers, place: Integers
) -> Pack:
    """Losing litters with the oldest death of a kind first, since the fewest litters were watched so long."""
    day = (newborns.born + newborns.age)[newborns.died]
    losing, of = np.unique(unit[newborns.died], return_inverse=True)
    age = day - start[unit[newborns.died]]
    oldest = np.zeros(len(losing), dtype=np.int64)
    np.maximum.at(oldest, of, age)
    turn = np.lexsort((-oldest, kind[losing]))
    own, oldest = kind[losing][turn], oldest[turn]
    order = np.lexsort((-until, kind))
    first = np.searchsorted(kind[order], own)
    span = int(until.max(initial=0)) + 2
    last = np.searchsorted(kind[order] * span - until[order], own * span - oldest, side="right")
    rank = np.empty(len(turn), dtype=np.int64)
    rank[turn] = np.arange(len(turn))
    slot = first + np.arange(len(turn)) - np.searchsorted(own, own)
    return Pack(
        start[order], place[order], first, slot, last, rank[of], age, day, newborns.place[newborns.died]
    )


def dealt(pack: Pack, times: int, rng: np.random.Generator) -> tuple[Integers, Integers]:
    """The day and the place of each death in each deal, both (deaths, times).

    Method
    ------
    Fisher and Yates's shuffle; a losing litter sees of it only the litters that it may take and that none before it
    took. The ones before it were at least as choosy, so that all dealings are equally likely.
    """
    held = np.repeat(np.arange(len(pack.born), dtype=np.int32)[:, None], times, axis=1)
    each = np.arange(times)
    for slot, until in zip(pack.slot, pack.until, strict=True):
        taken = slot + (rng.random(times) * (until - slot)).astype(np.int64)
        own = held[taken, each]
        held[taken, each] = held[slot]
        held[slot] = own
    litter = held[pack.slot][pack.of]
    return pack.born[litter] + pack.age[:, None], pack.place[litter]


def dealt_on_average(pack: Pack, row: Integers, rows: int, days: int) -> Floats:
    """What the deals give on average, exactly: (rows, days, places), the row of each death in ``row``.

    Method
    ------
    A losing litter takes each litter that it may with one chance, unless one before it took that. It may take those
    that the one before it might, and some more. Litters that so come into play together (a block) are free with one
    chance from then on: chances are kept by block, and a block is counted by day and place.
    """
    found = np.zeros((rows, days, int(pack.place.max(initial=0)) + 1))
    cell, oldest = pack.born * found.shape[2] + pack.place, int(pack.age.max(initial=0)) + 1
    for kind in np.unique(pack.first):
        losing = np.flatnonzero(pack.first == kind)
        ends = np.unique(pack.until[losing])
        blocks = np.split(cell[kind : ends[-1]], ends[:-1] - kind)
        litters = np.stack([np.bincount(block, minlength=found[0].size) for block in blocks])
        own = np.flatnonzero((pack.of >= losing[0]) & (pack.of <= losing[-1]))
        chance = _chances(pack.until[losing], pack.slot[losing], ends)[pack.of[own] - losing[0]]
        pairs, pair = np.unique(row[own] * oldest + pack.age[own], return_inverse=True)
        pull = np.zeros((len(pairs), len(ends)))
        np.add.at(pull, pair, chance)
        for one, laid in zip(pairs, (pull @ litters).reshape(-1, *found.shape[1:]), strict=True):
            in_row, age = divmod(int(one), oldest)
            found[in_row, age:] += laid[: days - age]
    return found


def _chances(until: Integers, slot: Integers, ends: Integers) -> Floats:
    """How likely each losing litter of a kind takes any one litter of each block, (losing, blocks)."""
    own = 1.0 / (until - slot)
    chances = np.zeros((len(until), len(ends)))
    for block, first in enumerate(np.searchsorted(until, ends)):
        free = np.cumprod(1 - own[first:-1])
        chances[first:, block] = own[first:] * np.concatenate([[1.0], free])
    return chances
