"""Groups in which nobody died: a test that takes its variance from the groups themselves thinks them certain.

Fisher's exact test on the same table is the outside answer (scipy.stats.fisher_exact).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from neonatal_stats.estimates import gray_test, logrank

EMPTY = [((0, 20), (10, 200)), ((6, 100), (0, 108)), ((3, 51), (0, 42)), ((0, 9), (15, 230))]


def _newborns(*groups: tuple[int, int]) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Ages, deaths, groups and litters of two: so many lost of so many at 6 h steps, in litters of two."""
    age, died, group = [], [], []
    for number, (lost, n) in enumerate(groups):
        age += [6.0 * (place + 1) if place < lost else 168.0 for place in range(n)]
        died += [int(place < lost) for place in range(n)]
        group += [number] * n
    litter, seen = [], 0
    for _, n in groups:
        half = (n + 1) // 2
        litter += [seen + place % half for place in range(n)]
        seen += half
    return np.array(age), np.array(died), np.array(group), np.array(litter)


@pytest.mark.parametrize(("few", "many"), EMPTY)
def test_an_empty_group_is_no_surer_than_its_exact_test(few: tuple[int, int], many: tuple[int, int]) -> None:
    age, died, group, litter = _newborns(few, many)
    exact = stats.fisher_exact([[few[0], few[1] - few[0]], [many[0], many[1] - many[0]]]).pvalue
    for test in (logrank(age, died, group, cluster=litter), gray_test(age, died, group, 1, cluster=litter)):
        assert test.p > exact / 4
        assert test.p == pytest.approx(logrank(age, died, group).p, rel=0.25)


def test_size_with_a_group_of_twenty_held_by_simulation() -> None:
    """Litters of two with a shared frailty of variance 1, 24 of 600 newborns in the group."""
    rng = np.random.default_rng(20260)
    rejected = np.zeros(2)
    for _ in range(300):
        litter = np.repeat(np.arange(300), 2)
        frailty = rng.gamma(1.0, 1.0, 300)[litter]
        age = rng.exponential(1034.0 / frailty)
        died = age < 168
        age = np.where(died, np.floor(age / 6) * 6, 168.0)
        cause = np.where(died, 1 + (rng.random(600) < 0.5), 0)
        group = (rng.random(300) < 0.04).astype(int)[litter]
        tests = logrank(age, died, group, cluster=litter), gray_test(age, cause, group, 1, cluster=litter)
        rejected += [test.p < 0.05 for test in tests]
    assert (rejected / 300 < 0.07 + 2 * np.sqrt(0.05 * 0.95 / 300)).all()
