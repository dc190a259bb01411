"""Do the high-risk groups flag what is there, and nothing that is not? Prints one table; not a test.

Run from the top of the project and keep what it prints:

    python -m tests.simulations.groups | tee tests/simulations/groups.txt

Each flock has about 600 (or 300, or 1,200) newborns in litters of one to four. Littermates share a risk drawn from
a beta distribution, so that their losses correlate by ``rho``. Ten factors, 33 levels, have nothing to do with loss:
some belong to the litter (birth type, parity, place, pen, time of day, breed), some to the newborn (delivery,
weight, sex, suck reflex). With their pairs some 350 to 450 groups are tried in each flock, by the same functions and
the same rule of words as the chapter's watch list.

First block: no true differences; the share of reviews with any group on the watch list must be at most 10 %.
Second block: one more factor with a true group of 60 newborns (or 60 in whole litters) at three times the risk of
the rest; the share of reviews in which it is first on the watch list must be at least 80 %.
"""

from __future__ import annotations

import argparse
import datetime
from concurrent.futures import Executor, ProcessPoolExecutor

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.chapters.counted.groups import by_tier
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.birth_factors import Factor
from neonatal_stats.measures.risk_groups import risk_groups
from neonatal_stats.season.settings import Settings
from tests.simulations.times import often

RNG_NUMBER = 20260411
SHARE = 0.10
SETTINGS = Settings(false_discovery_share=SHARE, minimum_group=10)
LITTERS = [0.40, 0.45, 0.12, 0.03]
OF_LITTER = {
    "parity": [0.25, 0.40, 0.35],
    "place": [0.30, 0.70],
    "pen": [0.30, 0.30, 0.20, 0.15, 0.05],
    "time": [0.25, 0.25, 0.25, 0.25],
    "breed": [0.60, 0.40],
}
OF_NEWBORN = {
    "delivery": [0.75, 0.12, 0.06, 0.04, 0.03],
    "weight": [0.20, 0.60, 0.20],
    "sex": [0.50, 0.50],
    "suck reflex": [0.88, 0.12],
}
TRUE_SIZE, RISK_RATIO = 60, 3.0

NULL = [  # newborns, risk, rho, flocks as a share of those asked for
    (600, 0.12, 0.2, 1.0),
    (600, 0.12, 0.0, 0.2),
    (600, 0.12, 0.4, 0.2),
    (600, 0.25, 0.2, 1.0),
    (300, 0.08, 0.2, 0.2),
    (1200, 0.12, 0.2, 0.2),
]
TRUE = [  # newborns, risk of the rest, rho, true group of whole litters
    (600, 0.10, 0.1, False),
    (600, 0.12, 0.2, False),
    (600, 0.15, 0.2, False),
    (600, 0.12, 0.2, True),
    (300, 0.12, 0.2, False),
]

Flock = tuple[NDArray[np.bool_], NDArray[np.int64], list[Factor]]


def factor(name: str, code: NDArray[np.int64], levels: int) -> Factor:
    """A factor with numbered levels."""
    return Factor(name, tuple(f"{name} {level}" for level in range(levels)), code.astype(np.int64))


def litters(rng: np.random.Generator, newborns: int) -> NDArray[np.int64]:
    """Litter of each newborn."""
    size = rng.choice([1, 2, 3, 4], p=LITTERS, size=newborns)
    return np.repeat(np.arange(newborns), size)[:newborns]


def litter_risks(rng: np.random.Generator, count: int, risk: float, rho: float) -> NDArray[np.float64]:
    """A risk for each litter, such that littermates' losses correlate by rho."""
    if rho == 0:
        return np.full(count, risk)
    weight = (1 - rho) / rho
    return rng.beta(risk * weight, (1 - risk) * weight, count)


def flock(
    rng: np.random.Generator, newborns: int, risk: float, rho: float
) -> tuple[NDArray[np.float64], Flock]:
    """Risks and a flock in which no factor has to do with loss."""
    litter = litters(rng, newborns)
    count = int(litter.max()) + 1
    size = np.bincount(litter)
    found = [factor("birth type", size[litter] - 1, 4)]
    for name, shares in OF_LITTER.items():
        found.append(factor(name, rng.choice(len(shares), p=shares, size=count)[litter], len(shares)))
    for name, shares in OF_NEWBORN.items():
        found.append(factor(name, rng.choice(len(shares), p=shares, size=newborns), len(shares)))
    risks = litter_risks(rng, count, risk, rho)[litter]
    return risks, (rng.random(newborns) < risks, litter, found)


def planted(rng: np.random.Generator, newborns: int, risk: float, rho: float, whole: bool) -> Flock:
    """A flock with one true group of about 60 newborns at three times the risk."""
    _, (lost, litter, found) = flock(rng, newborns, risk, rho)
    inside = np.zeros(newborns, dtype=bool)
    if whole:
        order = rng.permutation(int(litter.max()) + 1)
        upto = np.cumsum(np.bincount(litter)[order]) <= TRUE_SIZE
        inside = np.isin(litter, order[upto])
    else:
        inside[rng.choice(newborns, TRUE_SIZE, replace=False)] = True
    more = (RISK_RATIO - 1) * risk / (1 - risk)
    lost = lost | (inside & (rng.random(newborns) < more))
    return lost, litter, [*found, factor("true", inside.astype(np.int64), 2)]


def watch_list(one: Flock) -> tuple[pd.DataFrame, int]:
    """The groups on the watch list in its order, and how many were tried."""
    groups = risk_groups(*one, settings=SETTINGS)
    listed = groups[groups["verdict"] == Verdict.CLEAR]
    return by_tier(listed, SETTINGS), int(groups["tried"].sum())


def false_alarms(
    rng: np.random.Generator, newborns: int, risk: float, rho: float, flocks: int
) -> tuple[int, float]:
    """Reviews that flag any group, and the mean number of groups tried."""
    flagged, tried = 0, 0
    for _ in range(flocks):
        found, count = watch_list(flock(rng, newborns, risk, rho)[1])
        flagged, tried = flagged + (len(found) > 0), tried + count
    return flagged, tried / flocks


def found_first(
    rng: np.random.Generator, newborns: int, risk: float, rho: float, whole: bool, flocks: int
) -> tuple[int, int]:
    """Reviews in which the true group is on the watch list, and in which it is first."""
    listed = first = 0
    for _ in range(flocks):
        found, _ = watch_list(planted(rng, newborns, risk, rho, whole))
        true = (found["group"] == "true 1") & (found["with_factor"] == "")
        listed, first = listed + bool(true.any()), first + bool(len(true) and true.iloc[0])
    return listed, first


def null_block(job: tuple[int, int, float, float, int]) -> tuple[int, float]:
    """One share of a line of the first block, with random numbers of its own."""
    stream, newborns, risk, rho, flocks = job
    return false_alarms(np.random.default_rng([RNG_NUMBER, 0, stream]), newborns, risk, rho, flocks)


def true_block(job: tuple[int, int, float, float, bool, int]) -> tuple[int, int]:
    """One share of a line of the second block, with random numbers of its own."""
    stream, newborns, risk, rho, whole, flocks = job
    return found_first(np.random.default_rng([RNG_NUMBER, 1, stream]), newborns, risk, rho, whole, flocks)


def main() -> None:
    """Print the two blocks; each line is split into shares of at most 100 flocks, worked on side by side."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--flocks", type=int, default=often(2000))
    parser.add_argument("--block", choices=("both", "null", "true"), default="both")
    asked_for = parser.parse_args()
    flocks = asked_for.flocks
    print(
        f"random generator number {RNG_NUMBER}; {datetime.date.today()}; false discoveries allowed {SHARE:.0%}\n"
    )
    with ProcessPoolExecutor() as pool:
        if asked_for.block != "true":
            print_null(pool, flocks)
        if asked_for.block != "null":
            print_true(pool, flocks // 4)


def print_null(pool: Executor, flocks: int) -> None:
    """The first block."""
    print("No true differences\nnewborns  risk   rho  flocks  groups tried  reviews that flag any group")
    for line, (newborns, risk, rho, part) in enumerate(NULL):
        sizes = shares(max(1, int(flocks * part)))
        jobs = [(1000 * line + i, newborns, risk, rho, size) for i, size in enumerate(sizes)]
        found = list(pool.map(null_block, jobs))
        flagged, count = sum(one[0] for one in found), sum(sizes)
        tried = sum(one[1] * size for one, size in zip(found, sizes, strict=True)) / count
        counts = f"{count:6d}  {tried:12.0f}  {flagged:5d} ({flagged / count:.1%})"
        print(f"{newborns:8d}  {risk:.2f}  {rho:.2f}  {counts}", flush=True)
    print()


def print_true(pool: Executor, flocks: int) -> None:
    """The second block."""
    print(f"One true group of {TRUE_SIZE}, risk ratio {RISK_RATIO:g}")
    print("newborns  risk   rho  true group    flocks  on the watch list  first on it")
    for line, (newborns, risk, rho, whole) in enumerate(TRUE):
        sizes = shares(max(1, flocks))
        jobs = [(1000 * line + i, newborns, risk, rho, whole, size) for i, size in enumerate(sizes)]
        found = list(pool.map(true_block, jobs))
        listed, first = (sum(one[i] for one in found) / sum(sizes) for i in (0, 1))
        kind = f"{'whole litters' if whole else 'newborns':13s} {sum(sizes):6d}"
        print(f"{newborns:8d}  {risk:.2f}  {rho:.2f}  {kind}  {listed:17.1%}  {first:11.1%}", flush=True)


def shares(flocks: int) -> list[int]:
    """Flocks in shares of at most 100."""
    return [min(100, flocks - done) for done in range(0, flocks, 100)]


if __name__ == "__main__":
    main()
