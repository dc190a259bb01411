"""The same numbers as general libraries where those are right on tied whole hours (lifelines' incidence is not)."""

from __future__ import annotations

import numpy as np
import numpy.testing as npt
import pytest

from neonatal_stats.estimates.curve_tests import logrank
from neonatal_stats.estimates.incidence import aalen_johansen
from neonatal_stats.estimates.survival import kaplan_meier

RNG = np.random.default_rng(41)
LITTER = np.repeat(np.arange(700), RNG.integers(1, 5, 700))
N = len(LITTER)
OUTCOME = np.where(RNG.random(N) < 0.1 + 0.3 * (RNG.random(700) < 0.2)[LITTER], RNG.integers(1, 4, N), 0)
AGE = np.where(OUTCOME > 0, np.minimum(RNG.exponential(60, N), 1000).astype(int), RNG.choice([500, 1008], N))
GROUP = RNG.integers(0, 4, N)
DIED = (OUTCOME > 0).astype(int)


def test_rust_survival_clustered_curve_incidence_and_logrank() -> None:
    survival = pytest.importorskip("survival")
    theirs = survival.survfit(survival.Surv(AGE, DIED), cluster=LITTER)
    ours = kaplan_meier(AGE, DIED, cluster=LITTER, level=0.95)
    npt.assert_allclose(ours.share[0], theirs.surv, rtol=1e-11)
    npt.assert_allclose(
        ours.se[0], np.asarray(theirs.std_err) * (theirs.surv if theirs.logse else 1), rtol=1e-10
    )
    states = survival.survfit(survival.Surv(AGE, OUTCOME, type="mstate"), cluster=LITTER)
    lost = aalen_johansen(AGE, OUTCOME, cluster=LITTER, level=0.95)
    npt.assert_allclose(lost.share[0], np.asarray(states.pstate)[:, 1:], rtol=1e-11)
    npt.assert_allclose(lost.se[0], np.asarray(states.std_err)[:, 1:], rtol=1e-10)
    test = survival.survdiff(survival.Surv(AGE, DIED), group=GROUP)
    npt.assert_allclose(logrank(AGE, DIED, GROUP).statistic, test.chisq, rtol=1e-11)


def test_scikit_survival_incidence_and_its_variance() -> None:
    nonparametric = pytest.importorskip("sksurv.nonparametric")
    ages, shares, intervals = nonparametric.cumulative_incidence_competing_risks(
        OUTCOME, AGE.astype(float), conf_type="log-log"
    )
    lost = aalen_johansen(AGE, OUTCOME, level=0.95)
    npt.assert_array_equal(lost.age_h, ages)
    npt.assert_allclose(lost.share[0].T, shares[1:], rtol=1e-11)
    # its interval is on the scale of log(-log F), from which the standard error is read back; where two causes share
    # an hour its variance takes another form than cmprsk (which ours is held to at 1e-9): 1e-6 apart here
    inside = shares[1:] > 0
    share, low = shares[1:][inside], intervals[1:, 0][inside]
    se = np.abs(np.log(-np.log(low)) - np.log(-np.log(share))) * share * -np.log(share) / 1.959963984540054
    npt.assert_allclose(lost.se[0].T[inside], se, rtol=3e-6)


def test_statsmodels_greenwood_and_logrank() -> None:
    survfunc = pytest.importorskip("statsmodels.duration.survfunc")
    theirs = survfunc.SurvfuncRight(AGE, DIED)
    ours = kaplan_meier(AGE, DIED, level=0.95)
    place = np.searchsorted(ours.age_h, theirs.surv_times)
    npt.assert_allclose(ours.share[0, place], theirs.surv_prob, rtol=1e-11)
    npt.assert_allclose(ours.se[0, place], theirs.surv_prob_se, rtol=1e-11)
    statistic, _ = survfunc.survdiff(AGE, DIED, GROUP)
    npt.assert_allclose(logrank(AGE, DIED, GROUP).statistic, statistic, rtol=1e-10)
