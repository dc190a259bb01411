"""Coverage of the clustered intervals and size of the tests in simulated litters.

Run from the project root:
``python -m tests.simulations.marginal [flocks] [processes] > tests/simulations/marginal.txt``

Each litter of one to four draws its own risk of loss from a beta distribution, so that losses of littermates
correlate by ``rho``; half of the litters lose all they lose to one cause. Three quarters of all losses fall in the
first two days. One newborn in ten leaves early. The true share lost by each age is known exactly. A cell is filled
where 20 or more losses are expected.
"""

from __future__ import annotations

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date

import numpy as np

from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.curve_tests import gray_test, logrank
from neonatal_stats.estimates.incidence import aalen_johansen
from neonatal_stats.estimates.survival import (
    kaplan_meier,
    restricted_mean,
    restricted_mean_difference,
    survival_at,
)
from tests.simulations.times import often

RNG_NUMBER = 20260302
WINDOW_H = 1008
MARKS_H = np.array([24, 168, WINDOW_H])
CAUSES = np.array([0.5, 0.3, 0.2])
SCENARIOS = [(n, rho) for n in (200, 500, 2000) for rho in (0.1, 0.3)]
RISK = 0.2


def lost_by(age_h: Floats) -> Floats:
    """Share of all losses that have happened by an age, whole hours: three quarters fast, the rest slow."""
    age = np.minimum(age_h + 1.0, WINDOW_H + 1.0)
    share: Floats = 0.75 * (1 - np.exp(-age / 16)) / (1 - np.exp(-(WINDOW_H + 1) / 16)) + 0.25 * age / (
        WINDOW_H + 1
    )
    return share


SHARES = np.diff(lost_by(np.arange(WINDOW_H + 1.0)), prepend=0.0)


@dataclass(frozen=True)
class Flock:
    """Newborns of one simulated season."""

    age_h: Integers
    outcome: Integers
    litter: Integers


def flock(rng: np.random.Generator, n: int, rho: float) -> Flock:
    """About n newborns in litters of one to four."""
    size = rng.choice([1, 2, 3, 4], p=[0.25, 0.5, 0.2, 0.05], size=n)
    litter = np.repeat(np.arange(n), size)[:n]
    spread = (1 - rho) / rho
    risk = rng.beta(RISK * spread, (1 - RISK) * spread, n)[litter]
    own, shared = rng.choice(3, p=CAUSES, size=n), rng.choice(3, p=CAUSES, size=n)[litter]
    cause = np.where((rng.random(n) < 0.5)[litter], shared, own) + 1
    lost = rng.random(n) < risk
    at = np.where(lost, rng.choice(WINDOW_H + 1, p=SHARES / SHARES.sum(), size=n), WINDOW_H + 1)
    leaves = np.where(rng.random(n) < 0.1, rng.integers(0, WINDOW_H, n), WINDOW_H)
    return Flock(np.minimum(at, leaves), np.where(at <= leaves, cause, 0), litter)


def covered(low: Floats, high: Floats, truth: Floats) -> Floats:
    """1 where the interval holds the truth."""
    return ((low <= truth) & (truth <= high)).astype(float)


def intervals(births: Flock) -> dict[str, float]:
    """Which intervals held the truth in one flock."""
    died = (births.outcome > 0).astype(int)
    truth = RISK * lost_by(MARKS_H)
    found: dict[str, float] = {}
    curves = {
        "Kaplan-Meier, clustered": kaplan_meier(births.age_h, died, cluster=births.litter, level=0.95),
        "Kaplan-Meier, Greenwood (littermates ignored)": kaplan_meier(births.age_h, died, level=0.95),
    }
    for name, curve in curves.items():
        _, low, high = survival_at(curve, MARKS_H)
        for mark, hit in zip(MARKS_H, covered(low[0], high[0], 1 - truth), strict=True):
            found[f"{name}, {mark} h"] = hit
    lost = aalen_johansen(births.age_h, births.outcome, cluster=births.litter, n_causes=3, level=0.95)
    place = np.searchsorted(lost.age_h, MARKS_H, side="right") - 1
    for cause, share in enumerate(CAUSES):
        hits = covered(lost.low[0, place, cause], lost.high[0, place, cause], truth * share)
        for mark, hit in zip(MARKS_H, hits, strict=True):
            found[f"incidence of a cause with {share:.0%} of losses, clustered, {mark} h"] = hit
    alive = 1 - RISK * lost_by(np.arange(WINDOW_H - 1.0 + 1))
    mean = restricted_mean(births.age_h, died, until_h=WINDOW_H, cluster=births.litter, level=0.95)
    found["restricted mean, clustered"] = float(mean.low <= alive.sum() <= mean.high)
    return found


def rejections(births: Flock, rng: np.random.Generator) -> dict[str, float]:
    """Which tests rejected at 5 % though no group differs, and one interval of a difference."""
    died = (births.outcome > 0).astype(int)
    n = len(died)
    found: dict[str, float] = {}
    for groups in (2, 4):
        for kind, group in {
            "whole litters": rng.integers(0, groups, n)[births.litter],
            "within litters": rng.integers(0, groups, n),
        }.items():
            robust = logrank(births.age_h, died, group, cluster=births.litter)
            plain = logrank(births.age_h, died, group)
            found[f"log-rank, clustered, {groups} groups of {kind}"] = float(robust.p < 0.05)
            found[f"log-rank, littermates ignored, {groups} groups of {kind}"] = float(plain.p < 0.05)
            gray = gray_test(births.age_h, births.outcome, group, 1, cluster=births.litter)
            plain = gray_test(births.age_h, births.outcome, group, 1)
            found[f"Gray's test, clustered, {groups} groups of {kind}"] = float(gray.p < 0.05)
            found[f"Gray's test, littermates ignored, {groups} groups of {kind}"] = float(plain.p < 0.05)
            if groups == 2:
                gap = restricted_mean_difference(
                    births.age_h, died, group, until_h=WINDOW_H, cluster=births.litter, level=0.95
                )
                found[f"difference of restricted means, groups of {kind}, rejects"] = float(gap.p < 0.05)
    return found


def expected_losses(name: str, n: int) -> float:
    """Losses behind an interval or a test, on average; Gray's test is of the commonest cause."""
    mark = next((mark for mark in MARKS_H if f", {mark} h" in name), WINDOW_H)
    share = next((share for share in CAUSES if f"with {share:.0%}" in name), 1.0)
    share = CAUSES[0] if name.startswith("Gray") else share
    return float(n * RISK * lost_by(np.array(float(mark))) * share * 0.95)


def on_farms(flocks: int, farms: int) -> list[float]:
    """Coverage at each mark when a few farms of eighty newborns are the clusters; farms differ by rho 0.03."""
    rng = np.random.default_rng([RNG_NUMBER, farms])
    hits = []
    for _ in range(flocks):
        farm = np.repeat(np.arange(farms), 80)
        risk = rng.beta(RISK * 97 / 3, (1 - RISK) * 97 / 3, farms)[farm]
        at = rng.choice(WINDOW_H + 1, p=SHARES / SHARES.sum(), size=len(farm))
        died = rng.random(len(farm)) < risk
        curve = kaplan_meier(np.where(died, at, WINDOW_H), died, cluster=farm, level=0.95)
        _, low, high = survival_at(curve, MARKS_H)
        hits.append(covered(low[0], high[0], 1 - RISK * lost_by(MARKS_H)))
    return list(np.mean(hits, axis=0))


def column(n: int, rho: float, flocks: int) -> dict[str, str]:
    """One scenario: every row's share of flocks, as printed."""
    rng = np.random.default_rng([RNG_NUMBER, n, int(10 * rho)])
    runs = []
    for _ in range(flocks):
        births = flock(rng, n, rho)
        runs.append(intervals(births) | rejections(births, rng))
    return {
        name: f"{np.mean([run[name] for run in runs]):.1%}" if expected_losses(name, n) >= 20 else "-"
        for name in runs[0]
    }


def main(flocks: int, processes: int) -> None:
    """Print one row a quantity, one column a scenario."""
    with ProcessPoolExecutor(processes) as pool:
        running = [pool.submit(column, n, rho, flocks) for n, rho in SCENARIOS]
        farms = {count: pool.submit(on_farms, flocks, count) for count in (5, 10, 20, 40)}
        columns = [run.result() for run in running]
    print(f"{flocks} flocks a column; random seed {RNG_NUMBER}; made on {date.today().isoformat()}")
    print("Coverage of 95 % intervals and share of tests that reject at 5 % where no group differs.")
    print(
        "'-': fewer than 20 losses expected in all groups together. A cell's own error: about 0.5 points.\n"
    )
    width = max(len(name) for name in columns[0])
    print(" " * width + "".join(f"{f'n {n}':>9}" for n, _ in SCENARIOS))
    print(" " * width + "".join(f"{f'rho {rho}':>9}" for _, rho in SCENARIOS))
    for name in columns[0]:
        print(f"{name:<{width}}" + "".join(f"{cells[name]:>9}" for cells in columns))
    print("\nKaplan-Meier clustered on a few farms of 80 newborns, rho between farms 0.03")
    for count, run in farms.items():
        marks = zip(MARKS_H, run.result(), strict=True)
        print(f"{count:>3} farms: " + ", ".join(f"{share:.1%} at {mark} h" for mark, share in marks))


if __name__ == "__main__":
    numbers = [int(argument) for argument in sys.argv[1:]] + [often(2000), os.cpu_count() or 1][
        len(sys.argv) - 1 :
    ]
    main(*numbers)
