"""Do farms side by side, on a desk or in a chapter, show the bad one, and none where farms are alike? Two tables.

Run from the top of the project and keep what it prints:

    python -m tests.simulations.desk | tee tests/simulations/desk.txt

Each desk has 4 to 40 farms whose newborns lie in litters of one to three; littermates share a risk drawn from a beta
distribution, so that their losses correlate by ``rho``. Farms have a risk of their own: log odds with the standard
deviation ``between``. It is decided by the very functions of the desk: what the other farms lead one to expect of
each, as the chapter Farms side by side takes it too, the false discovery rate over all farms, and the order by the
shrunken excess.

First table: no farm is worse than such farms are; the share of desks that name a farm as losing more must be at most
10 %, and of the farms 93 % or more must lie within what the others lead one to expect at 95 %. "Any apart" are desks on
which a farm lies apart, above or below, at a false discovery share of 10 %. Second: one farm has so many times the odds
of loss; how often it stands first and how often it is named.
"""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.estimates import proportions
from neonatal_stats.measures.farms import named_farms, visits
from neonatal_stats.season.settings import Settings
from tests.simulations.times import often

RNG_NUMBER = 20261126
LITTERS = (0.45, 0.45, 0.10)
SETTINGS = Settings(false_discovery_share=0.10)
Counts = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]


@dataclass(frozen=True)
class Plan:
    """One row of a table: farms, dams on each (from, to), risk, rho, between, the bad farm's times the odds."""

    farms: int
    dams: tuple[int, int]
    risk: float
    rho: float
    between: float
    odds: float = 1.0


NULL = [
    Plan(40, (300, 300), 0.12, 0.15, 0.0),
    Plan(40, (300, 300), 0.12, 0.15, 0.25),
    Plan(40, (300, 300), 0.12, 0.4, 0.25),
    Plan(40, (20, 600), 0.12, 0.15, 0.0),
    Plan(40, (20, 600), 0.12, 0.15, 0.25),
    Plan(40, (20, 600), 0.12, 0.15, 0.4),
    Plan(40, (20, 600), 0.05, 0.15, 0.25),
    Plan(40, (20, 60), 0.05, 0.15, 0.0),
    Plan(12, (300, 300), 0.12, 0.15, 0.0),
    Plan(12, (300, 300), 0.12, 0.15, 0.25),
    Plan(12, (20, 600), 0.12, 0.15, 0.25),
    Plan(12, (10, 40), 0.05, 0.15, 0.25),
    Plan(20, (40, 40), 0.12, 0.15, 0.25),
    Plan(6, (20, 600), 0.12, 0.15, 0.25),
    Plan(4, (300, 300), 0.12, 0.15, 0.25),
]
PLANTED = [
    Plan(40, (300, 300), 0.12, 0.15, 0.0, 2.0),
    Plan(40, (300, 300), 0.12, 0.15, 0.15, 2.0),
    Plan(40, (300, 300), 0.12, 0.15, 0.25, 2.0),
    Plan(40, (300, 300), 0.12, 0.15, 0.25, 3.0),
    Plan(40, (20, 600), 0.12, 0.15, 0.15, 2.0),
    Plan(12, (300, 300), 0.12, 0.15, 0.0, 2.0),
    Plan(12, (300, 300), 0.12, 0.15, 0.15, 2.0),
    Plan(12, (300, 300), 0.12, 0.15, 0.15, 3.0),
    Plan(12, (300, 300), 0.12, 0.15, 0.25, 3.0),
]
Desk = Callable[[Plan, np.random.Generator], tuple[float, float, float]]


def newborns(
    plan: Plan, rng: np.random.Generator
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Farm, litter and loss of every newborn; the bad farm is the first."""
    dams = rng.integers(plan.dams[0], plan.dams[1] + 1, plan.farms)
    dams[0] = max(dams[0], sum(plan.dams) // 2)
    odds = np.log(plan.risk / (1 - plan.risk)) + plan.between * rng.normal(size=plan.farms)
    odds[0] += np.log(plan.odds)
    risk = np.repeat(1 / (1 + np.exp(-odds)), dams)
    own = rng.beta(risk * (1 / plan.rho - 1), (1 - risk) * (1 / plan.rho - 1))
    size = rng.choice([1, 2, 3], len(own), p=LITTERS)
    litter = np.repeat(np.arange(len(own)), size)
    return (
        np.repeat(np.repeat(np.arange(plan.farms), dams), size),
        litter,
        rng.random(len(litter)) < own[litter],
    )


def counted(plan: Plan, rng: np.random.Generator) -> Counts:
    """Losses, newborns, losses expected and design effect of every farm of one desk."""
    farm, litter, lost = newborns(plan, rng)
    found = proportions(lost.astype(int), group=farm, cluster=litter, level=SETTINGS.level)
    return found.events.astype(float), found.n.astype(float), found.n * lost.mean(), found.design_effect


def alike(plan: Plan, rng: np.random.Generator) -> tuple[float, float, float]:
    """Whether any farm is named as losing more, whether any lies apart, and the share within what is expected."""
    others, q, named = named_farms(*counted(plan, rng), SETTINGS)
    within = (others.low <= others.share) & (others.share <= others.high)
    return named.any(), (q <= SETTINGS.false_discovery_share).any(), within.mean()


def one_worse(plan: Plan, rng: np.random.Generator) -> tuple[float, float, float]:
    """Whether any farm is named as losing more, whether the planted one is, and whether it stands first."""
    seen = visits(*counted(plan, rng), SETTINGS)
    return seen.named.any(), seen.named[0], seen.order[0] == 0


def table(title: str, heads: tuple[str, str, str], one: Desk, plans: list[Plan], desks: int) -> None:
    """One table, a row a plan."""
    print(
        f"\n{title}\nfarms dams      risk  rho   between  odds  " + "".join(f"{head:>16}" for head in heads)
    )
    for place, plan in enumerate(plans):
        rng = np.random.default_rng([RNG_NUMBER, int(one is one_worse), place])
        seen = np.array([one(plan, rng) for _ in range(desks)], dtype=float).mean(axis=0)
        dams = f"{plan.dams[0]}-{plan.dams[1]}"
        print(
            f"{plan.farms:5d} {dams:9s} {plan.risk:.2f}  {plan.rho:.2f}  {plan.between:.2f}     {plan.odds:.1f}  "
            + "".join(f"{100 * share:14.1f} %" for share in seen),
            flush=True,
        )


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--desks", type=int, default=often(1000, least=8))
    desks = parser.parse_args().desks
    print(f"Made by tests/simulations/desk.py on {datetime.date.today()}, generator number {RNG_NUMBER}.")
    error = 100 * np.sqrt(0.1 * 0.9 / desks)
    print(
        f"{desks} desks a row, a quarter as many in the second table; standard error of 10 %: {error:.1f} points."
    )
    table(
        "No farm is worse than such farms are",
        ("any named", "any apart", "within expected"),
        alike,
        NULL,
        desks,
    )
    table(
        "One farm of middling size or more is worse",
        ("any named", "bad one named", "bad one first"),
        one_worse,
        PLANTED,
        desks // 4,
    )


if __name__ == "__main__":
    main()
