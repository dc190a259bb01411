"""Coverage of 95 % intervals where whole mobs are the clusters and only their totals are known.

``python -m tests.simulations.mobs [seasons] > tests/simulations/mobs.txt``

A season is invented of so many mobs: 40 to 600 dams, 150 in the middle, most with one or two foetuses. Littermates
share part of their luck, a mob all of its own: its log odds of loss vary by a standard deviation of `BETWEEN`. What is
asked for are the share of foetuses that was not there at marking, newborns marked for each dam joined, and, for one
season of four, the marked over those that the survival of each class in all four leads one to expect, whose truth is
1. The truth of the others is that of a very large number of such mobs.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from datetime import date

import numpy as np
from scipy import special

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.estimates.totals import ratio_of_totals
from neonatal_stats.measures.mobs import class_survival
from tests.simulations.times import often

RNG_NUMBER = 20261126
MOBS = (3, 6, 8, 12, 20)
BETWEENS = (0.2, 0.5)
CLASSES = (1, 2, 3)
ODDS = np.log(np.array([0.12, 0.18, 0.30]) / (1 - np.array([0.12, 0.18, 0.30])))
SEASONS = 4
AGAINST = "marked against expected, mix allowed for"
LITTER = 0.7  # standard deviation of the log odds that littermates share


def season(rng: np.random.Generator, mobs: int, between: float) -> dict[str, Floats]:
    """Joined, foetuses by class and marked of each mob."""
    joined = np.clip(150 * np.exp(0.6 * rng.standard_normal(mobs)), 40, 600).astype(int)
    mix = rng.dirichlet((5.0, 4.5, 0.5), mobs)
    own = between * rng.standard_normal(mobs)
    dams = np.zeros((mobs, len(CLASSES)))
    marked = np.zeros(mobs)
    for mob in range(mobs):
        bearing = rng.binomial(joined[mob], 0.94)
        dams[mob] = rng.multinomial(bearing, mix[mob])
        for place, size in enumerate(CLASSES):
            shared = LITTER * rng.standard_normal(int(dams[mob, place]))
            risk = special.expit(ODDS[place] + own[mob] + shared)
            marked[mob] += (size - rng.binomial(size, risk)).sum()
    return {"joined": joined.astype(float), "foetuses": dams * np.array(CLASSES), "marked": marked}


def answers(found: dict[str, Floats]) -> dict[str, tuple[float, float, float]]:
    """Estimate and limits of each number."""
    foetuses, marked = found["foetuses"].sum(axis=1), found["marked"]
    mobs = np.arange(len(marked))
    share = proportions(
        np.repeat([1, 0], len(mobs)),
        cluster=np.tile(mobs, 2),
        weight=np.concatenate([foetuses - marked, marked]),
        level=0.95,
    )
    reared = ratio_of_totals(marked, found["joined"], level=0.95)
    told = {
        "share of foetuses lost by marking": (share.share[0], share.low[0], share.high[0]),
        "marked for each dam joined": (reared.estimate, reared.low, reared.high),
    }
    return told


def against(rng: np.random.Generator, mobs: int, between: float) -> tuple[float, float, float]:
    """One season of four: its marked over those that the survival of the classes over all four leads one to expect."""
    found = season(rng, SEASONS * mobs, between)
    held = np.column_stack([found["foetuses"][:, 0], found["foetuses"][:, 1:].sum(axis=1)])
    survival = class_survival(held, found["marked"])
    if np.isnan(survival).any():
        return np.nan, np.nan, np.nan
    expected = held @ survival
    ratio = ratio_of_totals(found["marked"][:mobs], expected[:mobs], level=0.95)
    return ratio.estimate, ratio.low, ratio.high


def main(seasons: int) -> None:
    rng = np.random.default_rng(RNG_NUMBER)
    print(f"{seasons:,} seasons a column; random number generator {RNG_NUMBER}; {date.today()}")
    print(f"One standard error of a figure: {100 * np.sqrt(0.05 * 0.95 / seasons):.1f} points.")
    for between in BETWEENS:
        large = season(rng, 20_000, between)
        truth = {name: one[0] for name, one in answers(large).items()} | {AGAINST: 1.0}
        held: dict[str, list[float]] = defaultdict(list)
        for mobs in MOBS:
            seen = defaultdict(list)
            for _ in range(seasons):
                told = answers(season(rng, mobs, between)) | {AGAINST: against(rng, mobs, between)}
                for name, (_, low, high) in told.items():
                    if np.isfinite(low):
                        seen[name].append(low <= truth[name] <= high)
            for name in truth:
                held[name].append(100 * float(np.mean(seen[name])))
        heading = f"Mobs apart by {between:g} (log odds): coverage, %"
        print(f"\n{heading:<55}" + "".join(f"{mobs:>5} mobs" for mobs in MOBS))
        for name, row in held.items():
            print(f"{name:<55}" + "".join(f"{one:>10.1f}" for one in row))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else often(2_000))
