"""Coverage of 95 % intervals and size of 5 % tests where few farms of uneven sizes are the clusters.

``python -m tests.simulations.few_clusters [flocks] [processes] > tests/simulations/few_clusters.txt``

Farms are invented: 15 to 240 newborns, sixty in the middle, in litters of one or two. A newborn's luck is a uniform
number, correlated within litters and within farms by a Gaussian copula, so that whatever risk or hazard a newborn is
given holds exactly over all farms; the farms' own risks then differ by a standard deviation of 0.3 of their logarithm.
Exposures are of half of the farms, of litters (twins, more of them on some farms) or of newborns (sex).
"""

from __future__ import annotations

import os
import sys
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.contrast import MEASURES, compare
from neonatal_stats.estimates.cox_regression import cox, proportional_hazards_test
from neonatal_stats.estimates.curve_tests import gray_test, logrank
from neonatal_stats.estimates.incidence import aalen_johansen
from neonatal_stats.estimates.life_tables import life_table
from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.estimates.risk_tests import clustered_test, cochran_armitage
from neonatal_stats.estimates.smooth import smooth_share
from neonatal_stats.estimates.standardisation import directly_standardised, mix_and_rate
from neonatal_stats.estimates.stratified import mantel_haenszel
from neonatal_stats.estimates.survival import (
    kaplan_meier,
    restricted_mean,
    restricted_mean_difference,
    survival_at,
)
from tests.simulations.times import often

RNG_NUMBER = 20260511
FARMS = (6, 8, 12, 20, 50)
WINDOW_H, RISK, BETWEEN, WITHIN = 1008, 0.15, 0.035, 0.15
MARKS_H = np.array([24, 168, WINDOW_H - 2])
CAUSE = 0.6  # share of all losses that are of the cause looked at
TWINS = np.array([0.8, 1.4])  # risk of singles and twins, times the farms'
Answer = tuple[str, bool]  # row of the table, and whether the truth was held (or the test rejected)


@dataclass(frozen=True, eq=False)
class Farms:
    """Births on a few farms before any deaths; ``luck`` is uniform, a newborn dies where it is under its risk."""

    farm: Integers
    litter: Integers
    twin: Integers
    male: Integers
    treated: Integers
    later: Integers
    weight: Floats
    luck: Floats

    def dead(self, risk: ArrayLike) -> Integers:
        """Deaths at each newborn's risk."""
        return np.asarray(self.luck < risk, dtype=np.int64)

    def ages(self, log_ratio: ArrayLike) -> Floats:
        """Whole hours at death, hazard falling with age and proportional; beyond the window where it lived."""
        spent = np.log1p(-self.luck) / np.exp(log_ratio) / np.log1p(-RISK)
        return np.floor(WINDOW_H * np.minimum(spent, 3.0) ** (1 / 0.35))


def farms_of(rng: np.random.Generator, farms: int) -> Farms:
    """Births of two seasons, more twins in the later one and on some farms, in rising order of farm and litter."""
    sizes = np.clip(60 * np.exp(0.5 * rng.standard_normal(farms)), 15, 240).astype(int)
    litters = np.concatenate([np.full(n, farm) for farm, n in enumerate(sizes)])
    later = rng.random(len(litters)) < 0.5
    twins = rng.random(len(litters)) < rng.beta(4, 4, farms)[litters] * np.where(later, 1.2, 0.8)
    litter = np.repeat(np.arange(len(litters)), twins + 1)
    place = np.arange(len(litter)) - np.searchsorted(litters[litter], litters[litter])
    litter = litter[place < sizes[litters[litter]]]
    farm, n = litters[litter], len(litter)
    own = rng.standard_normal((2, n))
    shared = rng.standard_normal((2, len(litters)))[:, litter]
    of_farm = rng.standard_normal((2, farms))[:, farm]
    luck = (
        np.sqrt(BETWEEN) * of_farm[0] + np.sqrt(WITHIN) * shared[0] + np.sqrt(1 - BETWEEN - WITHIN) * own[0]
    )
    weight = 0.5 * of_farm[1] + 0.5 * shared[1] + 0.7 * own[1]
    treated = (rng.permutation(farms) % 2)[farm]
    return Farms(
        farm, litter, twins[litter].astype(int), rng.integers(0, 2, n), treated, later[litter].astype(int), weight,
        np.asarray(special.ndtr(luck)),
    )  # fmt: skip


def twin_share() -> Floats:
    """Share of newborns that are twins, in the earlier and in the later season."""
    births = farms_of(np.random.default_rng(RNG_NUMBER), 20_000)
    return np.bincount(births.later, births.twin) / np.bincount(births.later)


MIX = twin_share()


def surviving(age_h: ArrayLike) -> Floats:
    """Share alive after an hour."""
    return np.asarray((1 - RISK) ** (np.minimum((np.asarray(age_h) + 1) / WINDOW_H, 1) ** 0.35))


def holds(low: float, high: float, truth: float) -> bool:
    """Whether the interval holds the truth; one that says nothing (no limits) does."""
    return not (low > truth or high < truth)


def exposures(births: Farms) -> dict[str, Integers]:
    return {"of farms": births.treated, "of litters": births.twin, "of newborns": births.male}


def shares(births: Farms, rng: np.random.Generator) -> Iterator[Answer]:
    given = {"cluster": births.farm, "level": 0.95}
    dead = births.dead(RISK)
    for name, group in (("all", None), ("half of the farms", births.treated), ("twins", births.twin)):
        got = proportions(dead, group=group, **given)
        yield f"share, {name}", holds(got.low[-1], got.high[-1], RISK)
    got = proportions(births.dead(0.04), **given)
    yield "share, where 4 % are lost", holds(got.low[0], got.high[0], 0.04)
    risk, mix = RISK * TWINS, np.array([0.4, 0.6])
    for limits in ("wilson", "gamma"):
        found = directly_standardised(
            births.dead(risk[births.twin]), births.twin, mix, limits=limits, **given
        )
        yield f"directly standardised, {limits}", holds(found.low, found.high, float(mix @ risk))
    rates = np.array([risk, 0.8 * risk])
    split = mix_and_rate(births.dead(rates[births.later, births.twin]), births.later, births.twin, **given)
    mixes = np.column_stack([1 - MIX, MIX])
    for part, truth in (
        ("change", (mixes * rates).sum(axis=1) @ [-1, 1]),
        ("mix", (mixes[1] - mixes[0]) @ rates.mean(axis=0)),
        ("rate", (rates[1] - rates[0]) @ mixes.mean(axis=0)),
    ):
        found = getattr(split, part)
        yield f"{part} between two seasons (Kitagawa)", holds(found.low, found.high, float(truth))
    yield from new_stratum(births, rates, mixes)


def new_stratum(births: Farms, rates: Floats, mixes: Floats) -> Iterator[Answer]:
    """Half of the later season's twins are of a kind that the earlier season did not have: all of it is mix."""
    kind = births.twin * (1 + births.later * births.male)
    dead = births.dead(rates[births.later, births.twin])
    split = mix_and_rate(dead, births.later, kind, cluster=births.farm, level=0.95)
    rise = mixes[1] * [1, 0.5] - mixes[0]
    mix = rise @ rates.mean(axis=0) + mixes[1, 1] / 2 * rates[1, 1]
    rate = (rates[1] - rates[0]) @ (mixes[0] + mixes[1] * [1, 0.5]) / 2
    for part, truth in (("mix", mix), ("rate", rate)):
        found = getattr(split, part)
        yield f"{part}, a stratum in one season only", holds(found.low, found.high, float(truth))


def contrasts(births: Farms, rng: np.random.Generator) -> Iterator[Answer]:
    given = {"cluster": births.farm, "level": 0.95}
    exposed_risk = 1.5 * RISK
    odds = exposed_risk / (1 - exposed_risk) / (RISK / (1 - RISK))
    truths = dict(zip(MEASURES, (1.5, exposed_risk - RISK, odds), strict=True))
    for name, x in exposures(births).items():
        dead = births.dead(np.where(x == 1, exposed_risk, RISK))
        for measure in MEASURES:
            got = compare(dead, x, measure=measure, **given)
            yield f"{measure.replace('_', ' ')} {name}", holds(got.low, got.high, truths[measure])
        stratum = births.male if x is births.twin else births.twin
        base = RISK * TWINS[stratum]
        risks = (base * 1.5**x, base + 0.06 * x, special.expit(special.logit(base) + np.log(1.5) * x))
        for measure, risk, truth in zip(MEASURES, risks, (1.5, 0.06, 1.5), strict=True):
            got, _ = mantel_haenszel(births.dead(risk), x, stratum, measure=measure, **given)
            yield f"Mantel-Haenszel {measure.replace('_', ' ')} {name}", holds(got.low, got.high, truth)


def curves(births: Farms, rng: np.random.Generator) -> Iterator[Answer]:
    given = {"cluster": births.farm, "level": 0.95}
    age, died, cause = watched(births, rng)
    for name, group in (("all", None), ("half of the farms", births.treated)):
        _, low, high = survival_at(kaplan_meier(age, died, group=group, **given), MARKS_H)
        for mark, *limits in zip(MARKS_H, low[-1], high[-1], strict=True):
            yield f"Kaplan-Meier, {name}, {mark} h", holds(*limits, float(surviving(mark)))
    lost = aalen_johansen(age, cause, n_causes=2, **given)
    for mark, place in zip(MARKS_H, np.searchsorted(lost.age_h, MARKS_H, side="right") - 1, strict=True):
        truth = CAUSE * (1 - float(surviving(mark)))
        yield f"incidence of a cause, {mark} h", holds(lost.low[0, place, 0], lost.high[0, place, 0], truth)
    mean = restricted_mean(age, died, until_h=WINDOW_H - 1, **given)
    yield "restricted mean", holds(mean.low, mean.high, 1 + float(surviving(np.arange(WINDOW_H - 2)).sum()))
    table = life_table(age, died, [0, 24, 168], **given)
    alive = surviving(np.arange(-1, 168))
    for place, (start, end) in enumerate(((0, 24), (24, 168))):
        risk = 1 - alive[end] / alive[start]
        hazard = 24 * risk * alive[start] / alive[start + 1 : end + 1].sum()
        for name, truth in (("risk", risk), ("hazard", hazard)):
            low, high = (getattr(table, f"{name}_{side}")[0, place] for side in ("low", "high"))
            yield f"life table, {name} from {start} to {end} h", holds(low, high, float(truth))


def watched(births: Farms, rng: np.random.Generator) -> tuple[Integers, Integers, Integers]:
    """Ages, deaths and causes where one newborn in ten leaves early."""
    age, n = births.ages(0.0), len(births.farm)
    leaves = np.where(rng.random(n) < 0.1, rng.integers(0, WINDOW_H, n), WINDOW_H - 1)
    died = (age <= leaves).astype(np.int64)
    return np.minimum(age, leaves).astype(np.int64), died, died * (1 + (rng.random(n) > CAUSE))


def regression(births: Farms, rng: np.random.Generator) -> Iterator[Answer]:
    given = {"cluster": births.farm, "level": 0.95}
    z = np.column_stack([births.treated, births.twin, births.male, births.weight])
    truth = np.log([1.5, 1.5, 1.5, 1.3])
    age = births.ages(z @ truth)
    fit = cox(np.minimum(age, WINDOW_H), age < WINDOW_H, z, **given)
    for place, name in enumerate((*exposures(births), "of a weight")):
        held = holds(np.log(fit.low[place]), np.log(fit.high[place]), truth[place])
        yield f"hazard ratio {name} (Cox)", held
    at = np.array([-1.0, 0.0, 1.0])
    risk = special.expit(
        special.logit(RISK) - 0.4 * np.column_stack([births.weight, *np.tile(at, (len(z), 1)).T])
    )
    found = smooth_share(births.weight, births.dead(risk[:, 0]), at=at, df=3, **given)
    for place in range(3):
        held = holds(found.low[place], found.high[place], risk[0, 1 + place])
        yield f"smooth risk at {at[place]:+g} deviations of weight", held


def tests(births: Farms, rng: np.random.Generator) -> Iterator[Answer]:
    """What rejects though nothing differs."""
    farm, dead = births.farm, births.dead(RISK)
    age, died, cause = watched(births, rng)
    fours = np.argsort(rng.random(farm.max() + 1))[farm] % 4
    for name, x in exposures(births).items():
        yield f"difference of risks {name}", compare(dead, x, cluster=farm, level=0.95).p < 0.05
        yield f"chi-square {name}", clustered_test(dead, x, farm).p < 0.05
        stratum = births.male if x is births.twin else births.twin
        lost = births.dead(RISK * TWINS[stratum])
        summary, agree = mantel_haenszel(lost, x, stratum, cluster=farm, level=0.95)
        yield f"Mantel-Haenszel {name}", summary.p < 0.05
        yield f"homogeneity {name}", agree.p < 0.05
        yield f"log-rank {name}", logrank(age, died, x, cluster=farm).p < 0.05
        yield f"Gray's test {name}", gray_test(age, cause, x, 1, cluster=farm).p < 0.05
        gap = restricted_mean_difference(age, died, x, until_h=WINDOW_H - 1, cluster=farm, level=0.95)
        yield f"difference of restricted means {name}", gap.p < 0.05
    yield from small_group(births, rng)
    yield "chi-square of four groups of farms", clustered_test(dead, fours, farm).p < 0.05
    yield "log-rank of four groups of farms", logrank(age, died, fours, cluster=farm).p < 0.05
    yield "trend over litters", cochran_armitage(dead, births.litter % 4, cluster=farm).p < 0.05
    yield "trend over farms", cochran_armitage(dead, fours, cluster=farm).p < 0.05
    z = np.column_stack([births.treated, births.weight])
    hazards = proportional_hazards_test(age, died, z, cluster=farm)
    for name, test in zip(("of farms", "of a weight"), hazards.covariates, strict=True):
        yield f"proportional hazards {name}", test.p < 0.05
    found = smooth_share(births.weight, dead, at=[0.0], df=3, cluster=farm, level=0.95)
    yield "smooth risk, no dependence on weight", found.p < 0.05


def small_group(births: Farms, rng: np.random.Generator) -> Iterator[Answer]:
    """Twenty newborns, in many flocks none of them lost, against all the others, of whom 5 % are lost."""
    dead = births.dead(0.05)
    few = np.isin(np.arange(len(dead)), rng.choice(len(dead), 20, replace=False)).astype(np.int64)
    given = {"cluster": births.farm}
    yield "difference of risks of 20 newborns", compare(dead, few, level=0.95, **given).p < 0.05
    yield (
        "log-rank of 20 newborns",
        logrank(np.minimum(births.ages(0.0), WINDOW_H), dead, few, **given).p < 0.05,
    )
    yield (
        "Mantel-Haenszel of 20 newborns",
        mantel_haenszel(dead, few, births.twin, level=0.95, **given)[0].p < 0.05,
    )


PARTS = {"Coverage of 95 % intervals, %": (shares, contrasts, curves, regression)}
PARTS |= {"Rejections at 5 % where nothing differs, %": (tests,)}


def column(farms: int, flocks: int) -> dict[str, dict[str, float]]:
    """One number of farms: the share of flocks in every row of each part, in percent."""
    found: dict[str, dict[str, float]] = {}
    for title, studies in PARTS.items():
        answers: dict[str, list[bool]] = defaultdict(list)
        for place, study in enumerate(studies):
            rng = np.random.default_rng([RNG_NUMBER, farms, len(title), place])
            for _ in range(flocks):
                for name, yes in study(farms_of(rng, farms), rng):
                    answers[name].append(bool(yes))
        found[title] = {name: 100 * float(np.mean(yes)) for name, yes in answers.items()}
    return found


def main(flocks: int, processes: int) -> None:
    """Print one row a quantity, one column a number of farms."""
    with ProcessPoolExecutor(processes) as pool:
        columns = list(pool.map(column, FARMS, [flocks] * len(FARMS)))
    print(f"{flocks:,} flocks a column; random number generator {RNG_NUMBER}; {date.today().isoformat()}")
    print(f"One standard error of a figure: {100 * np.sqrt(0.05 * 0.95 / flocks):.1f} points.")
    for title in PARTS:
        print(f"\n{title:<56}" + "".join(f"{f'{farms} farms':>10}" for farms in FARMS))
        for name in columns[0][title]:
            print(f"{name:<56}" + "".join(f"{found[title][name]:10.1f}" for found in columns))


if __name__ == "__main__":
    numbers = [int(argument) for argument in sys.argv[1:]] + [often(2000), os.cpu_count() or 1][
        len(sys.argv) - 1 :
    ]
    main(*numbers)
