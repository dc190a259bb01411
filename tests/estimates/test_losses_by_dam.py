"""Losses dealt to dams: held against every deal of small flocks, written out one by one."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import pytest

from neonatal_stats.estimates import LossesPerDam, losses_per_dam

# litters of a small flock: (dam, stratum, size, lost); strata are seasons here, sizes differ within them on purpose
FLOCK = [
    (0, 0, 2, 2), (1, 0, 2, 0), (2, 0, 1, 1), (3, 0, 2, 0),
    (0, 1, 1, 1), (1, 1, 1, 0), (2, 1, 1, 0),
    (0, 2, 3, 1), (3, 2, 3, 3),
]  # fmt: skip


def dealt(litters: list[tuple[int, int, int, int]]) -> LossesPerDam:
    rows = [
        (int(place < lost), dam, number, stratum)
        for number, (dam, stratum, size, lost) in enumerate(litters)
        for place in range(size)
    ]
    event, dam, litter, stratum = zip(*rows, strict=True)
    return losses_per_dam(event, dam, litter, stratum)


def every_deal(litters: list[tuple[int, int, int, int]]) -> np.ndarray:
    """(deals, dams): the losses of each dam in every deal of the litters' losses within strata, by brute force."""
    strata = sorted({stratum for _, stratum, _, _ in litters})
    within = [[one for one in litters if one[1] == stratum] for stratum in strata]
    dams = max(dam for dam, *_ in litters) + 1
    found = []
    for deal in product(*(permutations([lost for *_, lost in group]) for group in within)):
        totals = np.zeros(dams, dtype=int)
        for group, losses in zip(within, deal, strict=True):
            for (dam, *_), lost in zip(group, losses, strict=True):
                totals[dam] += lost
        found.append(totals)
    return np.array(found)


def test_chances_are_those_of_every_deal_written_out() -> None:
    found, deals = dealt(FLOCK), every_deal(FLOCK)
    assert found.group.tolist() == [0, 1, 2, 3]
    assert found.observed.tolist() == [4, 0, 1, 3]
    assert found.expected == pytest.approx(deals.mean(axis=0))
    assert found.p == pytest.approx([(deals[:, dam] >= n).mean() for dam, n in enumerate(found.observed)])


def test_how_many_such_dams_chance_gives_is_that_of_every_deal() -> None:
    found, deals = dealt(FLOCK), every_deal(FLOCK)
    reach = np.array([[(deals[:, dam] >= n).mean() for dam, n in enumerate(deal)] for deal in deals])
    for p, such in zip(found.p, found.such, strict=True):
        assert such == pytest.approx((reach <= p + 1e-12).sum(axis=1).mean())


def test_over_all_deals_no_more_than_a_share_brings_a_dam_so_far() -> None:
    # every deal of the flock, read as if it were the record: the one that differs in nothing but luck
    smallest = []
    for first, second, third in product(
        set(permutations((2, 0, 1, 0))), permutations((1, 0, 0)), permutations((1, 3))
    ):
        lost = (*first, *second, *third)
        sizes = [max(size, n) for (_, _, size, _), n in zip(FLOCK, lost, strict=True)]
        litters = [(d, s, size, n) for (d, s, _, _), size, n in zip(FLOCK, sizes, lost, strict=True)]
        smallest.append(float(dealt(litters).such.min()))
    for share in (0.05, 0.1, 0.2, 0.5):
        assert (np.array(smallest) <= share).mean() <= share


def test_q_by_hand() -> None:
    # 40 ewes with a single in each of three seasons, 4 of 40 lost in each; ewes 0 and 1 in all three: 0.1^3 each, so
    # 40 x 0.001 such ewes by chance, of two: 0.04 / 0.95 / 2. Ewes 2 and 3 in two: 3 x 0.01 x 0.9 + 0.001 each
    lost = [{0, 1, 2, 3}, {0, 1, 2, 3}, {0, 1, 4, 5}]
    found = dealt([(ewe, season, 1, int(ewe in lost[season])) for season in range(3) for ewe in range(40)])
    assert found.such[:2] == pytest.approx([0.04, 0.04])
    assert found.q[:2] == pytest.approx([0.04 / 0.95 / 2] * 2)
    assert found.such[2:4] == pytest.approx([40 * 0.028] * 2)
    assert found.q[2:4] == pytest.approx([40 * 0.028 / 0.95 / 4] * 2)
    assert found.q[4:].tolist() == [1.0] * 36


def test_littermates_share_their_luck() -> None:
    # ten twin litters, one of which lost both: either 0 or 2 are lost of a litter, so two of two has chance 1 in 10
    found = dealt([(dam, 0, 2, 2 * (dam == 0)) for dam in range(10)])
    assert found.p[0] == pytest.approx(0.1)
    assert found.expected == pytest.approx(0.2)
    assert found.such[0] == pytest.approx(1.0)


def test_a_litter_alone_in_its_kind_tells_nothing() -> None:
    found = dealt([(0, 0, 4, 4), (1, 1, 1, 0), (2, 1, 1, 1)])
    assert found.p[0] == pytest.approx(1.0)
    assert found.expected[0] == pytest.approx(4.0)


def test_no_births_and_no_losses() -> None:
    assert losses_per_dam([], [], [], []).group.size == 0
    none = dealt([(dam, 0, 1, 0) for dam in range(5)])
    assert none.p.tolist() == [1.0] * 5
    assert none.such.tolist() == [5.0] * 5


def test_a_bad_argument_is_named() -> None:
    with pytest.raises(ValueError, match="litter: must be as long as event"):
        losses_per_dam([0, 1], [0, 1], [0], [0, 0])


def test_a_number_of_the_litter_that_dams_share_is_a_litter_of_each() -> None:
    lost, dam, parity = [1, 0, 0, 1, 0, 0], [0, 1, 2, 3, 4, 5], [1, 2, 1, 2, 1, 2]
    shared = losses_per_dam(lost, dam, parity, [0] * 6)
    alone = losses_per_dam(lost, dam, range(6), [0] * 6)
    assert shared.observed.tolist() == [1, 0, 0, 1, 0, 0]
    assert shared.p.tolist() == alone.p.tolist()
