"""How long the high-risk groups take on a large record: 200 factor levels over 100,000 births, with all pairs.

Run from the top of the project: ``python tests/benchmarks/groups.py``; prints one line per case.
"""

from __future__ import annotations

import time

import numpy as np

from neonatal_stats.measures.birth_factors import Factor
from neonatal_stats.measures.risk_groups import risk_groups
from neonatal_stats.season.settings import Settings

RNG_NUMBER = 5
NEWBORNS, FACTORS, LEVELS = 100_000, 20, 10


def main() -> None:
    """Time levels alone, and levels with every pair."""
    rng = np.random.default_rng(RNG_NUMBER)
    litter = np.repeat(np.arange(NEWBORNS), rng.choice([1, 2, 3], p=[0.4, 0.5, 0.1], size=NEWBORNS))[
        :NEWBORNS
    ]
    names = tuple(f"level {level}" for level in range(LEVELS))
    found = [
        Factor(f"factor {place}", names, rng.integers(0, LEVELS, NEWBORNS).astype(np.int64))
        for place in range(FACTORS)
    ]
    lost = rng.random(NEWBORNS) < 0.12
    for pairs in (False, True):
        started = time.perf_counter()
        groups = risk_groups(lost, litter, found, settings=Settings(), pairs=pairs)
        seconds = time.perf_counter() - started
        what = "with all pairs" if pairs else "levels alone"
        print(
            f"{FACTORS * LEVELS} levels, {NEWBORNS:,} births, {what}: {len(groups):,} groups in {seconds:.1f} s"
        )


if __name__ == "__main__":
    main()
