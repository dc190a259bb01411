"""Coverage of 95 % intervals and size of 5 % tests in simulated flocks.

``python -m tests.simulations.measures > tests/simulations/measures.txt``

Flocks are invented: litters of one to four, 200 to 2,000 newborns, risks of 5 to 30 %, littermates' outcomes
correlated 0.1, 0.2 or 0.3 (a litter's own risk is drawn from a beta distribution), at least 20 deaths.
Exposures are of the whole litter (twin or more), or differ within it (sex). Every row rests on the flocks stated.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy import special

from neonatal_stats.estimates.contrast import MEASURES, compare
from neonatal_stats.estimates.formulas import screening
from neonatal_stats.estimates.many_groups import beta_binomial_shrink
from neonatal_stats.estimates.planning import losses_avoidable
from neonatal_stats.estimates.proportion import clopper_pearson, proportions, wilson
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.risk_tests import clustered_test, cochran_armitage
from neonatal_stats.estimates.standardisation import (
    directly_standardised,
    indirectly_standardised,
    mix_and_rate,
)
from neonatal_stats.estimates.stratified import mantel_haenszel
from tests.simulations.times import often

RNG_NUMBER, FLOCKS, CORRELATIONS = 20_261, often(2_000, least=20), (0.1, 0.2, 0.3)
SIZES, SIZE_SHARES = np.array([1, 2, 3, 4]), np.array([0.25, 0.5, 0.2, 0.05])
Answer = tuple[str, bool]  # row of the table, and whether the truth was covered (or the test rejected)
Study = Callable[[np.random.Generator, float], Iterator[Answer]]


@dataclass(frozen=True, eq=False)
class Flock:
    """Births in litters before any deaths; ``luck`` is the litter's place among litters (0 to 1)."""

    litter: np.ndarray
    size: np.ndarray
    luck: np.ndarray
    sex: np.ndarray
    icc: float

    def deaths(self, rng: np.random.Generator, risk: np.ndarray) -> np.ndarray:
        """Deaths at each newborn's risk, littermates correlated through their litter's luck."""
        weight = 1 / self.icc - 1
        own = special.betaincinv(risk * weight, (1 - risk) * weight, self.luck)
        return np.asarray(rng.random(len(risk)) < own, dtype=np.int64)


def flock(rng: np.random.Generator, icc: float) -> Flock:
    n = int(np.exp(rng.uniform(np.log(200), np.log(2000))))
    sizes = rng.choice(SIZES, n, p=SIZE_SHARES)
    sizes = sizes[: np.searchsorted(np.cumsum(sizes), n) + 1]
    litter = np.repeat(np.arange(len(sizes)), sizes)
    luck = rng.random(len(sizes))[litter]
    return Flock(litter, sizes[litter], luck, rng.integers(0, 2, len(litter)), icc)


def with_deaths(
    rng: np.random.Generator, icc: float, risks: Callable[[Flock, float], np.ndarray]
) -> tuple[Flock, np.ndarray, float]:
    """A flock with at least 20 deaths, and the base risk it was given."""
    while True:
        births, base = flock(rng, icc), rng.uniform(0.05, 0.3)
        dead = births.deaths(rng, risks(births, base))
        if dead.sum() >= 20:
            return births, dead, base


def holds(estimate: Estimate, truth: float) -> bool:
    return estimate.low <= truth <= estimate.high


def level_shares(rng: np.random.Generator, icc: float) -> Iterator[Answer]:
    births, dead, p = with_deaths(rng, icc, lambda b, p: np.full(len(b.size), p))
    got = proportions(dead, cluster=births.litter, level=0.95)
    yield "share, Wilson clustered", bool(got.low[0] <= p <= got.high[0])
    twins = proportions(dead, group=births.size - 1, cluster=births.litter, n_groups=4, level=0.95)
    yield "share of triplets (a fifth of litters)", bool(twins.low[2] <= p <= twins.high[2])
    plain = wilson(dead.sum(), len(dead), level=0.95)
    yield "(share, Wilson without litters)", bool(plain[0] <= p <= plain[1])
    effect = float(got.design_effect[0])
    ratio = indirectly_standardised(dead.sum(), len(dead) * p, design_effect=effect, level=0.95)
    yield "standardised ratio, exact Poisson at n / design effect", holds(ratio, 1)
    ratio = indirectly_standardised(dead.sum(), len(dead) * p, n=len(dead), design_effect=effect, level=0.95)
    yield "standardised ratio, Wilson at n / design effect", holds(ratio, 1)


def level_independent(rng: np.random.Generator, icc: float) -> Iterator[Answer]:
    n, p = int(rng.integers(200, 2001)), rng.uniform(0.1, 0.3)
    x = rng.binomial(n, p)
    for name, limits in (
        ("share, Wilson, independent newborns", wilson(x, n, level=0.95)),
        ("share, Clopper-Pearson, independent newborns", clopper_pearson(x, n, level=0.95)),
        ("share, mid-P, independent newborns", clopper_pearson(x, n, mid_p=True, level=0.95)),
    ):
        yield name, bool(limits[0] <= p <= limits[1])


def is_twin(births: Flock) -> np.ndarray:
    return np.asarray(births.size > 1)


def is_male(births: Flock) -> np.ndarray:
    return np.asarray(births.sex == 1)


def risk_ratio_of(pick: Callable[[Flock], np.ndarray]) -> Callable[[Flock, float], np.ndarray]:
    """Risks one and a half times as high where ``pick`` says so."""
    return lambda births, p: np.asarray(p * np.where(pick(births), 1.5, 1.0))


def contrasts(rng: np.random.Generator, icc: float) -> Iterator[Answer]:
    for name, pick in (("of litters", is_twin), ("within litters", is_male)):
        births, dead, p = with_deaths(rng, icc, risk_ratio_of(pick))
        exposed, q = pick(births).astype(int), 1.5 * p
        truths = {"risk_ratio": 1.5, "risk_difference": q - p, "odds_ratio": q / (1 - q) / (p / (1 - p))}
        for measure in MEASURES:
            got = compare(dead, exposed, cluster=births.litter, measure=measure, level=0.95)
            yield f"{measure.replace('_', ' ')}, exposure {name}", holds(got, truths[measure])
    births, dead, p = with_deaths(rng, icc, lambda b, p: p * np.where(b.litter % 20 == 0, 2.0, 1.0))
    few = births.litter % 20 == 0
    ratio = compare(dead, few.astype(int), cluster=births.litter, level=0.95)
    yield "risk ratio, a twentieth of litters", bool(ratio.low <= 2 and not ratio.high < 2)
    excess = losses_avoidable(dead, few.astype(int), cluster=births.litter, level=0.95)
    yield "excess deaths, a twentieth of litters", holds(excess, few.sum() * p)


BASE = np.array([0.6, 1.0, 1.4])  # risks of three strata of litters, times the flock's


def effect_in_strata(measure: str) -> Callable[[Flock, float], np.ndarray]:
    """Risks where twins differ from singles by the same measure in each stratum."""

    def risks(births: Flock, p: float) -> np.ndarray:
        own, twin = p * BASE[births.litter % 3], births.size > 1
        if measure == "risk_difference":
            return np.asarray(own + 0.05 * twin)
        if measure == "risk_ratio":
            return np.asarray(own * 1.5**twin)
        return np.asarray(special.expit(special.logit(own) + np.log(1.5) * twin))

    return risks


def strata(rng: np.random.Generator, icc: float) -> Iterator[Answer]:
    for measure in MEASURES:
        births, dead, _ = with_deaths(rng, icc, effect_in_strata(measure))
        twin, stratum = (births.size > 1).astype(int), births.litter % 3
        got, _ = mantel_haenszel(dead, twin, stratum, cluster=births.litter, measure=measure, level=0.95)
        truth = 0.05 if measure == "risk_difference" else 1.5
        yield f"Mantel-Haenszel {measure.replace('_', ' ')}", holds(got, truth)
    births, dead, p = with_deaths(rng, icc, lambda b, p: p * BASE[b.litter % 3])
    mix, stratum = np.array([0.2, 0.3, 0.5]), births.litter % 3
    truth = float((mix * p * BASE).sum())
    got = directly_standardised(dead, stratum, mix, cluster=births.litter, level=0.95)
    yield "directly standardised births", holds(got, truth)
    gamma = directly_standardised(dead, stratum, mix, cluster=births.litter, level=0.95, limits="gamma")
    yield "directly standardised, Fay-Feuer at n / design effect", holds(gamma, truth)


STEPS = np.array([1, 1.6, 2, 2])  # risk by litter size, times a single's


def season(rng: np.random.Generator, icc: float, risk: float, shares: np.ndarray) -> tuple[Flock, np.ndarray]:
    """One season's births and deaths; litter sizes are drawn with ``shares``."""
    sizes = rng.choice(SIZES, int(np.exp(rng.uniform(np.log(120), np.log(900)))), p=shares)
    litter = np.repeat(np.arange(len(sizes)), sizes)
    made = Flock(litter, sizes[litter], rng.random(len(sizes))[litter], litter, icc)
    return made, made.deaths(rng, risk * STEPS[made.size - 1])


def mix_of(shares: np.ndarray) -> np.ndarray:
    """Share of newborns that are singles, twins, triplets and more."""
    born = shares * SIZES / (shares * SIZES).sum()
    return np.array([born[0], born[1], born[2] + born[3]])


def seasons(rng: np.random.Generator, icc: float) -> Iterator[Answer]:
    """Season B has more twins and triplets, and 0.8 of season A's risk at each litter size."""
    p, more = rng.uniform(0.08, 0.25), np.array([0.15, 0.5, 0.27, 0.08])
    (a, dead_a), (b, dead_b) = season(rng, icc, p, SIZE_SHARES), season(rng, icc, 0.8 * p, more)
    got = mix_and_rate(
        np.concatenate([dead_a, dead_b]),
        np.repeat([0, 1], [len(dead_a), len(dead_b)]),
        np.minimum(np.concatenate([a.size, b.size]), 3) - 1,
        cluster=np.concatenate([a.litter, b.litter + 10_000]),
        level=0.95,
    )
    mix_a, mix_b, risk = mix_of(SIZE_SHARES), mix_of(more), p * STEPS[:3]
    mix, rate = float(((mix_b - mix_a) * 0.9 * risk).sum()), float((-0.2 * risk * (mix_a + mix_b) / 2).sum())
    yield "change between seasons", holds(got.change, mix + rate)
    yield "change from mix (Kitagawa)", holds(got.mix, mix)
    yield "change from rate (Kitagawa)", holds(got.rate, rate)


def checks(rng: np.random.Generator, icc: float) -> Iterator[Answer]:
    births, dead, p = with_deaths(rng, icc, lambda b, p: np.full(len(b.size), p))
    positive = (rng.random(len(dead)) < np.where(dead == 1, 0.7, 0.2)).astype(int)
    got = screening(positive, dead, cluster=births.litter, level=0.95)
    ppv = 0.7 * p / (0.7 * p + 0.2 * (1 - p))
    for name, estimate, truth in (
        ("sensitivity", got.sensitivity, 0.7),
        ("specificity", got.specificity, 0.8),
        ("positive predictive value", got.positive_predictive_value, ppv),
        ("positive likelihood ratio", got.positive_likelihood_ratio, 3.5),
        ("negative likelihood ratio", got.negative_likelihood_ratio, 0.375),
    ):
        yield f"check: {name}", holds(estimate, truth)


def shrunk(rng: np.random.Generator, icc: float) -> Iterator[Answer]:
    """Fifteen groups of 10 to 150 newborns, risks spread as Beta(m w, (1 - m) w) with w = 1 / icc - 1."""
    weight, mean = 1 / icc - 1, rng.uniform(0.1, 0.25)
    n, risk = rng.integers(10, 151, 15), rng.beta(mean * weight, (1 - mean) * weight, 15)
    got = beta_binomial_shrink(rng.binomial(n, risk), n, level=0.95)
    for i in range(15):
        yield "shrunk risk of a group (over groups)", bool(got.low[i] <= risk[i] <= got.high[i])


def farms(rng: np.random.Generator, icc: float) -> Iterator[Answer]:
    """Eight to twenty farms of 40 to 120 newborns, correlated a fifth as much as littermates are."""
    sizes, p = rng.integers(40, 121, int(rng.integers(8, 21))), rng.uniform(0.1, 0.3)
    farm = np.repeat(np.arange(len(sizes)), sizes)
    births = Flock(farm, sizes[farm], rng.random(len(sizes))[farm], farm % 2, icc / 5)
    got = proportions(births.deaths(rng, np.full(len(farm), p)), cluster=farm, level=0.95)
    yield "share, 8 to 20 farms as clusters", bool(got.low[0] <= p <= got.high[0])
    dead = births.deaths(rng, p * np.where(births.sex == 1, 1.5, 1.0))
    yield (
        "risk ratio, half of 8 to 20 farms exposed",
        holds(compare(dead, births.sex, cluster=farm, level=0.95), 1.5),
    )


def tests(rng: np.random.Generator, icc: float) -> Iterator[Answer]:
    births, dead, _ = with_deaths(rng, icc, lambda b, p: np.full(len(b.size), p))
    litter, season = births.litter, births.litter % 4
    twin, twentieth = (births.size > 1).astype(int), (litter % 20 == 0).astype(int)
    yield "two groups, exposure of litters", compare(dead, twin, cluster=litter, level=0.95).p < 0.05
    yield (
        "two groups, exposure within litters",
        compare(dead, births.sex, cluster=litter, level=0.95).p < 0.05,
    )
    yield (
        "a twentieth of litters against the rest",
        compare(dead, twentieth, cluster=litter, level=0.95).p < 0.05,
    )
    yield "two groups, Rao-Scott", clustered_test(dead, twin, litter).p < 0.05
    yield "four groups, Rao-Scott", clustered_test(dead, season, litter).p < 0.05
    colour = rng.integers(0, 3, len(dead))
    yield "three groups within litters, score", clustered_test(dead, colour, litter).p < 0.05
    yield "(two groups, Pearson without litters)", clustered_test(dead, twin).p < 0.05
    yield "trend over four seasons", cochran_armitage(dead, season, cluster=litter).p < 0.05
    summary, homogeneity = mantel_haenszel(dead, twin, litter % 3, cluster=litter, level=0.95)
    yield "Mantel-Haenszel", summary.p < 0.05
    yield "homogeneity of odds ratios, Breslow-Day", homogeneity.p < 0.05


def farm_tests(rng: np.random.Generator, icc: float) -> Iterator[Answer]:
    sizes, p = rng.integers(40, 121, int(rng.integers(8, 21))), rng.uniform(0.1, 0.3)
    farm = np.repeat(np.arange(len(sizes)), sizes)
    births = Flock(farm, sizes[farm], rng.random(len(sizes))[farm], farm % 2, icc / 5)
    dead = births.deaths(rng, np.full(len(farm), p))
    yield (
        "two groups, half of 8 to 20 farms exposed",
        compare(dead, births.sex, cluster=farm, level=0.95).p < 0.05,
    )
    yield (
        "two groups, half of 8 to 20 farms exposed, Rao-Scott",
        clustered_test(dead, births.sex, farm).p < 0.05,
    )


def run(study: Study, icc: float, offset: int) -> dict[str, list[bool]]:
    rng = np.random.default_rng([RNG_NUMBER, offset, int(icc * 100)])
    found: dict[str, list[bool]] = defaultdict(list)
    for _ in range(FLOCKS if study is not shrunk else FLOCKS // 10):  # fifteen answers from each
        for name, yes in study(rng, icc):
            found[name].append(yes)
    return found


def show(title: str, studies: Sequence[Study], offset: int) -> None:
    print(f"\n{title:<68}" + "".join(f"  corr {icc:.1f}" for icc in CORRELATIONS))
    for place, study in enumerate(studies):
        columns = [run(study, icc, offset + place) for icc in CORRELATIONS]
        for name in columns[0]:
            print(f"{name:<68}" + "".join(f"{100 * np.mean(column[name]):10.1f}" for column in columns))
        sys.stdout.flush()


if __name__ == "__main__":
    print(f"{FLOCKS:,} flocks a cell; random number generator {RNG_NUMBER}; {date.today().isoformat()}")
    print("One standard error of a figure: 0.5 points.")
    studies: list[Study] = [
        level_shares,
        level_independent,
        contrasts,
        strata,
        seasons,
        checks,
        farms,
        shrunk,
    ]
    show("Coverage of 95 % intervals, %", studies, 0)
    show("Rejections at 5 % where there is no difference, %", [tests, farm_tests], 100)
