"""Cells in one pass give the same tables as one mask at a time."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from neonatal_stats.estimates.clusters import agreement
from neonatal_stats.estimates.many_groups import cells_against_rest, chosen, side_by_side
from neonatal_stats.estimates.two_by_two import TwoByTwo, against_rest

NUMBERS = [field.name for field in fields(TwoByTwo) if field.name != "clustered"]


@pytest.mark.parametrize("number", range(5))
def test_same_as_one_mask_at_a_time(number: int) -> None:
    rng = np.random.default_rng(number)
    cluster = np.sort(rng.integers(0, 60, 150))
    cluster = np.unique(cluster, return_inverse=True)[1]
    cell = rng.integers(0, 6, 150)
    event = (rng.random(150) < 0.2 + 0.3 * (cluster % 5 == 0)).astype(float)
    event[cell == 4] = 0  # a cell with no deaths
    clusters = int(cluster.max()) + 1
    rho = agreement(event, np.ones(150), cluster, clusters)
    masks = [cell == one for one in range(6)]
    expected = against_rest(event, np.ones(150), masks, (cluster, clusters))
    found = cells_against_rest(event, cell, cluster, cells=6, rho=rho)
    for name in NUMBERS:
        np.testing.assert_allclose(
            getattr(found, name), getattr(expected, name), rtol=1e-9, atol=1e-9, err_msg=name
        )


def test_a_cell_of_everyone_has_no_rest() -> None:
    found = cells_against_rest(
        np.array([1.0, 0, 0, 1]), np.zeros(4, int), np.array([0, 0, 1, 2]), cells=2, rho=0.1
    )
    assert found.n1.tolist() == [4, 0]
    assert found.n0.tolist() == [0, 4]
    assert np.isnan(found.z).all()


def test_joined_and_chosen_tables_keep_their_order() -> None:
    one = cells_against_rest(np.array([1.0, 0, 0, 1]), np.array([0, 1, 0, 1]), np.arange(4), cells=2, rho=0.0)
    both = side_by_side([one, one])
    assert both.a.tolist() == [1, 1, 1, 1]
    assert chosen(both, np.array([1, 3])).n1.tolist() == [2, 2]
