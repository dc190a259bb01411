"""How long survival, incidence and their tests take beside general libraries, in one run.

Run from the project root: ``python tests/benchmarks/marginal.py [largest] [--r] >
tests/benchmarks/marginal.txt`` (largest 1e6 when absent; above it only ours is timed, and above 1e5 no
other's clustered curves). ``--r`` times R survival and cmprsk too, up to 1e5. Prints medians in seconds,
ratios to ours, and our peak memory beyond the input.

Births in litters of one to four, ages in whole hours over 42 days, six causes, about 15 % lost. Every
library starts from the same rows, in arrays of the type it takes without copying; splitting by group is
part of its work.
"""

from __future__ import annotations

import csv
import os
import subprocess
import sys
import tempfile
import tracemalloc
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from typing import Any

import numpy as np

from neonatal_stats.estimates.curve_tests import gray_test, logrank
from neonatal_stats.estimates.incidence import aalen_johansen
from neonatal_stats.estimates.survival import kaplan_meier, restricted_mean

OURS = "ours"
WHOLE_FLOATS = "ours, float64 and int64 columns"
PATIENCE_S = 20.0


@dataclass(frozen=True, eq=False)
class Births:
    """Simulated newborns: ``few`` groups (4) for causes, ``many`` (20) for survival."""

    age_h: np.ndarray
    outcome: np.ndarray
    died: np.ndarray
    few: np.ndarray
    many: np.ndarray
    litter: np.ndarray

    def wide(self) -> Births:
        """The same with float64 ages and int64 codes."""
        codes = (self.outcome, self.died, self.few, self.many, self.litter)
        return Births(self.age_h.astype(np.float64), *(code.astype(np.int64) for code in codes))


def births(n: int) -> Births:
    """n newborns in shuffled rows."""
    rng = np.random.default_rng(20260303)
    litter = np.repeat(np.arange(n), rng.choice([1, 2, 3, 4], p=[0.4, 0.45, 0.12, 0.03], size=n))[:n]
    risk = 1 / (1 + np.exp(2 - rng.normal(0, 1, n)))[litter]
    died = rng.random(n) < risk
    age_h = np.where(died, np.minimum(rng.exponential(80, n), 1007), 1008).astype(np.int32)
    outcome = np.where(died, rng.integers(1, 7, n), 0).astype(np.int8)
    few, many = rng.integers(0, 4, n).astype(np.int8), rng.integers(0, 20, n).astype(np.int8)
    order = rng.permutation(n)
    columns = (age_h, outcome, died.astype(np.int8), few, many, litter.astype(np.int32))
    return Births(*(column[order] for column in columns))


Task = Callable[[], Any]


def ours(rows: Births) -> dict[str, Task]:
    """Our side of every task."""
    return {
        "Kaplan-Meier + Greenwood, 20 groups": lambda: kaplan_meier(
            rows.age_h, rows.died, group=rows.many, level=0.95
        ),
        "log-rank, 20 groups": lambda: logrank(rows.age_h, rows.died, rows.many),
        "incidence + variance, 6 causes x 4 groups": lambda: aalen_johansen(
            rows.age_h, rows.outcome, group=rows.few, level=0.95
        ),
        "Gray's test, 4 groups": lambda: gray_test(rows.age_h, rows.outcome, rows.few, 1),
        "Kaplan-Meier, clustered, 20 groups": lambda: kaplan_meier(
            rows.age_h, rows.died, cluster=rows.litter, group=rows.many, level=0.95
        ),
        "incidence, clustered, 6 causes x 4 groups": lambda: aalen_johansen(
            rows.age_h, rows.outcome, cluster=rows.litter, group=rows.few, level=0.95
        ),
        "log-rank, clustered, 20 groups": lambda: logrank(
            rows.age_h, rows.died, rows.many, cluster=rows.litter
        ),
        "Gray's test, clustered, 4 groups": lambda: gray_test(
            rows.age_h, rows.outcome, rows.few, 1, cluster=rows.litter
        ),
        "restricted mean, clustered": lambda: restricted_mean(
            rows.age_h, rows.died, until_h=1008, cluster=rows.litter, level=0.95
        ),
    }


def statsmodels_tasks(rows: Births) -> dict[str, Task]:
    """statsmodels, a group at a time where it takes one."""
    from statsmodels.duration.survfunc import CumIncidenceRight, SurvfuncRight, survdiff

    def split(make: Callable[..., Any], code: np.ndarray, group: np.ndarray) -> list[Any]:
        return [make(rows.age_h[some], code[some]) for some in (group == g for g in range(group.max() + 1))]

    return {
        "Kaplan-Meier + Greenwood, 20 groups": lambda: [
            fit.surv_prob_se for fit in split(SurvfuncRight, rows.died, rows.many)
        ],
        "log-rank, 20 groups": lambda: survdiff(rows.age_h, rows.died, rows.many),
        "incidence + variance, 6 causes x 4 groups": lambda: [
            fit.cinc_se for fit in split(CumIncidenceRight, rows.outcome, rows.few)
        ],
    }


def rust_tasks(rows: Births) -> dict[str, Task]:
    """The Rust-backed ``survival`` of PyPI."""
    import survival

    def states() -> Any:
        return survival.Surv(rows.age_h, rows.outcome, type="mstate")

    def alive() -> Any:
        return survival.Surv(rows.age_h, rows.died)

    return {
        "Kaplan-Meier + Greenwood, 20 groups": lambda: survival.survfit(alive(), group=rows.many),
        "log-rank, 20 groups": lambda: survival.survdiff(alive(), group=rows.many),
        "incidence + variance, 6 causes x 4 groups": lambda: survival.survfit(states(), group=rows.few),
        "Kaplan-Meier, clustered, 20 groups": lambda: survival.survfit(
            alive(), group=rows.many, cluster=rows.litter
        ),
        "incidence, clustered, 6 causes x 4 groups": lambda: survival.survfit(
            states(), group=rows.few, cluster=rows.litter
        ),
    }


def scikit_survival_tasks(rows: Births) -> dict[str, Task]:
    """scikit-survival, a group at a time where it takes one."""
    from sksurv.compare import compare_survival
    from sksurv.nonparametric import cumulative_incidence_competing_risks, kaplan_meier_estimator
    from sksurv.util import Surv

    died = rows.died.astype(bool)

    def each(make: Callable[..., Any], code: np.ndarray, group: np.ndarray) -> list[Any]:
        chosen = (group == g for g in range(group.max() + 1))
        return [make(code[some], rows.age_h[some], conf_type="log-log") for some in chosen]

    return {
        "Kaplan-Meier + Greenwood, 20 groups": lambda: each(kaplan_meier_estimator, died, rows.many),
        "log-rank, 20 groups": lambda: compare_survival(Surv.from_arrays(died, rows.age_h), rows.many),
        "incidence + variance, 6 causes x 4 groups": lambda: each(
            cumulative_incidence_competing_risks, rows.outcome, rows.few
        ),
    }


def lifelines_tasks(rows: Births) -> dict[str, Task]:
    """lifelines; its incidence is left out, being wrong on tied hours."""
    from lifelines import KaplanMeierFitter
    from lifelines.statistics import multivariate_logrank_test

    def curves() -> list[Any]:
        chosen = (rows.many == g for g in range(20))
        return [KaplanMeierFitter().fit(rows.age_h[some], rows.died[some]) for some in chosen]

    return {
        "Kaplan-Meier + Greenwood, 20 groups": curves,
        "log-rank, 20 groups": lambda: multivariate_logrank_test(rows.age_h, rows.many, rows.died),
    }


R_SCRIPT = """
suppressPackageStartupMessages({library(survival); library(cmprsk)})
x <- read.csv(commandArgs(TRUE)[1])
timed <- function(name, f) {
  seconds <- sapply(1:3, function(i) system.time(f())[["elapsed"]])
  cat(name, median(seconds), sep = "\\t")
  cat("\\n")
}
timed("Kaplan-Meier + Greenwood, 20 groups", function() survfit(Surv(age_h, died) ~ many, x))
timed("log-rank, 20 groups", function() survdiff(Surv(age_h, died) ~ many, x))
timed("incidence + variance, 6 causes x 4 groups", function() cuminc(x$age_h, x$outcome, x$few))
timed("Kaplan-Meier, clustered, 20 groups", function() survfit(Surv(age_h, died) ~ many, x, cluster = litter))
"""


def r_seconds(rows: Births) -> dict[str, float]:
    """Seconds that R reports for its own side."""
    names = ("age_h", "outcome", "died", "few", "many", "litter")
    with tempfile.TemporaryDirectory() as folder:
        path, script = Path(folder) / "births.csv", Path(folder) / "time.R"
        with path.open("w", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(names)
            writer.writerows(zip(*(getattr(rows, name).tolist() for name in names), strict=True))
        script.write_text(R_SCRIPT)
        done = subprocess.run(["Rscript", script, path], capture_output=True, text=True, check=True)
    return {name: float(seconds) for name, seconds in (line.split("\t") for line in done.stdout.splitlines())}


@dataclass(frozen=True)
class Cost:
    """Seconds by the clock and of processor time, medians; a busy machine stretches the first."""

    clock: float
    processor: float

    def __str__(self) -> str:
        return f"{self.clock:10.4f} s clock{self.processor:10.4f} s cpu"


def cost(task: Task) -> Cost:
    """Medians of three to nine runs after a first, fewer when it is slow."""
    start = perf_counter()
    task()
    first = perf_counter() - start
    clock, processor = [], []
    for _ in range(9 if first < 0.5 else 3 if first < PATIENCE_S / 3 else 1):
        start, used = perf_counter(), process_time()
        task()
        clock.append(perf_counter() - start)
        processor.append(process_time() - used)
    return Cost(median(clock), median(processor))


def peak_mb(task: Task) -> float:
    """Most memory that a task held at once beyond its input."""
    tracemalloc.start()
    task()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


PEERS = {
    "statsmodels": statsmodels_tasks,
    "Rust survival": rust_tasks,
    "scikit-survival": scikit_survival_tasks,
    "lifelines": lifelines_tasks,
}


def print_block(size: int, with_r: bool) -> None:
    """Every task at one size: ours, then the others with their ratio to ours."""
    rows = births(size)
    wide = rows.wide()
    sides = {OURS: ours(rows), WHOLE_FLOATS: ours(wide)}
    if size <= 1_000_000:
        sides |= {name: make(wide) for name, make in PEERS.items()}
    if size > 100_000:
        sides["Rust survival"] = {
            task: run for task, run in sides.get("Rust survival", {}).items() if "clustered" not in task
        }
    r_times = r_seconds(rows) if with_r and size <= 100_000 else {}
    print(f"\n{size:,} newborns")
    for task, run in sides[OURS].items():
        base = cost(run)
        print(f"  {task:<45}{base}   peak {peak_mb(run):7.1f} MB")
        found = {name: cost(side[task]) for name, side in sides.items() if name != OURS and task in side}
        for name, other in found.items():
            ratios = f"{other.clock / base.clock:8.1f} times clock{other.processor / base.processor:8.1f} times cpu"
            print(f"      {name:<41}{other}{ratios}", flush=True)
        if task in r_times:
            print(
                f"      {'R':<41}{r_times[task]:10.4f} s clock{r_times[task] / base.clock:28.1f} times clock"
            )


def main(largest: int, with_r: bool) -> None:
    """One block a size, each ten times the last."""
    warnings.simplefilter("ignore")
    load = os.getloadavg()[0]
    print(
        f"Made on {date.today().isoformat()}, {os.cpu_count()} cores, load {load:.1f}; numpy {np.__version__}."
    )
    size = 1_000
    while size <= largest:
        print_block(size, with_r)
        size *= 10


if __name__ == "__main__":
    numbers = [argument for argument in sys.argv[1:] if argument != "--r"]
    main(int(float(numbers[0])) if numbers else 1_000_000, "--r" in sys.argv)
