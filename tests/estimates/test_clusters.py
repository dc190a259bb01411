"""How much littermates agree, by hand and where nothing can be learnt of it."""

from __future__ import annotations

import numpy as np
import pytest

from neonatal_stats.estimates.clusters import agreement


def agree(event: list[int], litter: list[int], weight: list[float] | None = None) -> float:
    return agreement(
        np.array(event, dtype=float),
        np.ones(len(event)) if weight is None else np.array(weight),
        np.array(litter, dtype=np.int64),
        max(litter, default=-1) + 1,
    )


def test_by_hand() -> None:
    """Litters of two lost (2, 1, 0, 0), share 3/8: residuals 5/4, 1/4, -3/4, -3/4, squares sum to 11/4.

    4/3 x 11/4 less 8 x 15/64, over 15/64 x 8 ordered pairs: (11/3 - 15/8) / (15/8) = 43/45.
    """
    assert agree([1, 1, 1, 0, 0, 0, 0, 0], [0, 0, 1, 1, 2, 2, 3, 3]) == pytest.approx(43 / 45, rel=1e-12)


def test_litters_that_differ_within_more_than_chance_count_as_none() -> None:
    assert agree([1, 0, 1, 0, 1, 0], [0, 0, 1, 1, 2, 2]) == 0


@pytest.mark.parametrize("event", [[1, 0, 1, 0], [1, 1, 0, 0]])
def test_without_a_pair_there_is_nothing_to_agree(event: list[int]) -> None:
    assert agree(event, [0, 1, 2, 3]) == 0


@pytest.mark.parametrize("event", [[0, 0, 0, 0], [1, 1, 1, 1]])
def test_one_outcome_says_nothing(event: list[int]) -> None:
    assert agree(event, [0, 0, 1, 1]) == 0


def test_a_single_litter_is_taken_for_the_worst() -> None:
    assert agree([1, 0, 0], [0, 0, 0]) == 1


def test_no_newborns_or_none_of_any_weight_agree_in_nothing() -> None:
    assert agree([], []) == 0
    assert agree([1, 0], [0, 0], weight=[0, 0]) == 0
