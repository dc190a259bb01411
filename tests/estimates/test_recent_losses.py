"""Losses of the last days against others at the same ages: worked by hand, and against R's exact Poisson interval."""

from __future__ import annotations

import numpy as np
import pytest

from neonatal_stats.estimates.recent_losses import (
    AgainstCurve,
    in_last_days,
    last_days_against_before,
    losses_against_curve,
)


def at_one_age(lost: int, n: int, reference_lost: int, reference_n: int, litter: int = 1) -> AgainstCurve:
    """Newborns all watched to the same hour, some of them lost at it; ``litter`` newborns in each litter."""
    died = np.arange(n) < lost
    other = np.arange(reference_n) < reference_lost
    return losses_against_curve(
        np.zeros(n),
        np.full(n, 48.0),
        died,
        np.full(reference_n, 48.0),
        other,
        cluster=np.arange(n) // litter,
        reference_cluster=n + np.arange(reference_n) // litter,
        level=0.95,
    )


def test_ratio_and_interval_of_two_poisson_means_as_r_prints_them() -> None:
    """poisson.test(c(11, 6 + 8 + 7), c(800, 1083 + 1050 + 878)), from R's manual: from memory, unchecked."""
    found = at_one_age(11, 800, 21, 3011)
    assert found.design_effect == pytest.approx(1.0)
    assert found.ratio == pytest.approx(1.971488, abs=1e-6)
    assert (found.low, found.high) == pytest.approx((0.8584264, 4.2772659), abs=1e-6)


def test_expected_losses_are_summed_over_ages_worked_by_hand() -> None:
    """Worked by hand. Reference: of 10 watched to birth 2 are lost there, of 8 watched to 24 h 1, the others go on.

    The stretch watches 5 from birth (4 of them through 24 h, one lost at birth) and 16 from 24 h on, of which 3 are
    lost at 24 h: expected 5 * 2/10 + (4 + 16) * 1/8 = 1 + 2.5.
    """
    found = losses_against_curve(
        [0] * 5 + [24] * 16,
        [0] + [48] * 4 + [24] * 3 + [48] * 13,
        [1] + [0] * 4 + [1] * 3 + [0] * 13,
        [0] * 2 + [24] + [48] * 7,
        [1] * 3 + [0] * 7,
        cluster=range(21),
        reference_cluster=range(21, 31),
        level=0.95,
    )
    assert (found.lost, found.expected, found.reference_lost) == (4, 3.5, 3)
    assert found.ratio == pytest.approx(4 / 3.5)


def test_ages_that_the_reference_did_not_reach_are_counted_beside() -> None:
    found = losses_against_curve(
        [0] * 4, [10, 90, 95, 95], [1, 1, 0, 0], [10] * 2 + [50] * 8, [1] * 2 + [0] * 8,
        cluster=range(4), reference_cluster=range(4, 14), level=0.95,
    )  # fmt: skip
    assert (found.lost, found.beyond) == (1, 1)
    assert found.expected == pytest.approx(4 * 2 / 10)


def test_excess_worked_by_hand() -> None:
    """Worked by hand: five were lost, all in a stretch that held a third of the newborns: (1/3)^5 by chance."""
    found = at_one_age(5, 10, 0, 20)
    assert found.excess_p == pytest.approx((1 / 3) ** 5)
    assert np.isnan(found.ratio)
    assert at_one_age(0, 10, 5, 20).excess_p == 1.0


def test_none_lost_in_the_stretch_has_a_ratio_of_none_and_an_upper_end() -> None:
    found = at_one_age(0, 100, 20, 200)
    assert (found.ratio, found.low) == (0.0, 0.0)
    assert 0 < found.high < 1


def test_litters_that_share_their_fate_widen_the_interval_and_weaken_the_test() -> None:
    """Litters of two that are lost together are worth half: the counts of the interval are halved."""
    alone, pairs = at_one_age(12, 100, 12, 200), at_one_age(12, 100, 12, 200, litter=2)
    assert pairs.design_effect == pytest.approx(2.0)
    assert pairs.ratio == alone.ratio
    assert pairs.low < alone.low
    assert pairs.high > alone.high
    assert pairs.excess_p > alone.excess_p


def test_a_litter_of_both_times_stays_one() -> None:
    """The same newborns numbered as one litter in both times or as two: residuals of one litter are summed first."""

    def effect(reference_cluster: range) -> float:
        return losses_against_curve(
            [0] * 4, [5] * 4, [1, 1, 0, 0], [5] * 4, [1, 1, 0, 0],
            cluster=range(4), reference_cluster=reference_cluster, level=0.95,
        ).design_effect  # fmt: skip

    assert effect(range(4, 8)) == pytest.approx(1.0)
    assert effect(range(4)) == pytest.approx(2.0)


def test_the_days_before_end_where_the_last_days_begin() -> None:
    """Worked by hand. Ten were born 20 days ago: two were lost at 5 days, before the last seven, and one at 15 days.

    Ten were born 6 days ago, three of them lost at 5 days, at which age two of ten were lost before: expected 2. The
    loss at 15 days is at an age that nobody had reached before the last days began.
    """
    since = [20 * 24.0] * 10 + [6 * 24.0] * 10
    age = [120] * 2 + [360] + [479] * 7 + [120] * 3 + [143] * 7
    died = [1] * 3 + [0] * 7 + [1] * 3 + [0] * 7
    recent, from_h = in_last_days(since, age, 7)
    assert recent.tolist() == [False] * 2 + [True] * 18
    assert set(from_h[:10]) == {13 * 24.0}
    assert set(from_h[10:]) == {0.0}
    found = last_days_against_before(since, age, died, cluster=range(20), days=7, level=0.95)
    assert (found.lost, found.expected, found.beyond) == (3, 2, 1)


def test_what_cannot_be_is_named() -> None:
    with pytest.raises(ValueError, match=r"from_h: must not come after to_h; found 9.0 at position 1"):
        losses_against_curve(
            [0, 9], [5, 5], [0, 0], [5], [0], cluster=[0, 1], reference_cluster=[2], level=0.95
        )
