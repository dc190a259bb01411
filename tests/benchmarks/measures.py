"""Time and memory of the estimates of shares and contrasts beside statsmodels; prints the table of measures.txt.

``python tests/benchmarks/measures.py > tests/benchmarks/measures.txt`` (several minutes, two cores left alone)

Newborns are invented: litters of two on average, 15 % lost. Seconds are medians of three; megabytes are the peak
that NumPy and Python asked for beyond the input (tracemalloc). Not a test.
"""

from __future__ import annotations

import platform
import statistics
import sys
import time
import tracemalloc
from collections.abc import Callable
from datetime import date

import numpy as np
import scipy
import statsmodels
import statsmodels.api as sm

from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.formulas import screening
from neonatal_stats.estimates.many_groups import cells_against_rest
from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.estimates.risk_tests import clustered_test, cochran_armitage
from neonatal_stats.estimates.standardisation import directly_standardised, mix_and_rate
from neonatal_stats.estimates.stratified import mantel_haenszel

SIZES = (1_000, 10_000, 100_000, 1_000_000)
SLOW = 10.0  # a peer is not asked for the next size once it has taken this many seconds
Births = dict[str, np.ndarray]


def births(n: int) -> Births:
    rng = np.random.default_rng(20_262)
    size = rng.choice([1, 2, 3, 4], n, p=[0.25, 0.5, 0.2, 0.05])
    litter = np.repeat(np.arange(n), size)[:n]
    risk = rng.beta(0.6, 3.4, n)[litter]
    return {
        "dead": (rng.random(n) < risk).astype(np.int64),
        "litter": litter,
        "twin": (size[litter] > 1).astype(np.int64),
        "group": rng.integers(0, 20, n),
        "season": (litter % 2).astype(np.int64),
        "stratum": rng.integers(0, 12, n),
    }


def linear(b: Births, columns: np.ndarray, family: object) -> object:
    """A generalised linear model with errors clustered on the litter: the usual way to the same answers."""
    model = sm.GLM(b["dead"], columns, family=family)
    return model.fit(cov_type="cluster", cov_kwds={"groups": b["litter"]})


def log_link(b: Births) -> object:
    columns = np.column_stack([np.ones(len(b["dead"])), b["twin"]])
    return linear(b, columns, sm.families.Poisson())


def dummies(b: Births) -> object:
    return linear(b, np.eye(20)[b["group"]], sm.families.Binomial())


TASKS: dict[str, tuple[Callable[[Births], object], Callable[[Births], object] | None]] = {
    "shares of 20 groups, clustered": (
        lambda b: proportions(b["dead"], group=b["group"], cluster=b["litter"], level=0.95),
        dummies,
    ),
    "risk ratio, clustered": (
        lambda b: compare(b["dead"], b["twin"], cluster=b["litter"], level=0.95),
        log_link,
    ),
    "20 groups, clustered chi-square": (lambda b: clustered_test(b["dead"], b["group"], b["litter"]), None),
    "trend, clustered": (lambda b: cochran_armitage(b["dead"], b["group"], cluster=b["litter"]), None),
    "Mantel-Haenszel, 12 strata, clustered": (
        lambda b: mantel_haenszel(b["dead"], b["twin"], b["stratum"], cluster=b["litter"], level=0.95),
        None,
    ),
    "standardised to 12 strata, clustered": (
        lambda b: directly_standardised(
            b["dead"], b["stratum"], np.ones(12), cluster=b["litter"], level=0.95
        ),
        None,
    ),
    "mix and rate, 12 strata, clustered": (
        lambda b: mix_and_rate(b["dead"], b["season"], b["stratum"], cluster=b["litter"], level=0.95),
        None,
    ),
    "a check for death, clustered": (
        lambda b: screening(b["twin"], b["dead"], cluster=b["litter"], level=0.95),
        None,
    ),
    "200 groups against the rest, clustered": (
        lambda b: cells_against_rest(
            b["dead"].astype(float), b["group"] + 20 * (b["stratum"] % 10), b["litter"], cells=200, rho=0.1
        ),
        None,
    ),
}


def seconds(task: Callable[[Births], object], rows: Births, times: int) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        task(rows)
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def megabytes(task: Callable[[Births], object], rows: Births) -> float:
    tracemalloc.start()
    task(rows)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak / 2**20


def main() -> None:
    versions = f"Python {platform.python_version()}, NumPy {np.__version__}, SciPy {scipy.__version__}"
    print(f"{date.today().isoformat()}; {versions}, statsmodels {statsmodels.__version__}; two cores")
    print(f"{'task':<42}{'newborns':>10}{'ours, s':>10}{'ours, MB':>10}{'statsmodels, s':>16}{'ratio':>8}")
    for name, (ours, peer) in TASKS.items():
        peer_took = 0.0
        for n in SIZES:
            rows = births(n)
            took, memory = seconds(ours, rows, 3), megabytes(ours, rows)
            line = f"{name:<42}{n:>10,}{took:>10.4f}{memory:>10.1f}"
            if peer is not None and peer_took < SLOW:
                peer_took = seconds(peer, rows, 3 if n < 100_000 else 1)
                line += f"{peer_took:>16.3f}{peer_took / took:>8.0f}"
            print(line)
            sys.stdout.flush()


if __name__ == "__main__":
    main()
