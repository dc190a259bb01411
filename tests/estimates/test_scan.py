"""The scan over days: worked by hand, by counting all dealings out, and by seasons of which the truth is known."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from scipy import stats

from neonatal_stats.estimates.dealing import Newborns, Pack, dealt, dealt_on_average, packed
from neonatal_stats.estimates.scan import WHOLE, Scan, calendar_scan


def alone(born: list[int], age: list[int], died: list[int], place: list[int] | None = None) -> Newborns:
    """Litters of one."""
    n, where = len(born), place or [0] * len(born)
    return Newborns(
        np.array(born), np.array(age), np.array(died) == 1, np.arange(n), np.array(where), np.zeros(n, int)
    )


def scan(born: np.ndarray, age: np.ndarray, died: np.ndarray, **more: object) -> Scan:
    none = np.zeros(len(born), int)
    given = {
        "cluster": np.arange(len(born)),
        "place": none,
        "cause": none,
        "stratum": none,
        "places": 0,
        "causes": 0,
    }
    return calendar_scan(born, age, died, **{**given, "level": 0.95, **more})  # type: ignore[arg-type]


def all_dealings(pack: Pack) -> list[list[tuple[int, int]]]:
    """By trying every order of litters: the day and the place of each death in each dealing that is allowed."""
    found = []
    for order in permutations(range(len(pack.born)), len(pack.slot)):
        takes = zip(order, pack.first, pack.until, strict=True)
        if all(first <= litter < until for litter, first, until in takes):
            litter = np.array(order)[pack.of]
            found.append(list(zip(pack.born[litter] + pack.age, pack.place[litter], strict=True)))
    return found


@pytest.mark.parametrize("within", [True, False])
def test_what_dealings_give_on_average_is_what_counting_them_all_out_gives(within: bool) -> None:
    # the fifth and sixth were watched for two days and one only, so that the death at an age of three days cannot be
    # theirs; the last day of all is 12
    newborns = alone([0, 1, 2, 4, 5, 9], [12, 3, 10, 8, 2, 1], [0, 1, 0, 1, 0, 1], [0, 0, 1, 1, 0, 1])
    pack = packed(newborns, within=within)
    dealings = all_dealings(pack)
    found = dealt_on_average(pack, np.zeros(3, int), 1, 13)[0]
    by_hand = np.zeros((13, 2))
    for one in dealings:
        for day, place in one:
            by_hand[day, place] += 1 / len(dealings)
    assert found == pytest.approx(by_hand)
    assert found.sum() == pytest.approx(3)
    if within:
        assert found.sum(axis=0) == pytest.approx([1, 2])


def test_every_dealing_comes_as_often_as_another() -> None:
    newborns = alone([0, 1, 2, 4, 5], [12, 3, 10, 8, 2], [0, 1, 0, 1, 0])
    pack = packed(newborns, within=False)
    day, place = dealt(pack, 6000, np.random.default_rng(1))
    seen = [tuple(zip(*one, strict=True)) for one in zip(day.T.tolist(), place.T.tolist(), strict=True)]
    possible = sorted({tuple(one) for one in all_dealings(pack)})
    assert set(seen) == set(possible)
    ways = [sum(tuple(one) == two for one in all_dealings(pack)) for two in possible]
    counts = [seen.count(one) for one in possible]
    expected = np.array(ways) / sum(ways) * 6000
    assert stats.chisquare(counts, expected).pvalue > 0.001


def test_littermates_stay_together_and_keep_their_ages() -> None:
    # two of one litter die at one and at four days of age: in every deal they lie three days apart
    newborns = Newborns(
        np.array([0, 0, 3, 3, 9, 9]), np.array([1, 4, 20, 20, 20, 20]), np.array([1, 1, 0, 0, 0, 0]) == 1,
        np.array([0, 0, 1, 1, 2, 2]), np.zeros(6, int), np.zeros(6, int),
    )  # fmt: skip
    day, _ = dealt(packed(newborns, within=True), 200, np.random.default_rng(2))
    assert set(np.diff(np.sort(day, axis=0), axis=0).ravel()) == {3}
    assert set(day.min(axis=0)) == {1, 4, 10}


def test_the_statistic_is_a_likelihood_ratio_of_poisson_counts() -> None:
    """One death expected a day; the window's ratio from scipy's Poisson likelihoods (Kulldorff 1997)."""
    born = np.repeat(np.arange(50), 10)
    died = np.isin(np.arange(500) % 10, [0]) & (born % 2 == 0) | ((born >= 20) & (born < 23))
    found = scan(born, np.where(died, 0, 60), died.astype(int))
    of = int(died.sum())
    inside = of * 3 / 50  # each death may fall on each day alike
    c = found.deaths
    assert (found.first_day, found.last_day, found.place, found.cause) == (20, 22, WHOLE, WHOLE)
    raised = stats.poisson.logpmf(c, c) + stats.poisson.logpmf(of - c, of - c)
    steady = stats.poisson.logpmf(c, inside) + stats.poisson.logpmf(of - c, of - inside)
    assert found.statistic == pytest.approx(raised - steady)
    assert found.expected == pytest.approx(inside * (of - c) / (of - inside))


def test_deaths_that_follow_births_are_no_cluster() -> None:
    # half of all are born in three days, and one in ten dies on the day of birth, whenever that is
    born = np.concatenate([np.repeat([10, 11, 12], 100), np.arange(300) % 60])
    died = np.random.default_rng(3).permutation(600) < 60
    found = scan(born, np.where(died, 0, 60), died.astype(int))
    assert found.p > 0.2


def test_too_few_deaths_and_none_say_so() -> None:
    for n in (0, 4):
        died = (np.arange(60) < n).astype(int)
        found = scan(np.arange(60), np.where(died, 1, 60), died)
        assert (found.deaths, found.note) == (0, "cannot be scanned: under 5 deaths")
        assert np.isnan(found.p)
    empty = np.zeros(0, int)
    assert np.isnan(scan(empty, empty, empty).p)


def test_a_bad_argument_is_named() -> None:
    with pytest.raises(ValueError, match="died: must be 0 or 1; found 2 at position 1"):
        scan(np.arange(3), np.arange(3), np.array([0, 2, 1]))
    with pytest.raises(ValueError, match="place: must be as long as born_day"):
        scan(np.arange(3), np.arange(3), np.zeros(3, int), place=np.zeros(2, int))


def test_the_same_season_gives_the_same_answer() -> None:
    died = (np.arange(200) % 7 == 0).astype(int)
    one, two = (scan(np.arange(200) // 4, np.where(died, 2, 40), died) for _ in range(2))
    assert (one.p, one.statistic) == (two.p, two.statistic)
