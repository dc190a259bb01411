"""One season among others: its swing, the season against them all, and a line through them, against other programs."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.meta_analysis import combine_effects

from neonatal_stats.estimates.proportion import wilson
from neonatal_stats.estimates.risk_tests import cochran_armitage, line_through
from neonatal_stats.estimates.seasons import AgainstOthers, one_against_others, swing
from neonatal_stats.estimates.standardisation import variance_under_one_risk

SHARES, VARIANCES = [0.10, 0.16, 0.12, 0.21, 0.13], [2e-4, 3e-4, 1.5e-4, 4e-4, 2.5e-4]


def held(lost: list[int], n: int = 500) -> AgainstOthers:
    """The last season against the others, all of one size, without litters."""
    share, pooled = np.array(lost) / n, sum(lost) / (n * len(lost))
    low, high = wilson(np.array(lost), np.full(len(lost), n), level=0.95)
    variance = np.full(len(lost), pooled * (1 - pooled) / n)
    return one_against_others(share, low, high, variance, len(lost) - 1, level=0.95)


def test_the_swing_is_that_of_a_meta_analysis() -> None:
    """statsmodels' combine_effects, DerSimonian and Laird's variance in one step."""
    reference = combine_effects(np.array(SHARES), np.array(VARIANCES), method_re="dl").tau2
    assert swing(SHARES, VARIANCES) == pytest.approx(reference, rel=1e-10)
    assert swing([0.1, 0.1, 0.1], [1e-4] * 3) == 0
    assert np.isnan(swing([0.1], [1e-4]))


def test_without_swing_it_is_the_pooled_test_of_two_shares() -> None:
    """12 % in each of three seasons: nothing is left but chance; worked by hand, 0.07 over its null error."""
    found = held([60, 60, 60, 95])
    p = 275 / 2000
    z = 0.07 / np.sqrt(p * (1 - p) * (1 / 500 + 1 / 1500))
    assert found.difference.estimate == pytest.approx(0.07)
    assert found.difference.p == pytest.approx(2 * stats.norm.sf(z), rel=1e-9)
    assert (found.swing, found.df) == (0.0, np.inf)
    # no swing: Newcombe's hybrid score interval (1998, method 10) of 95/500 against 180/1500, its wider side the mean's
    assert 0.030 < found.difference.low < 0.036
    assert 0.104 < found.difference.high < 0.112


def test_seasons_that_swing_widen_it_by_satterthwaites_rule() -> None:
    """Others of 8, 12 and 16 %, of one size: s2 0.0016; worked by hand."""
    found = held([40, 60, 80, 110])
    p = 290 / 2000
    chance, between = p * (1 - p) / 500, 0.0016 - p * (1 - p) / 500
    variance = (chance + between) * 4 / 3
    df = 2 * (variance / (between * 4 / 3)) ** 2
    assert found.swing == pytest.approx(np.sqrt(between), rel=1e-9)
    assert found.df == pytest.approx(df, rel=1e-9)
    assert found.difference.p == pytest.approx(2 * stats.t.sf(0.10 / np.sqrt(variance), df), rel=1e-9)
    half = stats.t.isf(0.025, df) * np.sqrt(variance)
    assert (found.low, found.high) == (pytest.approx(max(0, 0.12 - half)), pytest.approx(0.12 + half))
    calm = held([58, 60, 62, 110])
    assert found.difference.p > 10 * calm.difference.p
    assert found.difference.low < calm.difference.low


def test_its_interval_leaves_out_none_where_p_is_small_and_needs_three() -> None:
    for lost in ([60, 55, 63, 120], [30, 70, 50, 120], [60, 60, 60, 84], [0, 2, 1, 30]):
        found = held(lost).difference
        assert found.low < found.estimate < found.high
        if abs(np.log(found.p / 0.05)) > 0.7:
            assert (found.low > 0) == (found.p < 0.05)
    with pytest.raises(ValueError, match="three or more"):
        held([60, 60])


def test_the_variance_under_one_risk_is_the_double_sum_over_littermates() -> None:
    """Two strata, two seasons, litters of one to three: the whole covariance matrix, summed by brute force."""
    rng = np.random.default_rng(3)
    litter = np.repeat(np.arange(60), rng.integers(1, 4, 60))
    season, stratum = (litter >= 30).astype(int), rng.integers(0, 2, len(litter))
    event = np.where(
        rng.random(len(litter)) < 0.6, (rng.random(60) < 0.3)[litter], rng.random(len(litter)) < 0.3
    )
    event = event.astype(int)
    standard = np.array([0.3, 0.7])
    found = variance_under_one_risk(event, season, stratum, standard, cluster=litter)
    alone = variance_under_one_risk(event, season, stratum, standard)
    risk = np.array([event[stratum == k].mean() for k in (0, 1)])
    pairs = litter[:, None] == litter[None, :]
    p = event.mean()
    left = np.outer(event - p, event - p) / (p * (1 - p))
    off = pairs & ~np.eye(len(litter), dtype=bool)
    together = (60 / 59) * left[pairs].sum() - len(litter)  # common practice: clusters over clusters less one
    rho = np.clip(together / off.sum(), 0, 1)
    for one in (0, 1):
        n = np.array([((season == one) & (stratum == k)).sum() for k in (0, 1)])
        pull = (
            np.where(season == one, standard[stratum] / n[stratum], 0) * np.sqrt(risk * (1 - risk))[stratum]
        )
        assert alone[one] == pytest.approx((pull**2).sum(), rel=1e-10)
        matrix = np.where(pairs, rho, 0.0)
        np.fill_diagonal(matrix, 1.0)
        assert found[one] == pytest.approx(pull @ matrix @ pull, rel=1e-10)
    assert (found > alone).all()


def test_a_line_through_the_seasons_is_scipys_regression() -> None:
    for share in ([0.1, 0.2, 0.12, 0.19], [0.1, 0.11, 0.14, 0.13, 0.2], SHARES[::-1]):
        reference = stats.linregress(np.arange(len(share)), share)
        found = line_through(share)
        assert found.statistic == pytest.approx(reference.slope / reference.stderr, rel=1e-9)
        assert (found.df, found.p) == (len(share) - 2, pytest.approx(reference.pvalue, rel=1e-9))
    assert np.isnan(line_through([0.1, 0.2]).p)


@pytest.mark.parametrize("seasons", [4, 7])
def test_seasons_that_swing_without_a_trend_are_seldom_given_one(seasons: int) -> None:
    """Risks that swing by a fifth (log standard deviation), 500 newborns a season, 1500 records: 1 in 20 at most.

    The test over newborns alone finds a trend in three of ten; `tests/simulations/seasons.py` is the whole table.
    """
    rng = np.random.default_rng(20260712)
    lost = rng.binomial(500, 0.12 * np.exp(0.2 * rng.normal(size=(1500, seasons))))
    event, place = np.tile([1, 0], seasons), np.repeat(np.arange(seasons), 2)
    newborns, both = 0, 0
    for one in lost:
        weight = np.column_stack([one, 500 - one]).ravel()
        over_newborns = cochran_armitage(event, place, weight=weight).p
        newborns += over_newborns < 0.05
        both += max(over_newborns, line_through(one / 500).p) < 0.05
    assert newborns / 1500 > 0.25
    assert both / 1500 <= 0.05 + 2 * np.sqrt(0.05 * 0.95 / 1500)
