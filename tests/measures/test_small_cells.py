"""Published counts: who knows every total and every cell that is shown cannot tell that a count left out is small."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from neonatal_stats.measures.small_cells import Counts, Mask, in_line, in_table


def with_totals(cells: list[list[int]]) -> Counts:
    inside = np.array(cells, dtype=np.int64)
    rows = np.column_stack([inside, inside.sum(axis=1)])
    return np.vstack([rows, rows.sum(axis=0)])


def attack(counts: Counts, hidden: Mask) -> Mask:
    """The cells that the attacker can tell to be from 1 to 4: whole numbers, each total the sum of its parts.

    Worked as whole-number programs of all cells, apart from how the package finds its bounds.
    """
    place = np.arange(counts.size).reshape(counts.shape)
    equations = []
    for line in (*place, *place.T):
        row = np.zeros(counts.size)
        row[line[-1]], row[line[:-1]] = -1, 1
        equations.append(row)
    shown = ~hidden.ravel()
    low = np.where(shown, counts.ravel(), 0)
    high = np.where(shown, counts.ravel(), np.inf)
    told = np.zeros(counts.size, dtype=bool)
    for cell in range(counts.size):
        ends = []
        for sign in (1, -1):
            aim = np.zeros(counts.size)
            aim[cell] = sign
            rule = LinearConstraint(np.array(equations), 0, 0)
            found = milp(aim, constraints=rule, bounds=Bounds(low, high), integrality=np.ones(counts.size))
            ends.append(sign * found.fun if found.status == 0 else np.inf)
        told[cell] = ends[0] >= 0.5 and ends[1] < 4.5
    return told.reshape(counts.shape)


COUNT = st.one_of(st.integers(0, 6), st.integers(0, 60))
TABLES = st.tuples(st.integers(1, 4), st.integers(1, 4)).flatmap(
    lambda shape: st.lists(
        st.lists(COUNT, min_size=shape[1], max_size=shape[1]), min_size=shape[0], max_size=shape[0]
    )
)


@settings(max_examples=40, deadline=None)
@given(cells=TABLES)
def test_no_small_count_can_be_worked_out(cells: list[list[int]]) -> None:
    counts = with_totals(cells)
    below = in_line(counts[-1], 5)
    hidden = in_table(counts, 5, below)
    assert not attack(counts, hidden).any()
    assert (hidden[-1] == below).all()
    small = (counts > 0) & (counts < 5)
    assert hidden[:-1][small[:-1]].all()
    for line, left_out in ((counts[at], hidden[at]) for at in range(len(counts))):
        if not left_out[-1]:
            assert not 0 < line[:-1][left_out[:-1]].sum() < 5


@settings(max_examples=40, deadline=None)
@given(cells=st.lists(COUNT, min_size=1, max_size=6))
def test_in_one_line_too(cells: list[int]) -> None:
    line = np.array([*cells, sum(cells)], dtype=np.int64)
    hidden = in_line(line, 5)
    assert not 0 < line[:-1][hidden[:-1]].sum() < 5 or hidden[-1]
    assert hidden[(line > 0) & (line < 5)].all()


def test_a_table_without_small_counts_is_shown_whole() -> None:
    counts = with_totals([[10, 0, 7], [5, 20, 30]])
    assert not in_table(counts, 5, in_line(counts[-1], 5)).any()


def test_two_by_two_by_hand() -> None:
    """One small count of four: its neighbours in row and column and the one across are left out with it."""
    counts = with_totals([[3, 40], [50, 60]])
    hidden = in_table(counts, 5, in_line(counts[-1], 5))
    assert hidden.tolist() == [[True, True, False], [True, True, False], [False, False, False]]


def test_two_small_counts_do_not_hide_each_other() -> None:
    """1 and 2 in a row whose total is shown are 3 together: one more is left out with them."""
    hidden = in_line(np.array([1, 2, 30, 40, 73]), 5)
    assert hidden.tolist() == [True, True, True, False, False]


@pytest.mark.parametrize("total", [1, 4])
def test_a_total_under_the_limit_is_not_shown(total: int) -> None:
    assert in_line(np.array([total, 0, total]), 5).tolist() == [True, False, True]


def test_the_attack_finds_what_is_open() -> None:
    """So that the property above could fail: without the others left out, subtraction tells the small count."""
    counts = with_totals([[3, 40], [50, 60]])
    hidden = np.zeros(counts.shape, dtype=bool)
    hidden[0, 0] = True
    assert attack(counts, hidden).tolist() == [
        [place == (0, 0) for place in product([row], range(3))] for row in range(3)
    ]
