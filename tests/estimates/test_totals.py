"""So many for each, over few clusters."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from neonatal_stats.estimates import ratio_of_totals

# Mead R, Curnow RN, Hasted AM (2002) Statistical Methods in Agriculture and Experimental Biology, 3rd ed., example
# 14.6: ewes with 0, 1, 2 and 3 or more live lambs, of three breeds on three farms. A flock here is a breed on a farm.
MEAD = np.array(
    [
        [10, 21, 96, 23], [4, 6, 28, 8], [6, 7, 58, 7], [8, 19, 44, 1], [5, 17, 56, 1], [1, 5, 20, 2], [22, 95, 103, 4],
        [18, 49, 62, 0], [4, 12, 16, 2],
    ]
)  # fmt: skip


def test_the_ratio_and_its_jackknife_are_those_worked_out_by_leaving_flocks_out() -> None:
    ewes, lambs = MEAD.sum(axis=1), MEAD @ np.arange(4)
    found = ratio_of_totals(lambs, ewes, level=0.95)
    assert (lambs.sum(), ewes.sum()) == (1341, 840)
    assert found.estimate == pytest.approx(1341 / 840)
    logs = [math.log((1341 - a) / (840 - b)) for a, b in zip(lambs, ewes, strict=True)]
    error = math.sqrt(8 / 9 * sum((one - sum(logs) / 9) ** 2 for one in logs))
    effective = 840**2 / sum(int(n) ** 2 for n in ewes)
    assert found.high / found.estimate == pytest.approx(math.exp(stats.t.ppf(0.975, effective - 1) * error))
    assert found.estimate / found.low == pytest.approx(found.high / found.estimate)


def test_what_clusters_cannot_tell_has_no_limits() -> None:
    for top, bottom in ([[5], [9]], [[0, 5], [4, 9]], [[0, 0], [4, 9]]):
        found = ratio_of_totals(top, bottom, level=0.95)
        assert found.estimate == pytest.approx(sum(top) / sum(bottom))
        assert math.isnan(found.low)
        assert math.isnan(found.high)
        assert found.note
    with pytest.raises(ValueError, match="denominator"):
        ratio_of_totals([1, 2], [0, 3], level=0.95)


def test_shuffled_and_scaled_clusters_change_nothing_but_the_scale() -> None:
    top, bottom = np.array([90.0, 120, 60, 75]), np.array([100.0, 100, 80, 70])
    found, other = (
        ratio_of_totals(top, bottom, level=0.9),
        ratio_of_totals(2 * top[::-1], bottom[::-1], level=0.9),
    )
    assert other.estimate == pytest.approx(2 * found.estimate)
    assert other.high == pytest.approx(2 * found.high)
