"""Do the regression intervals hold what they promise in flocks with litters? Prints one table; not a test.

Run from the top of the project and keep what it prints:

    python -m tests.simulations.regression | tee tests/simulations/regression.txt

Litters of one to four share an illness-proneness through a Gaussian copula with the stated correlation, so
the hazard ratio that the model names is exactly the one simulated. Ages are whole hours, many at hour 0.
"""

from __future__ import annotations

import argparse
import datetime
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from neonatal_stats.estimates.cox_regression import CoxFit, cox, proportional_hazards_test
from neonatal_stats.estimates.emulated_trial import fed_by_mark
from neonatal_stats.estimates.smooth import smooth_share
from neonatal_stats.estimates.time_dependent import fed_hazard_ratio, landmark
from tests.simulations.times import often

Floats = NDArray[np.float64]
NUMBER = 20240611
LAST_H = 336
FEWEST_DEATHS = 20


@dataclass(frozen=True, eq=False)
class Flock:
    """One simulated flock; ``fed_h`` NaN where a newborn died or was watched out before its first feed."""

    age_h: Floats
    died: NDArray[np.int64]
    z: Floats
    litter: NDArray[np.int64]
    fed_h: Floats


def litters(rng: np.random.Generator, n: int) -> NDArray[np.int64]:
    """Litters of one to four."""
    return np.repeat(np.arange(n), rng.integers(1, 5, n))[:n]


def shared(rng: np.random.Generator, litter: NDArray[np.int64], correlation: float) -> Floats:
    """Uniform numbers, correlated within litters."""
    own, common = rng.standard_normal(len(litter)), rng.standard_normal(litter.max() + 1)[litter]
    return np.asarray(special.ndtr(np.sqrt(correlation) * common + np.sqrt(1 - correlation) * own))


def covariate_flock(
    rng: np.random.Generator, n: int, correlation: float, risk: float, effects: Floats
) -> Flock:
    """Sex of half, a dam's first litter in 30 %, birth weight; hazard falling with age."""
    litter = litters(rng, n)
    first = rng.random(n) < 0.3
    z = np.column_stack([rng.random(n) < 0.5, first[litter], rng.standard_normal(n)]).astype(np.float64)
    spent = -np.log(shared(rng, litter, correlation)) * np.exp(-z @ effects) / risk
    age = np.floor(LAST_H * spent ** (1 / 0.35))
    return Flock(np.minimum(age, LAST_H), (age < LAST_H).astype(np.int64), z, litter, np.full(n, np.nan))


def feeding_flock(
    rng: np.random.Generator, n: int, correlation: float, unfed_ratio: float, exact: bool
) -> Flock:
    """Three in ten are weak: they feed late and die early; being unfed multiplies the hazard.

    With ``exact`` feeds and deaths fall in continuous time and only then are noted to the hour; otherwise the
    hazard of an hour is that of the state at its start.
    """
    litter = litters(rng, n)
    weak = rng.random(n) < 0.3
    fed = -np.log(shared(rng, litter, correlation)) * np.where(weak, 9.0, 2.5)
    fed = fed if exact else np.floor(fed)
    grow = 0.08 * np.exp(np.log(4) * weak)  # cumulative hazard of a fed newborn over the whole time
    until_fed = fed if exact else fed + 1
    share = np.minimum(until_fed / LAST_H, 1) ** 0.35
    spent = -np.log(shared(rng, litter, correlation)) / grow
    before = spent <= unfed_ratio * share
    at = np.where(before, spent / unfed_ratio, spent - (unfed_ratio - 1) * share)
    age = np.floor(LAST_H * np.minimum(at, 2.0) ** (1 / 0.35))
    died = age < LAST_H
    age = np.minimum(age, LAST_H)
    seen = np.floor(np.where(before | (np.floor(fed) > age), np.nan, fed))
    return Flock(age, died.astype(np.int64), weak[:, None].astype(np.float64), litter, seen)


def covered(fit: CoxFit, truth: Floats) -> NDArray[np.bool_]:
    """Which intervals hold the truth."""
    return (np.log(fit.low) <= truth) & (truth <= np.log(fit.high))


def many(draw: Callable[[np.random.Generator], Flock], size: int, number: int) -> list[Flock]:
    """Flocks with 20 deaths or more, from one generator."""
    rng = np.random.default_rng(number)
    flocks: list[Flock] = []
    while len(flocks) < size:
        flock = draw(rng)
        if flock.died.sum() >= FEWEST_DEATHS:
            flocks.append(flock)
    return flocks


def line(what: str, setting: str, flocks: list[Flock], share: float, wanted: str) -> None:
    """One line of the table: the share among the flocks with its Monte Carlo error."""
    error = np.sqrt(share * (1 - share) / len(flocks))
    deaths = np.mean([flock.died.sum() for flock in flocks])
    print(
        f"| {what} | {setting} | {len(flocks)} | {deaths:.0f} | {share:.3f} ({error:.3f}) | {wanted} |",
        flush=True,
    )


def clustered_cox(size: int) -> None:
    """Coverage of the clustered interval and size of the proportional hazards test."""
    truth = np.array([np.log(1.5), np.log(2.0), -0.3])
    for n, risk in ((200, 0.11), (500, 0.08), (2000, 0.05)):
        for correlation in (0.1, 0.3):
            draw = lambda rng, n=n, c=correlation, r=risk: covariate_flock(rng, n, c, r, truth)  # noqa: E731
            flocks = many(draw, size, NUMBER + n + int(10 * correlation))
            fits = [cox(f.age_h, f.died, f.z, cluster=f.litter, level=0.95) for f in flocks]
            held = np.array([covered(fit, truth) for fit in fits if not fit.notes])
            setting = f"n {n}, correlation {correlation}"
            for name, share in zip(("sex", "dam's first litter", "weight"), held.mean(axis=0), strict=True):
                line(f"clustered Cox holds the ratio of {name}", setting, flocks, float(share), "0.93-0.97")
            p = [proportional_hazards_test(f.age_h, f.died, f.z, cluster=f.litter).overall.p for f in flocks]
            line(
                "proportional hazards test rejects",
                setting,
                flocks,
                float(np.mean(np.array(p) < 0.05)),
                "0.04-0.06",
            )


def colostrum(size: int) -> None:
    """Feeding with and without an effect: naive grouping, landmark, time-dependent Cox."""
    for unfed_ratio in (1.0, 2.0):
        for n in (400, 1500):
            for exact in (False, True):
                draw = lambda rng, n=n, u=unfed_ratio, e=exact: feeding_flock(rng, n, 0.2, u, e)  # noqa: E731
                flocks = many(draw, size, NUMBER + n + int(unfed_ratio))
                setting = f"n {n}, unfed ratio {unfed_ratio:g}, {'noted to' if exact else 'by'} the hour"
                fits = [
                    fed_hazard_ratio(f.age_h, f.died, f.fed_h, f.z, cluster=f.litter, level=0.95)
                    for f in flocks
                ]
                held = np.mean([covered(fit, -np.log([unfed_ratio, 1 / 4]))[0] for fit in fits])
                line(
                    "time-dependent Cox, adjusted, holds the ratio", setting, flocks, float(held), "0.93-0.97"
                )
                if unfed_ratio == 1:
                    no_effect(flocks, setting)


def no_effect(flocks: list[Flock], setting: str) -> None:
    """What other ways of looking make of feeds without effect."""
    naive = [cox(f.age_h, f.died, f.fed_h <= 6, cluster=f.litter, level=0.95) for f in flocks]
    found = np.mean([fit.p[0] < 0.05 for fit in naive])
    line("grouping from birth by feed within 6 h finds an effect", setting, flocks, float(found), "most")
    crude = [fed_hazard_ratio(f.age_h, f.died, f.fed_h, cluster=f.litter, level=0.95) for f in flocks]
    held = np.mean([covered(fit, np.zeros(1))[0] for fit in crude])
    line("time-dependent Cox, not adjusted, holds the ratio", setting, flocks, float(held), "(weak differ)")
    marks = [landmark(f.age_h, f.died, f.fed_h, f.z, mark_h=6, cluster=f.litter, level=0.95) for f in flocks]
    held = np.mean([covered(fit, np.array([0.0, np.log(4)]))[0] for fit in marks if np.isfinite(fit.low[0])])
    line("landmark at 6 h, adjusted, holds the ratio", setting, flocks, float(held), "0.93-0.97")


def emulated(size: int) -> None:
    """The emulated trial without an effect: its difference of risks holds 0."""
    for n in (1500,):
        draw = lambda rng, n=n: feeding_flock(rng, n, 0.2, 1.0, False)  # noqa: E731
        flocks = many(draw, size, NUMBER + n)
        held = []
        for flock in flocks:
            found = fed_by_mark(
                flock.fed_h, flock.age_h, flock.died, flock.z, mark_h=6, until_h=LAST_H - 1,
                cluster=flock.litter, n_boot=200, rng=NUMBER, level=0.95
            ).difference  # fmt: skip
            if np.isfinite(found.low):
                held.append(found.low <= 0 <= found.high)
        setting = f"n {n}, no effect ({len(held)} with figures)"
        line(
            "emulated trial, adjusted, holds a difference of 0",
            setting,
            flocks,
            float(np.mean(held)),
            "0.93-0.97",
        )


def smooth_bands(size: int) -> None:
    """Coverage of the band of a smooth curve at three weights, where the log odds are straight and where they bend."""
    at = np.array([-1.0, 0.0, 1.0])
    shapes: dict[str, Callable[[Floats], Floats]] = {
        "straight": lambda x: -2.0 - 0.5 * x,
        "U-shaped": lambda x: -2.4 + 0.4 * x**2,
    }
    for n in (200, 500, 2000):
        for shape, log_odds in shapes.items():
            draw = lambda rng, n=n, o=log_odds: weight_flock(rng, n, 0.2, o)  # noqa: E731
            flocks = many(draw, size, NUMBER + n)
            truth = special.expit(log_odds(at))
            held = []
            for flock in flocks:
                found = smooth_share(flock.z[:, 0], flock.died, cluster=flock.litter, at=at, level=0.95)
                if np.isfinite(found.share).all():
                    held.append((found.low <= truth) & (truth <= found.high))
            for place, share in zip(
                ("one sd below", "mean", "one sd above"), np.mean(held, axis=0), strict=True
            ):
                setting = f"n {n}, {shape}, correlation 0.2"
                line(f"band of the smooth curve holds at {place}", setting, flocks, float(share), "0.93-0.97")


def weight_flock(
    rng: np.random.Generator, n: int, correlation: float, log_odds: Callable[[Floats], Floats]
) -> Flock:
    """Death by birth weight alone, with the stated log odds; littermates share both weight and luck."""
    litter = litters(rng, n)
    weight = special.ndtri(shared(rng, litter, 0.4))
    died = shared(rng, litter, correlation) < special.expit(log_odds(weight))
    return Flock(np.ones(n), died.astype(np.int64), weight[:, None], litter, np.full(n, np.nan))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--flocks", type=int, default=often(2000, least=40))
    size = parser.parse_args().flocks
    start = time.perf_counter()
    print(f"# Regression in simulated flocks\n\nRandom seed {NUMBER}; {datetime.date.today().isoformat()}.\n")
    print("| what | setting | flocks | mean deaths | share (Monte Carlo error) | wanted |")
    print("|---|---|---|---|---|---|")
    clustered_cox(size)
    colostrum(size // 2)
    emulated(size // 20)
    smooth_bands(size // 2)
    print(f"\n{time.perf_counter() - start:.0f} s")


if __name__ == "__main__":
    main()
